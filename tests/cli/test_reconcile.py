"""``fieldtui reconcile``: the demo's airframe survey against its meter's list, faults and all."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from fieldtui.cli import main
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.desk.scenes import SetClock

DEMO = Path(__file__).resolve().parents[2] / "demo"
LIST = DEMO / "lists" / "airframe-2026-05.csv"


@pytest.fixture
def session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The airframe survey transcribed anew, so that it is still open."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(DEMO.parent / "routes", tmp_path / "routes")
    shutil.copytree(DEMO.parent / "shared", tmp_path / "shared")
    shutil.copytree(DEMO / "shared", tmp_path / "shared", dirs_exist_ok=True)
    sheet = str(DEMO / "sheets" / "airframe-2026-05.csv")
    assert main(["transcribe", "airframe-bonds", sheet, "--meter", "airframe-meter"]) == 0
    (folder,) = (tmp_path / "sessions").iterdir()
    return folder


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, object]]:
    capsys.readouterr()
    code = main([*arguments, "--json"])
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return code, found


def test_every_planted_fault_is_found(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (session / "trail.csv").read_bytes()
    code, found = answer(capsys, "reconcile", str(session), str(LIST))
    assert code == 1  # there are findings
    assert found["applied"] == 0
    assert (session / "trail.csv").read_bytes() == before
    pairs = found["pairs"]
    assert isinstance(pairs, list)
    keyed_wrong = {pair["record"]: pair["likely"] for pair in pairs if pair["finding"] == "keyed-differently"}
    assert keyed_wrong == {10: "22.1", 20: "1.62"}
    alone = found["record_only"]
    assert isinstance(alone, list)
    assert [each["record"] for each in alone] == [29]
    assert all(pair["probability"] >= 0.999 for pair in pairs)


def test_what_is_certain_becomes_amendments_and_the_first_form_stays(
    session: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (session / "trail.csv").read_bytes()
    _, found = answer(capsys, "reconcile", str(session), str(LIST), "--accept", "certain")
    applied = found["applied"]
    assert isinstance(applied, int)
    assert applied > 0
    assert (session / "trail.csv").read_bytes().startswith(before)
    survey = read_session(Disk(), session).survey
    assert survey.records[20].reading.digits == "1.62"
    assert survey.records[20].original is not None
    assert survey.records[20].original.reading.digits == "1.26"
    assert survey.records[29].number is None
    # Taking over a second time changes nothing.
    _, again = answer(capsys, "reconcile", str(session), str(LIST), "--accept", "certain")
    assert again["applied"] == 0


def test_a_list_that_ends_early_is_asked_about(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    part = tmp_path / "part.csv"
    part.write_text("\n".join(LIST.read_text(encoding="utf-8").splitlines()[:-4]) + "\n", encoding="utf-8")
    for path, notes in ((part, 1), (LIST, 0)):
        main(["reconcile", str(session), str(path)])
        assert capsys.readouterr().out.count("NOTE: the list ends before records") == notes


def test_a_session_that_is_being_written_is_compared_but_not_amended(
    session: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with resume_session(Workspace(session.parent.parent, Disk()), session, SetClock()):
        capsys.readouterr()
        assert main(["reconcile", str(session), str(LIST), "--accept", "certain"]) == 2
    said = capsys.readouterr()
    assert "record 20: keyed differently" in said.out
    assert "writ" in said.err


def test_a_bad_list_names_every_bad_line(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "list.csv"
    bad.write_text(
        "run,number,value,unit,state\n1,x,1.0,mohm,\n1,2,1..3,mohm,\n1,3,,mohm,\n1,4,1,furlong,gone\n"
    )
    code, found = answer(capsys, "reconcile", str(session), str(bad))
    assert code == 2
    problems = found["problems"]
    assert isinstance(problems, list)
    assert [problem["line"] for problem in problems] == [2, 3, 4, 5, 5]


def list_of_run_1(tmp_path: Path, *, has_runs: bool = True) -> str:
    path = tmp_path / "run-1.csv"
    head, *lines = LIST.read_text(encoding="utf-8").splitlines()
    kept = [line if has_runs else line[1:] for line in lines if line.startswith("1,")]
    path.write_text("\n".join([head, *kept]) + "\n", encoding="utf-8")
    return str(path)


def test_readings_of_a_run_that_the_list_is_not_of_are_not_missed(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    survey = read_session(Disk(), session).survey
    others = {record.record for record in survey.records.values() if record.run != 1}
    assert len(others) > 1
    listed = list_of_run_1(tmp_path)
    _, found = answer(capsys, "reconcile", str(session), listed)
    alone = found["record_only"]
    assert isinstance(alone, list)
    assert not others & {each["record"] for each in alone}
    left_out = found["runs_not_compared"]
    assert isinstance(left_out, list)
    assert set(left_out) == {survey.records[number].run for number in others} - {None} != set()
    assert main(["reconcile", str(session), listed, "--accept", "certain"]) == 1
    said = capsys.readouterr().out
    for run in left_out:
        assert f"NOTE: memory run {run} was not compared: the list is not of it" in said
    assert read_session(Disk(), session).survey.reconciled == {1}
    assert f"{len(alone)} on the record only" in (session / "trail.csv").read_text(encoding="utf-8")


def test_a_list_without_runs_wants_the_run_named_where_there_are_several(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    listed = list_of_run_1(tmp_path, has_runs=False)
    assert main(["reconcile", str(session), listed]) == 2
    assert "does not say which memory run it is of" in capsys.readouterr().err
    assert main(["reconcile", str(session), listed, "--run", "9"]) == 2
    assert "no memory run 9" in capsys.readouterr().err
    _, with_runs = answer(capsys, "reconcile", str(session), list_of_run_1(tmp_path))
    listed = list_of_run_1(tmp_path, has_runs=False)
    _, named = answer(capsys, "reconcile", str(session), listed, "--run", "1")
    assert named == with_runs


# --- a short session from paper -----------------------------------------------------------

SHEET = """\
action,point,record,value,unit,memory,reason,note,time
run,,,,,1,start of the walk,,2026-03-01T08:00:00Z
reading,P1,1,1.71,mohm,1,,,2026-03-01T08:01:00Z
reading,P2,2,1.52,mohm,2,,,2026-03-01T08:02:00Z
reading,P3,3,2.25,mohm,3,,,2026-03-01T08:04:00Z
reading,P4,4,0.85,mohm,4,,,2026-03-01T08:05:00Z
"""
SECOND_RUN = """\
run,,,,,1,memory full,,2026-03-01T08:06:00Z
reading,P5,5,1.13,mohm,1,,,2026-03-01T08:07:00Z
reading,P6,6,0.64,mohm,2,,,2026-03-01T08:08:00Z
"""
HEAD = """\
format = 1
title = "T"
asset = "test rig"
revision = "1"
source = "invented"
unit = "mohm"
[[sections]]
id = "S"
title = "S"
"""
POINT = '[[points]]\nid = "P{at}"\nsection = "S"\ntitle = "Bond {at}"\nlimit = {{ max = 2.5, cmp = "<" }}\n'
ROUTE = HEAD + "".join(POINT.format(at=at) for at in range(1, 7))


@pytest.fixture
def paper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Path]:
    """Makes a session from a sheet; the folder it is in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "t.toml").write_text(ROUTE, encoding="utf-8")

    def make(sheet: str) -> Path:
        (tmp_path / "sheet.csv").write_text(sheet, encoding="utf-8")
        assert main(["transcribe", "t", "sheet.csv"]) == 0
        (folder,) = (tmp_path / "sessions").iterdir()
        return folder

    return make


