"""What ``transcribe`` and ``report`` say of a sheet, and refusals that name what there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.cli.conftest import ROOT, Ask
from tests.desk.scenes import ROUTE, Scene
from tests.ui.test_start import StandingClock, take, workspace_in

HEADER = "action,point,record,value,unit,memory,reason,note,time"
TIMED = "note,,,,,,,begin,2026-05-04T08:00:00Z"
METERS = """\
format = 1
[instruments.known]
title = "Known meter"
unit = "mohm"
memory_size = 0
calibration_due = {due}
"""


def sheet(root: Path, *lines: str, due: str = "2029-01-01", route: str = ROUTE) -> None:
    Scene(root)
    (root / "routes" / "wing.toml").write_text(route, encoding="utf-8")
    (root / "shared").mkdir(exist_ok=True)
    (root / "shared" / "instruments.toml").write_text(METERS.format(due=due), encoding="utf-8")
    (root / "sheet.csv").write_text("\n".join([HEADER, *lines, ""]), encoding="utf-8")


def test_without_a_meter_it_says_what_follows_and_what_to_do(ask: Ask, tmp_path: Path) -> None:
    sheet(tmp_path, TIMED, "reading,SW-01,1,1.1,mohm,1")
    said = ask("transcribe", "wing", "sheet.csv").out
    assert "meter not named: no meter was named for 1 reading, 1 of them with a memory number" in said
    assert "--meter ID" in said
    known = ask("transcribe", "wing", "sheet.csv", "--meter", "known", "--json")
    assert known.json["lacking"] == []
    report = ask("report", known.json["session"]).out
    assert "the meter keeps none, but the record has 1 memory run" in " ".join(report.split())


def test_it_says_what_verdicts_lack_for_the_meter(ask: Ask, tmp_path: Path) -> None:
    route = ROUTE.replace('{ max = 2.5, cmp = "<" }', '{ max = 2.5, decision = "guarded" }')
    sheet(tmp_path, TIMED, "reading,SW-01,1,2.49,mohm", due="2026-05-03", route=route)
    said = ask("transcribe", "wing", "sheet.csv", "--meter", "known").out
    assert "simple acceptance: 1 point is to be judged with guard band 1 U" in said
    assert "[point SW-01]" in said
    assert "calibration: Known meter: lapsed on 2026-05-03; 1 reading taken all the same" in said


def test_it_says_that_a_verdict_is_as_measured_for_want_of_a_temperature(ask: Ask, tmp_path: Path) -> None:
    route = ROUTE.replace("check_every = 4", "check_every = 4\ncorrect_to_20 = true", 1)
    sheet(tmp_path, TIMED, "reading,SW-01,1,2.46,mohm", route=route)
    said = ask("transcribe", "wing", "sheet.csv", "--meter", "known").out
    assert "judged as measured: 1 point is to be judged at 20 °C, and no temperature was taken" in said
    assert "[point SW-01]" in said
    known = ask("transcribe", "wing", "sheet.csv", "--meter", "known", "--json", "--conductor", "19").json
    assert (known["ok"], known["lacking"]) == (True, [])


STANDARD = 'check_standard = { value = 2.500, tolerance = 0.050, unit = "mohm" }\n'


def test_it_says_which_verdicts_a_failed_check_leaves_in_doubt(ask: Ask, tmp_path: Path) -> None:
    """The check standard is 2.5 mohm within 0.05, so 2.60 is not good, and no good check was before it."""
    sheet(tmp_path, TIMED, "reading,SW-01,1,1.1,mohm", "reading,SW-02,2,2.9,mohm", "standard,,,2.60,mohm")
    meters = tmp_path / "shared" / "instruments.toml"
    meters.write_text(meters.read_text(encoding="utf-8") + STANDARD, encoding="utf-8")
    said = ask("transcribe", "wing", "sheet.csv", "--meter", "known").out
    assert "2 passed (2 of them IN DOUBT for the meter)" in said
    assert "IN DOUBT: record 1, 2: the meter failed its check in row" in said
    answer = ask("transcribe", "wing", "sheet.csv", "--meter", "known", "--json").json
    assert [(each["record"], each["point"]) for each in answer["in_doubt"]] == [(1, "SW-01"), (2, "SW-02")]
    sheet(tmp_path, TIMED, "reading,SW-01,1,1.1,mohm")
    good = ask("transcribe", "wing", "sheet.csv", "--meter", "known")
    assert "IN DOUBT" not in good.out and "1 passed" in good.out


def test_it_says_that_the_times_are_those_of_the_keying(ask: Ask, tmp_path: Path) -> None:
    sheet(tmp_path, "reading,SW-01,1,1.1,mohm")
    assert "times    of the keying; the sheet has none" in ask("transcribe", "wing", "sheet.csv").out
    sheet(tmp_path, TIMED, "reading,SW-01,1,1.1,mohm")
    said = ask("transcribe", "wing", "sheet.csv").out
    assert "times    1 of 1 readings have none on the sheet: they stand with the last above" in said
    sheet(tmp_path, "reading,SW-01,1,1.1,mohm,,,,2026-05-04T08:00:00Z")
    assert "times " not in ask("transcribe", "wing", "sheet.csv").out


def test_it_says_which_memory_numbers_it_counted_on(ask: Ask, tmp_path: Path) -> None:
    sheet(tmp_path, "run,,,,,1", "reading,SW-01,1,1.1,mohm", "reading,SW-02,2,1.2,mohm,2")
    said = ask("transcribe", "wing", "sheet.csv")
    assert "memory   1 number counted on from the line above; the sheet has none" in said.out
    assert ask("transcribe", "wing", "sheet.csv", "--json").json["numbers_counted_on"] == 1


def test_the_demo_sheet_tells_all_it_does_not_know(ask: Ask, tmp_path: Path) -> None:
    """The checkout's own sheet, with 63 readings and memory numbers in two runs."""
    for folder in ("routes", "shared"):
        (tmp_path / folder).symlink_to(ROOT / folder)
    demo = str(ROOT / "demo" / "sheets" / "airframe-2026-05.csv")
    made = ask("transcribe", "airframe-bonds", demo, "--out", "out", "--json").json
    assert made["readings"] == 63
    assert [each["kind"] for each in made["lacking"]] == ["meter not named"]
    told = " ".join(ask("report", made["session"]).out.split())
    assert "meter not named: no meter was named for 62 readings, 62 of them with a memory number" in told
    assert "keeps none" not in told
    doubts = [suspect["why"] for suspect in made["suspects"]]
    assert len(doubts) > 3
    assert all(f"look at it: {why}" in told for why in doubts)
    meter = ask("transcribe", "airframe-bonds", demo, "--out", "out", "--meter", "small-meter", "--json").json
    assert meter["lacking"] == []


