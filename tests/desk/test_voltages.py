"""Voltages of a reversed pair through a session on the disk: keyed, doubted, corrected, reported."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import Finding, Pair
from fieldtui.desk.entry import DoubtKind
from fieldtui.desk.log import Log
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import corrections_of, take_over_one
from fieldtui.desk.transcription import Transcribed, paper_brief, transcribe_sheet
from fieldtui.desk.verifying import verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.route.file import check_route
from fieldtui.files.route.point_list_csv import format_point_list
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.html import format_html
from fieldtui.report.results_csv import format_results
from tests.desk.scenes import BRIEF, ROUTE, Scene, record

PAIR = 'limit = { max = 2.5, cmp = "<" }\nmethod = "reversed"\ncurrent_ma = 100\n'


def voltage_route(text: str = PAIR) -> str:
    return ROUTE.replace('limit = { max = 2.5, cmp = "<" }\n', text)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    scene = Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(voltage_route(), encoding="utf-8")
    return scene.begin(BRIEF)


def rows(desk: Desk, kind: str) -> list[dict[str, str]]:
    text = (desk.folder / "trail.csv").read_text(encoding="utf-8")
    return [row for row in csv.DictReader(text.splitlines()) if row["kind"] == kind]


def test_the_digits_and_the_sign_are_in_the_trail_and_r_is_judged(desk: Desk) -> None:
    record(desk, "0.220", "-0.20")
    kept = [(row["value"], row["unit"], row["verdict"]) for row in rows(desk, "reading")]
    assert kept == [("0.220", "mV/100mA", "recorded"), ("-0.20", "mV/100mA", "pass")]
    read = read_session(Disk(), desk.folder)
    left = read.survey.standings["SW-01"].as_left
    assert left is not None
    assert left.value.ohms == Decimal("0.0021")
    assert not read.problems
    assert desk.survey.position.here == "SW-02"
    assert desk.weigh("1.38").reading.unit.value == "mohm"  # the next point is keyed in ohm again


def test_results_and_report_show_r_and_the_voltages(desk: Desk) -> None:
    record(desk, "0.220", "-0.20")
    read = read_session(Disk(), desk.folder)
    results = list(csv.DictReader(format_results(read).decode().splitlines()))
    assert results[0]["as_left"] == "2.100"
    page = format_html(read)
    assert "2.100 mΩ (0.220 mV, -0.20 mV)" in page
    assert "-0.20 mV (2.0 mΩ)" in page


def test_a_minus_left_out_is_asked_about_and_not_recorded_without_a_reason(desk: Desk) -> None:
    record(desk, "2.20")
    entry = desk.weigh("2.00")  # as R+ and R- of 2.2 and 2.0 it would pass: it is 21 mohm
    assert DoubtKind.SIGN in [doubt.kind for doubt in entry.doubts]
    with pytest.raises(WrongUseError, match="minus left out"):
        desk.record(entry)
    assert len(rows(desk, "reading")) == 1


def test_a_voltage_is_corrected_with_its_sign_and_the_first_one_stays(desk: Desk) -> None:
    record(desk, "0.22", "-0.30")
    assert desk.amend_value(2, "-0.20", "misheard").value == "pass"
    (row,) = rows(desk, "amend")
    assert (row["value"], row["unit"], row["note"]) == ("-0.20", "mV/100mA", "was -0.30 mV/100mA")
    with pytest.raises(BadInputError, match="not a voltage"):
        desk.amend_value(2, "2.0k", "misheard")


def test_a_sheet_has_voltages_with_their_sign(tmp_path: Path) -> None:
    Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(voltage_route(), encoding="utf-8")
    workspace = Workspace(tmp_path, Disk())
    loaded = workspace.load_route("wing")
    sheet = (
        "action,point,record,value,unit,memory,reason,note,time\n"
        "reading,SW-01,1,0.22,,,,,2026-05-04T08:31:00Z\nreading,SW-01,2,-0.20,,,,,2026-05-04T08:32:00Z\n"
    )
    brief = paper_brief(workspace.tables(), loaded.route)
    made = transcribe_sheet(workspace, loaded, sheet.encode(), "day.csv", brief, Scene(tmp_path).clock)
    left = read_session(Disk(), made.folder).survey.standings["SW-01"].as_left
    assert left is not None
    assert left.value.ohms == Decimal("0.0021")


def transcribed(folder: Path, first: str, second: str = "reading,SW-01,2,-0.20,mV") -> Transcribed:
    Scene(folder)
    (folder / "routes" / "wing.toml").write_text(voltage_route(), encoding="utf-8")
    workspace = Workspace(folder, Disk())
    loaded = workspace.load_route("wing")
    data = "\n".join(["action,point,record,value,unit,memory,reason,note,time", first, second, ""])
    brief = paper_brief(workspace.tables(), loaded.route)
    return transcribe_sheet(workspace, loaded, data.encode(), "day.csv", brief, Scene(folder).clock)


@pytest.mark.parametrize(
    "cells", ["0.22,mV", "0.22,±mV", "0.22,mV/100mA", "0.22,", "220,uV", "220u,", "0.22m,mV"]
)
def test_a_unit_of_voltage_on_a_sheet_is_taken(tmp_path: Path, cells: str) -> None:
    left = transcribed(tmp_path, f"reading,SW-01,1,{cells}").survey.standings["SW-01"].as_left
    assert left is not None
    assert left.value.ohms == Decimal("0.0021")


@pytest.mark.parametrize(
    ("line", "column", "what", "do"),
    [
        (
            "reading,SW-01,1,0.22,mohm",
            "unit",
            "SW-01 is read in voltages (±mV), not in mohm",
            "write mV here",
        ),
        (
            "reading,SW-01,1,0.22,mV/50mA",
            "unit",
            "50 mA, but the test current at SW-01 is 100 mA",
            "write mV",
        ),
        (
            "reading,SW-02,1,-0.22,mV",
            "unit",
            "SW-02 is read in mohm; mV is a unit of voltage",
            "empty for mohm",
        ),
        (
            "reading,SW-01,1,220u,mV",
            "value",
            "220u: its own letter says another unit than mV",
            "empty the unit",
        ),
        ("reading,SW-02,1,950u,mohm", "value", "950u: its own letter says another unit than mohm", "in mohm"),
        ("reading,SW-01,1,2.0k,", "value", "2.0k: not a voltage", "with its sign"),
        ("reading,SW-02,1,-0.2,", "value", "-0.2: a resistance has no sign", "as it was called"),
        ("standard,,,2.5,mV", "action", "no check standard is known", "--meter"),
        ("reading,XX-99,1,-0.22,mV", "point", "point 'XX-99' is not on the route", ""),
        ("reading,XX-99,1,-0.22,", "point", "point 'XX-99' is not on the route", ""),
    ],
)
def test_a_wrong_unit_on_a_sheet_is_told_once_with_what_to_write(
    tmp_path: Path, line: str, column: str, what: str, do: str
) -> None:
    with pytest.raises(BadInputError) as refused:
        transcribed(tmp_path, line, "note,,,,,,,x")
    (problem,) = refused.value.problems
    assert (problem.line, problem.field) == (2, column)
    assert what in problem.what
    assert do in problem.remedy


def test_a_unit_that_the_value_says_too_is_taken(tmp_path: Path) -> None:
    made = transcribed(tmp_path, "reading,SW-02,1,950u,uohm", "note,,,,,,,x")
    assert made.survey.records[1].reading.cells == ("950", "uohm")


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ("limit = { max = 2.5 }\ncurrent_ma = 100\n", "points[0].current_ma", "current reversed"),
        (PAIR.replace("100", "0"), "points[0].current_ma", "zero cannot be meant"),
        (PAIR.replace("100", "-5"), "points[0].current_ma", "-5"),
        (PAIR.replace("current_ma", "curent_ma"), "points[0].curent_ma", "curent_ma"),
    ],
)
def test_a_wrong_test_current_is_told_with_its_place(text: str, field: str, words: str) -> None:
    problems = check_route(voltage_route(text).encode(), "wing.toml", "wing", {})
    assert any(problem.field == field and words in f"{problem.what} {problem.remedy}" for problem in problems)


def test_a_voltage_is_not_corrected_to_ohm_nor_moved_to_where_ohm_is_read(desk: Desk) -> None:
    """Such a take would be judged by size alone, the thermal voltage still in it."""
    record(desk, "0.22", "-0.20", "1.38")
    before = desk.survey
    with pytest.raises(WrongUseError, match="keyed in ohm, SW-01 is read in volt at 100 mA"):
        desk.amend_reading(2, parse_resistance("2.0", Unit.MOHM), "as in the memory list")
    with pytest.raises(WrongUseError, match="keyed in volt at 100 mA, SW-02 is read in ohm"):
        desk.try_shift(1, 1, last=2)
    with pytest.raises(WrongUseError, match="keyed in ohm, SW-01 is read in volt"):
        desk.shift_points(3, -1, "out of step")
    with pytest.raises(WrongUseError, match="SW-03 is read in ohm"):
        desk.mirror_section(1, "from the far end")
    assert desk.survey is before
    assert read_session(Disk(), desk.folder).survey == before
    desk.void(1, "wrong end")
    desk.void(2, "wrong end")
    desk.mirror_section(1, "from the far end")  # what is struck out is judged by nothing
    assert desk.survey.records[1].point == "SW-03"


def test_a_voltage_that_the_memory_list_has_otherwise_is_the_crews_to_correct(desk: Desk) -> None:
    """The list is in ohm and does not say which way the current went."""
    record(desk, "0.220", "-0.20")
    voltage = desk.survey.records[2]
    pair = Pair(2, 1, 1, 3, 1.0, Finding.KEYED_DIFFERENTLY, parse_resistance("2.5", Unit.MOHM))
    assert [each.what for each in corrections_of(desk.survey, pair)] == ["number"]
    take_over_one(desk, corrections_of(desk.survey, pair), "read again")
    assert (desk.survey.records[2].number, desk.survey.records[2].reading) == (3, voltage.reading)


def test_a_correction_to_ohm_is_told_for_the_pair_is_then_no_pair_of_voltages(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a trail of an earlier program: R of 0.22 mV and 2.0 mohm is by size alone."""
    record(desk, "0.22", "-0.20")
    monkeypatch.setattr(Log, "_tried", lambda desk, event: desk.survey.after(event))
    assert not [each for each in find_exceptions(read_session(Disk(), desk.folder)) if "±mV" in each.what]
    desk.amend_reading(2, parse_resistance("2.0", Unit.MOHM), "as in the memory list")
    told = [each for each in find_exceptions(read_session(Disk(), desk.folder)) if "±mV" in each.what]
    assert [(each.kind.value, each.what.split(":")[0]) for each in told] == [
        ("contradiction", "2.0 mΩ stands where ±mV is read")
    ]
    (problem,) = verify_session(Disk(), desk.folder).problems
    assert problem.what == "record 2: 2.0 mΩ was keyed in ohm, SW-01 is read in volt at 100 mA"


def test_the_list_for_spreadsheets_has_the_test_current(tmp_path: Path) -> None:
    Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(voltage_route(), encoding="utf-8")
    loaded = Workspace(tmp_path, Disk()).load_route("wing")
    listed = list(csv.DictReader(format_point_list(loaded.route, {}).decode().splitlines()))
    assert [(row["method"], row["current_ma"]) for row in listed[:2]] == [("reversed", "100"), ("", "")]


def test_a_shift_that_ends_before_it_begins_is_refused(desk: Desk) -> None:
    record(desk, "0.22", "-0.20", "1.38")
    with pytest.raises(WrongUseError, match="Record 2 is not after record 3"):
        desk.shift_points(3, 9, "out of step", last=2)