def listed(tmp_path: Path, *lines: str) -> str:
    path = tmp_path / "list.csv"
    path.write_text("\n".join(["run,number,value,unit,state", *lines]) + "\n", encoding="utf-8")
    return str(path)


def kinds(folder: Path) -> list[str]:
    return [event.kind for event in read_session(Disk(), folder).events]


def test_one_line_out_of_order_makes_no_amendment(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET)
    path = listed(tmp_path, "1,3,2.25,mohm,", "1,1,1.71,mohm,", "1,2,1.52,mohm,", "1,4,0.85,mohm,")
    assert main(["reconcile", str(folder), path, "--accept", "certain"]) == 0
    said = capsys.readouterr().out
    assert "NOTE: the list of run 1 is not in the order of its numbers; it was compared in that order" in said
    assert "4 paired, 0 of them keyed differently" in said
    assert "memory run 1 counts as reconciled" in said
    assert [kind for kind in kinds(folder) if kind in ("amend", "unfiled", "reconcile")] == ["reconcile"]


def test_a_list_of_nothing_but_a_header_is_refused(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET)
    before = kinds(folder)
    assert main(["reconcile", str(folder), listed(tmp_path), "--accept", "certain"]) == 2
    assert "there is no entry below the header" in capsys.readouterr().err
    assert kinds(folder) == before