# --- refusals --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["nowhere", "a-file"])
def test_remarks_from_a_folder_that_is_none_are_refused(ask: Ask, tmp_path: Path, name: str) -> None:
    folder = take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38")
    (tmp_path / "a-file").write_text("x", encoding="utf-8")
    answer = ask("report", str(folder), "--out", "paper", "--remarks", name)
    assert (answer.code, answer.out) == (2, "")
    what, where, remedy = answer.err.splitlines()
    assert "no such folder of reviewers' remarks" in what
    assert where == f"  where: {name}"
    assert "--remarks" in remedy
    assert not (tmp_path / "paper").exists()


def test_a_folder_without_remarks_on_this_session_is_told(ask: Ask, tmp_path: Path) -> None:
    folder = take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38")
    (tmp_path / "notes").mkdir()
    said = "no remarks on this session in notes"
    assert said in ask("report", str(folder), "--remarks", "notes").out
    RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock(), tmp_path / "notes").add("Ivo", "seen")
    assert said not in ask("report", str(folder), "--remarks", "notes").out


def test_a_command_of_commands_alone_names_them(ask: Ask) -> None:
    answer = ask("route")
    assert (answer.code, answer.out) == (2, "")
    assert "route wants one of its commands: check, import, export, sheet" in answer.err
    assert "fieldtui route --help" in answer.err


def test_a_route_made_of_results_judges_by_the_same_rules(ask: Ask, tmp_path: Path) -> None:
    """The columns ``decision`` and ``guard`` are those of a list of points."""
    guarded = '{ max = 2.5, decision = "guarded", guard = 0.5 }'
    four = '{ max = 3.0, decision = "four-state" }'
    route = ROUTE.replace('{ max = 2.5, cmp = "<" }', guarded).replace('{ max = 3.0, cmp = "<=" }', four)
    sheet(tmp_path, TIMED, "reading,SW-01,1,1.1,mohm", route=route)
    made = ask("transcribe", "wing", "sheet.csv", "--meter", "known", "--json").json["session"]
    assert ask("report", made, "--out", "paper").code == 0
    assert ask("route", "import", "paper/results.csv", "--asset", "rig", "--out", "again.toml").code == 0
    before, after = (Workspace(tmp_path, Disk()).load_route(name).route for name in ("wing", "again.toml"))
    assert [point.limit for point in after.points] == [point.limit for point in before.points]
    assert {point.limit.rule_words for point in after.points} == {
        "guard band 0.5 U", "four states, guard band 1 U", "",
    }  # fmt: skip
