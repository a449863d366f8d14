"""Handovers and further meters on the desk, and what every report says of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.account.bracket import standard_due
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import Paper, verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.html import format_html
from fieldtui.report.identity import describe_meter
from fieldtui.report.results_csv import format_results
from fieldtui.report.tables.points import reading_tables
from fieldtui.report.text_summary import format_summary
from tests.desk.scenes import METER, QuickDisk, SetClock
from tests.ui.walking import Ticking, begin_desk, route_text

METERS = """\
format = 1
[instruments.small-meter]
title = "Small bond meter"
serial = "0417"
unit = "mohm"
memory_size = 12

[instruments.spare]
title = "Spare bond meter"
serial = "0041"
unit = "mohm"
memory_size = 3
first_number = 0
calibration_due = 2031-01-01
check_standard = { value = 1.000, tolerance = 0.020, unit = "mohm" }
accuracy = { percent = 1.0, floor = 0.1, resolution = 0.01 }
"""


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    for name in ("routes", "shared"):
        (tmp_path / name).mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(6), encoding="utf-8")
    (tmp_path / "shared" / "instruments.toml").write_text(METERS, encoding="utf-8")
    return Workspace(tmp_path, QuickDisk())


@pytest.fixture
def desk(workspace: Workspace) -> Iterator[Desk]:
    """Ben probes, Ana records."""
    with begin_desk(workspace, meter=METER_IN_USE, next_number=1) as desk:
        read(desk, "1.10")
        yield desk


METER_IN_USE = replace(
    METER,
    check_standard=None,
    accuracy=Accuracy(
        Decimal("0.5"), parse_resistance("0.01", Unit.MOHM), parse_resistance("0.01", Unit.MOHM)
    ),
    calibration_due=METER.calibration_due and METER.calibration_due.replace(year=2040),
)


def read(desk: Desk, *texts: str) -> None:
    for text in texts:
        desk.record(desk.weigh(text))


def spare(desk: Desk) -> Instrument:
    return next(each for each in desk.known_meters() if each.id == "spare")


def found(desk: Desk) -> ReadSession:
    session = read_session(Disk(), desk.folder)
    assert session.is_intact and not session.problems, session.problems
    return session


# --- handovers ----------------------------------------------------------------------------------


def test_from_the_handover_on_every_row_carries_the_new_name(desk: Desk) -> None:
    desk.hand_over("shift change", recorder="  Cleo ")
    read(desk, "1.20")
    desk.skip("panel closed")
    rows = found(desk).events
    assert [(event.kind, event.by) for event in rows[-4:]] == [
        ("reading", "Bo"), ("handover", "Cleo"), ("reading", "Cleo"), ("skip", "Cleo"),
    ]  # fmt: skip
    assert desk.crew == Crew(prober="Ada", recorder="Cleo")


def test_a_handover_to_those_who_are_there_already_is_refused(desk: Desk) -> None:
    rows = desk.rows
    with pytest.raises(WrongUseError, match="Ada probes and Bo records already"):
        desk.hand_over("shift change", recorder="Bo", prober="")
    with pytest.raises(BadInputError, match="reason"):
        desk.hand_over(" ", recorder="Cleo")
    with pytest.raises(BadInputError):
        desk.hand_over("shift change", recorder="Cleo\x1b[31m")
    assert desk.rows == rows and desk.by == "Bo"


def test_resumed_the_last_recorder_goes_on_or_somebody_else_says_so(desk: Desk, workspace: Workspace) -> None:
    desk.hand_over("shift change", recorder="Cleo", prober="Dan")
    desk.leave()
    with resume_session(workspace, desk.folder, Ticking()) as again:
        assert again.by == "Cleo" and again.crew.prober == "Dan"
    with resume_session(workspace, desk.folder, Ticking(), recorder="Eve", prober="Dan") as again:
        read(again, "1.20")
        last = found(again).events[-3:]
    assert [(event.kind, event.by) for event in last] == [
        ("handover", "Eve"), ("open", "Eve"), ("reading", "Eve"),
    ]  # fmt: skip
    with resume_session(workspace, desk.folder, Ticking(), recorder="Eve") as again:
        kinds = [event.kind for event in found(again).events]
        assert kinds.count("handover") == 2 and kinds[-1] == "open"


def test_every_report_says_who_keyed_and_who_probed_each_reading(desk: Desk) -> None:
    desk.hand_over("shift change", recorder="Cleo", prober="Dan")
    read(desk, "1.20")
    session = found(desk)
    rows = list(csv.DictReader(io.StringIO(format_results(session).decode())))
    assert [(row["by"], row["probed_by"]) for row in rows[:3]] == [("Bo", "Ada"), ("Cleo", "Dan"), ("", "")]
    summary = " ".join(format_summary(session).split())
    assert "handover from record 2 on Cleo records, Dan probes: shift change" in summary
    assert "Cleo recorded and Dan probed from record 2 on" in summary  # among the exceptions, too
    page = format_html(session)
    assert page.count("probed: Ada") == 1 and page.count("probed: Dan") == 1


# --- another meter ---------------------------------------------------------------------------------


def test_the_meters_on_hand_are_those_of_the_table_but_for_the_one_in_use(desk: Desk) -> None:
    assert [each.id for each in desk.known_meters()] == ["spare"]
    desk.take_meter(spare(desk), 0, "battery low")
    assert [each.id for each in desk.known_meters()] == ["small-meter"]


def test_a_table_that_cannot_be_read_is_told_and_the_walk_goes_on(desk: Desk, workspace: Workspace) -> None:
    (workspace.root / "shared" / "instruments.toml").write_text("format = ", encoding="utf-8")
    with pytest.raises(BadInputError):
        desk.known_meters()
    read(desk, "1.20")


def test_another_meter_brings_its_memory_its_numbers_and_its_check(desk: Desk) -> None:
    desk.take_meter(spare(desk), 0, "battery low")
    assert standard_due(desk.survey) == "another meter was taken"
    desk.check_standard("1.01")
    read(desk, "1.20", "1.30", "1.40")
    with pytest.raises(WrongUseError, match="full"):
        read(desk, "1.50")
    with pytest.raises(BadInputError, match="beyond this meter's last, 2"):
        desk.start_run(3)
    session = found(desk)
    assert [(r.run, r.number) for r in session.survey.records.values()] == [(1, 1), (2, 0), (2, 1), (2, 2)]
    check = next(event for event in session.events if event.kind == "standard")
    assert check.ref.value == "before"  # type: ignore[attr-defined]


def test_a_number_that_the_other_meter_cannot_have_writes_nothing(desk: Desk) -> None:
    rows = desk.rows
    with pytest.raises(BadInputError, match="beyond this meter's last"):
        desk.take_meter(spare(desk), 3, "battery low")
    with pytest.raises(WrongUseError, match="is the meter in use"):
        desk.take_meter(METER_IN_USE, 1, "battery low")
    with pytest.raises(BadInputError, match="reason"):
        desk.take_meter(spare(desk), 0, " ")
    assert desk.rows == rows


def test_a_meter_without_a_memory_files_nothing(desk: Desk) -> None:
    desk.take_meter(replace(spare(desk), memory_size=0), None, "battery low")
    read(desk, "1.20")
    assert found(desk).survey.records[2].number is None


def test_the_session_stands_alone_without_the_table(desk: Desk, workspace: Workspace) -> None:
    desk.take_meter(spare(desk), 0, "battery low")
    read(desk, "1.20")
    desk.leave()
    (workspace.root / "shared" / "instruments.toml").unlink()
    session = read_session(Disk(), desk.folder)
    assert session.survey.instrument.serial == "0041"
    assert session.survey.instrument.accuracy == Accuracy(
        Decimal("1.0"), parse_resistance("0.1", Unit.MOHM), parse_resistance("0.01", Unit.MOHM)
    )
    assert verify_session(Disk(), desk.folder, Paper()).ok
    with resume_session(workspace, desk.folder, SetClock()) as again:
        assert again.survey.next_number == 1


def test_every_report_knows_the_meter_of_each_reading_and_its_uncertainty(desk: Desk) -> None:
    desk.take_meter(replace(spare(desk), calibration_due=None), 0, "battery low")
    read(desk, "1.20")
    session = found(desk)
    rows = list(csv.DictReader(io.StringIO(format_results(session).decode())))
    assert [row["meter"] for row in rows[:3]] == [
        "Small bond meter, serial 0417", "Spare bond meter, serial 0041", "",
    ]  # fmt: skip
    summary = " ".join(format_summary(session).split())
    assert "Spare bond meter, serial 0041, from record 2 on: battery low" in summary
    assert "took over from Small bond meter, serial 0417, from record 2 on" in summary
    kinds = {finding.kind.value: finding for finding in find_exceptions(session)}
    assert "no calibration date is known" in kinds["override"].what
    page = format_html(session)
    # U = 0.5 % of 1.10 plus 0.01, and 1 % of 1.20 plus 0.1, each with the step of its display: the
    # second is several times the first (JCGM 100:2008; figures worked out by hand)
    said = {words.split(" ")[0] for words in page.split("U ")[1:]}
    assert {"0.017", "0.11"} <= said


def test_the_accuracy_of_each_meter_is_told_and_the_meter_of_a_reading_stands_with_its_remarks(
    desk: Desk,
) -> None:
    desk.take_meter(spare(desk), 0, "battery low")
    read(desk, "1.20")
    session = found(desk)
    told = [text for label, text in describe_meter(session) if label == "accuracy"]
    assert [words.split(" of")[0] for words in told] == ["0.5 %", "1.0 %"]
    summary = " ".join(format_summary(session).split())
    assert "0.5 % of the reading plus 0.01 mΩ" in summary and "1.0 % of the reading plus 0.1 mΩ" in summary
    (table,) = reading_tables(session)
    labels = [column.label for column in table.columns]
    last = dict(zip(labels, table.rows[-1].cells, strict=True))
    assert "Spare bond meter, serial 0041" in last["Remarks"]
    assert last["By"] == ("Bo", "probed: Ada")


def test_the_column_of_times_takes_a_time_to_the_millisecond_in_one_line(desk: Desk) -> None:
    (table,) = reading_tables(found(desk))
    look = next(column.look for column in table.columns if column.label == "Time")
    page = format_html(found(desk))
    assert f'<th scope="col" class="{look}">Time</th>' in page
    assert f".{look} {{ width: 11%; white-space: nowrap; }}" in page
