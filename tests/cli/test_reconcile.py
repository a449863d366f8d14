"""``fieldtui reconcile``: the demo's airframe survey against its meter's list, faults and all."""

from __future__ import annotations

import json
import shutil
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