@pytest.mark.parametrize(
    "lines", [["1,1,31.4,mohm,", "1,2,47.2,mohm,", "1,3,55.1,mohm,"], ["1,9,0.0003,ohm,"]]
)
def test_a_list_that_pairs_with_nothing_changes_nothing(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str], lines: list[str]
) -> None:
    folder = paper(SHEET)
    before = kinds(folder)
    assert main(["reconcile", str(folder), listed(tmp_path, *lines), "--accept", "certain"]) == 1
    said = capsys.readouterr().out
    assert "NOTE: memory run 1 does not count as reconciled: none of its readings was paired" in said
    assert not set(kinds(folder)[len(before) :]) & {"amend", "unfiled", "renumber", "reconcile"}


def test_a_run_against_what_the_list_says_is_refused(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET + SECOND_RUN)
    before = kinds(folder)
    path = listed(tmp_path, "2,1,1.13,mohm,", "2,2,0.64,mohm,")
    assert main(["reconcile", str(folder), path, "--run", "1", "--accept", "certain"]) == 2
    said = capsys.readouterr().err
    assert "The list says run 2, not run 1; nothing was compared" in said
    assert "compare it with run 2, or put its column run right" in said
    assert kinds(folder) == before
    path = listed(tmp_path, "7,1,1.13,mohm,", "7,2,0.64,mohm,")
    assert main(["reconcile", str(folder), path]) == 2
    assert "The list says run 7; this session has runs 1, 2" in capsys.readouterr().err
    assert main(["reconcile", str(folder), path, "--run", "2"]) == 0
    assert "NOTE: the list says run 7; that is taken to mean run 2" in capsys.readouterr().out


def test_the_end_that_a_list_lacks_is_not_taken_over(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET)
    path = listed(tmp_path, "1,1,1.71,mohm,", "1,2,1.52,mohm,")
    code, found = answer(capsys, "reconcile", str(folder), path, "--accept", "certain")
    assert (code, found["applied"], found["list_ends_before"]) == (1, 0, [3, 4])
    assert found["runs_reconciled"] == []
    assert "the list ends before record 3. A list copied in part looks the same" in str(
        found["runs_not_reconciled"]
    )
    assert not {"unfiled", "renumber", "reconcile"} & set(kinds(folder))


def test_what_could_not_be_written_is_no_finding(
    paper: Callable[[str], Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A script tells by the exit code: 1 is for findings, 2 for what could not be done."""
    folder = paper(SHEET)
    path = listed(tmp_path, "1,1,1.71,mohm,", "1,2,1.52,mohm,", "1,3,2.52,mohm,", "1,4,0.85,mohm,")

    def refuse(self: Disk, fd: int, data: bytes) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Disk, "write", refuse)
    assert main(["reconcile", str(folder), path, "--accept", "certain"]) == 2
    said = capsys.readouterr()
    assert "record 3: keyed differently" in said.out
    assert "permission was refused" in said.err


WHOLE = ("1,1,1.71,mohm,", "1,2,1.52,mohm,", "1,3,2.25,mohm,", "1,4,0.85,mohm,")


@pytest.mark.parametrize("without", [0, 1, 2])
def test_a_line_that_the_list_lost_takes_no_number_from_its_reading(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str], without: int
) -> None:
    folder = paper(SHEET)
    before = (folder / "trail.csv").read_bytes()
    lines = [line for at, line in enumerate(WHOLE) if at != without]
    code, found = answer(capsys, "reconcile", str(folder), listed(tmp_path, *lines), "--accept", "certain")
    assert (code, found["applied"], found["runs_reconciled"]) == (1, 0, [])
    number = without + 1
    why = f"the list leaves out number {number}: look at the meter whether it is there"
    assert found["held_back"] == [{"record": number, "what": "not kept", "why": why}]
    assert (folder / "trail.csv").read_bytes() == before  # not even that it was opened


def test_a_number_read_out_in_the_end_is_that_of_a_reading_that_was_kept(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(f"{SHEET}number,,,,,4,,,2026-03-01T08:05:30Z\n")
    assert main(["reconcile", str(folder), listed(tmp_path, *WHOLE[:3]), "--accept", "certain"]) == 1
    said = capsys.readouterr().out
    assert "number 4 was read out right after it and agreed: look at the meter" in said
    assert "memory run 1 does not count as reconciled" in said
    assert not {"unfiled", "renumber", "reconcile"} & set(kinds(folder))


def test_a_value_that_no_record_holds_stops_none_of_the_others(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET)
    path = listed(tmp_path, WHOLE[0], "1,2,1.25,mohm,", "1,3,2.25,Mohm,", WHOLE[3])
    code, found = answer(capsys, "reconcile", str(folder), path, "--accept", "certain")
    assert (code, found["applied"]) == (1, 1)
    assert [kind for kind in kinds(folder) if kind in ("amend", "reconcile")] == ["amend"]
    main(["reconcile", str(folder), path])
    assert "NOT TAKEN OVER, line 4 of the list: 2250000000: more than 9 digits" in capsys.readouterr().out


def test_a_disk_that_fails_half_way_says_how_much_was_appended(
    paper: Callable[[str], Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = paper(SHEET)
    path = listed(tmp_path, "1,1,1.17,mohm,", "1,2,1.25,mohm,", *WHOLE[2:])
    write, writes = Disk.write, []

    def until_full(self: Disk, fd: int, data: bytes) -> int:
        writes.append(data)
        if len(writes) > 2:  # the session is opened, and one amendment
            raise OSError(28, "No space left on device")
        return write(self, fd, data)

    monkeypatch.setattr(Disk, "write", until_full)
    assert main(["reconcile", str(folder), path, "--accept", "certain"]) == 2
    said = capsys.readouterr()
    assert "1 amendment appended; every first form stays on record" in said.out
    assert "the disk is full; 1 of 2 amendments appended before it: record 1 (value)" in said.err
    assert kinds(folder)[-1] == "amend"


def test_a_list_that_is_refused_leaves_no_row(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET + SECOND_RUN.replace("run,,,,,1,memory full,,2026-03-01T08:06:00Z\n", ""))
    before = (folder / "trail.csv").read_bytes()
    values = ("1.71", "1.52", "2.25", "0.85", "1.13", "0.64")
    path = listed(tmp_path, *(f"1,{number},{value},ohm," for number, value in enumerate(values, 1)))
    assert main(["reconcile", str(folder), path, "--accept", "certain"]) == 2
    assert "Nothing was taken over: list in another unit" in capsys.readouterr().err
    assert (folder / "trail.csv").read_bytes() == before


def test_what_stands_in_the_memory_alone_comes_up_in_every_report(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET)
    path = listed(tmp_path, *WHOLE[:2], "1,3,2.25,mohm,erased", WHOLE[3], "1,5,9.99,mohm,")
    assert main(["reconcile", str(folder), path, "--accept", "certain"]) == 1
    said = capsys.readouterr().out
    assert "memory number 5 (9.99 mΩ): not on the record" in said
    assert "NOTE: record 3 stands, erased on the meter: ask why" in said
    assert main(["report", str(folder)]) == 0
    summary = " ".join(capsys.readouterr().out.split())
    assert "not on the record: memory run 1 was held against list.csv" in summary
    assert "number 5 (9.99 mΩ)" in summary
    assert "erased, and the reading stands: record 3" in summary


def test_what_is_left_undecided_is_said_beside_that_the_run_counts(
    paper: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = paper(SHEET.replace("1.52", "1.71"))
    path = listed(tmp_path, WHOLE[0], "1,2,2.25,mohm,", "1,3,0.85,mohm,")  # one of two alike was not kept
    main(["reconcile", str(folder), path, "--accept", "certain"])
    said = capsys.readouterr().out
    assert "memory run 1 counts as reconciled; 3 lines of it undecided: see the report" in said
