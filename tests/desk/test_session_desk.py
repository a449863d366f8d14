"""The desk: one event an action, on disk before the survey moves; whatever fails, nothing has changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import (
    BadInputError,
    DiskFullError,
    FieldtuiError,
    MediumFailedError,
    NotSavedError,
    SessionClosedError,
    WrongUseError,
)
from fieldtui.files.disk import Disk
from tests.desk.scenes import BRIEF, BROKEN, FULL, METER, ROUTE, START, FailingDisk, Scene, record

Deed = Callable[[Desk], Any]


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


def last(scene: Scene, desk: Desk) -> ev.Event:
    return scene.events(desk)[-1]


# --- one event an action -----------------------------------------------------------------------


def test_a_reading_is_on_disk_before_the_next_point_comes_up(scene: Scene) -> None:
    with scene.begin() as desk:
        scene.clock.tick(42)
        made = desk.record(desk.weigh("1.380"))
        event = last(scene, desk)
        assert isinstance(event, ev.ReadingTaken)
        assert (event.record, event.point, event.reading.digits, event.run, event.number) == (
            1, "SW-01", "1.380", 1, 1,
        )  # fmt: skip
        assert (event.time - START).total_seconds() == 42
        assert event.by == "Ana"
        assert (made.record, made.verdict.value) == (1, "pass")
        assert desk.survey.here is not None
        assert desk.survey.here.id == "SW-02"
        assert (desk.survey.next_record, desk.survey.next_number) == (2, 2)


# every action, and the event it leaves: kind, point, and what else it says
DEEDS: list[tuple[str, Deed, dict[str, Any]]] = [
    ("skip", lambda d: d.skip("paint", note="ask"), {"point": "SW-03", "reason": "paint", "note": "ask"}),
    ("attempt", lambda d: d.attempt("unstable contact"), {"point": "SW-03", "number": None, "run": None}),
    ("attempt", lambda d: d.attempt("open", filed=True), {"point": "SW-03", "number": 3, "run": 1}),
    ("void", lambda d: d.void(1, "wrong clip"), {"ref": 1, "point": "SW-01", "reason": "wrong clip"}),
    ("redo", lambda d: d.redo("tips slipped"), {"ref": 2, "point": "SW-02"}),
    ("redo", lambda d: d.redo("tips slipped", 1), {"ref": 1, "point": "SW-01"}),
    ("jump", lambda d: d.jump("HU-02"), {"point": "HU-02", "reason": ""}),
    ("jump", lambda d: d.jump("HU-02", " cowl is open "), {"point": "HU-02", "reason": "cowl is open"}),
    ("reverse", lambda d: d.reverse(), {"point": "SW-03"}),
    (
        "insert",
        lambda d: d.insert("Spare strap", "<= 2.5", "not planned", a="bracket"),
        {
            "point": "X01",
            "ref": "SW-03",
            "definition": '{"title": "Spare strap", "section": "SW", "a": "bracket", "unit": "mohm", '
            '"limit": "<= 2.5 mohm"}',
        },
    ),
    ("pause", lambda d: d.pause("rain"), {"reason": "rain"}),
    ("proceed", lambda d: d.proceed(), {}),
    ("note", lambda d: d.note("smells of fuel"), {"point": "SW-03", "note": "smells of fuel"}),
    ("waive", lambda d: d.waive("HU-01", "boss", "D-7"), {"point": "HU-01", "reason": "boss", "ref": "D-7"}),
    ("number", lambda d: d.check_number(2), {"run": 1, "number": 2, "ref": 2, "verdict": ev.Agreement.AGREE}),
    ("number", lambda d: d.check_number(3), {"number": 3, "ref": 2, "verdict": ev.Agreement.DIFFER}),
    ("renumber", lambda d: d.renumber(5, "twice"), {"run": 1, "number": 5, "ref": None, "note": "was 3"}),
    ("renumber", lambda d: d.renumber(4, "twice", 2), {"run": 1, "number": 4, "ref": 2}),
    ("run", lambda d: d.start_run(1, "read out"), {"run": 2, "number": 1, "reason": "read out"}),
    ("amend", lambda d: d.amend_value(2, "1.39", "slip"), {"ref": 2, "note": "was 1.2 mohm", "point": None}),
    ("amend", lambda d: d.amend_number(2, None, 7, "misread"), {"ref": 2, "run": 1, "number": 7}),
    ("unfiled", lambda d: d.unfile(2, "not kept"), {"ref": 2, "note": "was 2 of run 1"}),
    ("close", lambda d: d.close("done"), {"reason": "done"}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "deed", "facts"), DEEDS, ids=[f"{i}-{d[0]}" for i, d in enumerate(DEEDS)])
def test_each_action_is_one_event_on_disk(scene: Scene, kind: str, deed: Deed, facts: dict[str, Any]) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        rows = desk.rows
        deed(desk)
        assert desk.rows == rows + 1 == len(scene.events(desk))
        event = last(scene, desk)
        assert event.kind == kind
        assert {name: getattr(event, name) for name in facts} == facts


def test_the_seal_is_that_of_the_file(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        seal = desk.close()
        text = (desk.folder / "trail.csv").read_text(encoding="utf-8")
        assert text.splitlines()[-1].endswith(f",{seal}")
        assert desk.seal == seal


def test_an_amended_value_says_what_its_limit_gives(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        assert desk.amend_value(1, "2.5", "slip").value == "fail"  # SW-01 is judged by "less than"
        assert desk.survey.records[1].reading.digits == "2.5"
        assert desk.survey.problems == ()


def test_inserted_points_get_ids_that_are_free(scene: Scene) -> None:
    with scene.begin() as desk:
        assert desk.insert("One", "record only", "r") == "X01"
        assert desk.insert("Two", "<= 3", "r") == "X02"
        assert desk.survey.order.ids[:3] == ("X02", "X01", "SW-01")


def test_an_unplanned_point_beside_aluminium_is_corrected_as_aluminium(scene: Scene) -> None:
    """2.5 mohm at 20 C is 2.65113 mohm at 35 C of aluminium, 0.00403/K (IEC 60889), and 2.64738 of copper."""
    conductor = 'correct_to_20 = true\nconductor = { mm2 = 50, length_mm = 300, metal = "aluminium" }\n'
    plan = ROUTE.replace('title = "Flap jumper"\n', f'title = "Flap jumper"\n{conductor}')
    (scene.root / "routes" / "wing.toml").write_text(plan, encoding="utf-8")
    with scene.begin(replace(BRIEF, conductor_c=Decimal(35))) as desk:
        desk.insert("Spare strap", "<= 2.5", "not planned")
        record(desk, "2.650")
    read = read_session(Disk(), desk.folder)
    assert read.survey.records[1].point == "X01"
    assert read.survey.records[1].verdict is Verdict.PASS
    assert read.survey.problems == ()


def test_after_the_last_point_an_unplanned_one_can_still_be_inserted(scene: Scene) -> None:
    with scene.begin() as desk:
        for point in desk.session.route.points:
            desk.waive(point.id, "chief", "D-7")
        assert desk.survey.here is None
        desk.insert("Late strap", "<= 3", "r")
        assert desk.survey.points["X01"].section == "HU"
        record(desk, "1.1")
        assert desk.survey.here is None
        assert desk.unsettled() == []


# --- memory numbers ------------------------------------------------------------------------------


def test_a_doubted_number_wants_a_reason_and_then_the_meter_is_right(scene: Scene) -> None:
    with scene.begin() as desk:
        entry = desk.weigh("3 1.38")
        with pytest.raises(WrongUseError, match="memory number 3 keyed, 1 expected"):
            desk.record(entry)
        assert scene.kinds(desk)[-1] == "run"
        made = desk.record(entry, "stored twice")
        assert scene.kinds(desk)[-2:] == ["renumber", "reading"]
        assert (made.number, made.reason, desk.survey.next_number) == (3, "stored twice", 4)
        assert desk.survey.problems == ()


def test_a_number_keyed_before_any_run_begins_one(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, next_number=None)) as desk:
        made = desk.record(desk.weigh("5 1.38"), "memory was not cleared")
        assert (made.run, made.number) == (1, 5)
        assert scene.kinds(desk)[-2:] == ["run", "reading"]


def test_a_full_memory_takes_no_reading_and_files_no_attempt(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, next_number=12)) as desk:
        record(desk, "1.1")
        rows = desk.rows
        with pytest.raises(WrongUseError, match="full at 12"):
            desk.weigh("1.1")
        with pytest.raises(WrongUseError, match="full at 12"):
            desk.attempt("open", filed=True)
        assert desk.rows == rows
        desk.attempt("open")
        desk.start_run(1, "read out")
        record(desk, "1.2")
        assert (desk.survey.records[2].run, desk.survey.records[2].number) == (2, 1)


def test_an_entry_weighed_before_the_memory_filled_up_is_not_taken_without_a_number(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, next_number=12)) as desk:
        early = desk.weigh("1.1")
        record(desk, "1.2")
        with pytest.raises(WrongUseError):
            desk.record(early)


@pytest.mark.parametrize(
    "deed",
    [
        lambda d: d.start_run(0),
        lambda d: d.start_run(13),
        lambda d: d.renumber(0, "r"),
        lambda d: d.renumber(14, "r"),
        lambda d: d.start_run(-1),
    ],
)
def test_numbers_the_meter_cannot_have_are_refused(scene: Scene, deed: Deed) -> None:
    with scene.begin() as desk:
        before = desk.survey
        with pytest.raises(BadInputError, match=r"memory number -?\d+ is (below|beyond)"):
            deed(desk)
        assert desk.survey is before


def test_the_meter_may_say_that_it_is_full(scene: Scene) -> None:
    with scene.begin() as desk:
        desk.renumber(13, "the meter says so")
        assert desk.survey.run is not None
        assert desk.survey.run.is_full


def test_numbers_are_not_moved_below_nought(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, instrument=replace(METER, first_number=0), next_number=0)) as desk:
        record(desk, "1.1", "1.2")
        desk.renumber(9, "jump ahead")
        record(desk, "1.3")
        with pytest.raises(WrongUseError, match="below nought"):
            desk.renumber(1, "back", first_record=1)


@pytest.mark.parametrize(
    "deed",
    [lambda d: d.check_number(1), lambda d: d.renumber(2, "r"), lambda d: d.attempt("open", filed=True)],
)
def test_without_a_memory_run_there_are_no_numbers(scene: Scene, deed: Deed) -> None:
    with (
        scene.begin(replace(BRIEF, next_number=None)) as desk,
        pytest.raises(WrongUseError, match="run has begun"),
    ):
        deed(desk)


def test_a_check_in_a_memory_that_was_not_cleared_agrees_at_once(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, next_number=8)) as desk:
        assert desk.check_number(7) is ev.Agreement.AGREE


# --- what is refused -----------------------------------------------------------------------------

REFUSED: list[tuple[Deed, type[FieldtuiError], str]] = [
    (lambda d: d.skip(""), BadInputError, "A reason is wanted"),
    (lambda d: d.skip("  "), BadInputError, "A reason is wanted"),
    (lambda d: d.skip("x\x1b[2J"), BadInputError, r"character \u{1b} is not allowed"),
    (lambda d: d.skip("x\u202e"), BadInputError, r"character \u{202e} is not allowed"),
    (lambda d: d.skip("x" * 501), BadInputError, "501 characters"),
    (lambda d: d.skip("x\ny"), BadInputError, r"character \u{a} is not allowed"),
    (lambda d: d.skip("paint", note="\x00"), BadInputError, r"character \u{0} is not allowed"),
    (lambda d: d.note(" "), BadInputError, "The note is empty"),
    (lambda d: d.void(9, "r"), WrongUseError, "There is no record 9"),
    (lambda d: d.void(0, "r"), WrongUseError, "There is no record 0"),
    (lambda d: d.redo("r", 9), WrongUseError, "There is no record 9"),
    (lambda d: d.unfile(9, "r"), WrongUseError, "There is no record 9"),
    (lambda d: d.amend_value(9, "1", "r"), WrongUseError, "There is no record 9"),
    (lambda d: d.amend_value(1, "1..2", "r"), BadInputError, "more than one point"),
    (lambda d: d.amend_value(1, "1.2", ""), BadInputError, "A reason is wanted"),
    (lambda d: d.renumber(5, "r", 9), WrongUseError, "There is no record 9"),
    (lambda d: d.jump("XX-9"), BadInputError, "Point XX-9 is not on the route"),
    (lambda d: d.waive("XX-9", "chief", "D"), BadInputError, "Point XX-9 is not on the route"),
    (lambda d: d.waive("SW-01", "chief", ""), BadInputError, "A reason is wanted"),
    (lambda d: d.insert("", "<= 3", "r"), BadInputError, "wants a title"),
    (lambda d: d.insert("Strap", "a lot", "r"), BadInputError, "a limit looks like"),
    (lambda d: d.insert("Strap", "<= 3", ""), BadInputError, "A reason is wanted"),
    (lambda d: d.insert("x" * 300, "<= 3", "r", a="y" * 300), BadInputError, "characters; at most 500"),
]


@pytest.mark.parametrize(("deed", "error", "what"), REFUSED, ids=range(len(REFUSED)))
def test_what_is_refused_leaves_no_trace(
    scene: Scene, deed: Deed, error: type[FieldtuiError], what: str
) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        before, rows, size = desk.survey, desk.rows, (desk.folder / "trail.csv").stat().st_size
        with pytest.raises(error) as refused:
            deed(desk)
        assert what in refused.value.what
        assert (desk.survey, desk.rows) == (before, rows)
        assert (desk.folder / "trail.csv").stat().st_size == size
        record(desk, "1.2")
        assert desk.survey.next_record == 3


def test_a_second_void_is_refused(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        desk.void(1, "clip")
        with pytest.raises(WrongUseError, match="Record 1 is void already"):
            desk.void(1, "clip")


def test_a_redo_before_the_first_reading_is_refused(scene: Scene) -> None:
    with scene.begin() as desk, pytest.raises(WrongUseError, match="No reading has been taken yet"):
        desk.redo("r")


def test_with_no_point_left_there_is_nothing_to_take_skip_or_turn(scene: Scene) -> None:
    with scene.begin() as desk:
        entry = desk.weigh("1.1")
        for point in desk.session.route.points:
            desk.waive(point.id, "chief", "D-7")
        deeds: list[Deed] = [
            lambda d: d.weigh("1"),
            lambda d: d.record(entry),
            lambda d: d.skip("r"),
            lambda d: d.attempt("r"),
            lambda d: d.reverse(),
        ]
        for deed in deeds:
            with pytest.raises(WrongUseError, match="No point is left to take"):
                deed(desk)
        desk.note("all waived")


CLOSED_TO: list[Deed] = [
    lambda d: d.weigh("1.1"),
    lambda d: d.skip("r"),
    lambda d: d.attempt("r"),
    lambda d: d.void(1, "r"),
    lambda d: d.redo("r"),
    lambda d: d.jump("HU-01"),
    lambda d: d.reverse(),
    lambda d: d.insert("Strap", "<= 3", "r"),
    lambda d: d.pause(),
    lambda d: d.proceed(),
    lambda d: d.note("late"),
    lambda d: d.waive("HU-01", "chief", "D-7"),
    lambda d: d.check_number(1),
    lambda d: d.renumber(5, "r"),
    lambda d: d.start_run(1),
    lambda d: d.amend_value(1, "1.2", "r"),
    lambda d: d.unfile(1, "r"),
    lambda d: d.close(),
]


def test_a_closed_session_takes_nothing(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        entry = desk.weigh("1.2")
        desk.close()
        before = (desk.folder / "trail.csv").read_bytes()
        for deed in [*CLOSED_TO, lambda d: d.record(entry)]:
            with pytest.raises(SessionClosedError):
                deed(desk)
        assert (desk.folder / "trail.csv").read_bytes() == before


# --- a medium that fails ---------------------------------------------------------------------------


def on_failing_disk(tmp_path: Path) -> tuple[Scene, FailingDisk, Desk]:
    disk = FailingDisk()
    scene = Scene(tmp_path, disk)
    desk = scene.begin()
    record(desk, "1.1")
    return scene, disk, desk


def unchanged(desk: Desk, before: Survey, scene: Scene, rows: int) -> bool:
    return desk.survey is before and desk.rows == rows and len(scene.events(desk)) == rows


@pytest.mark.parametrize("fault", [("write", FULL), ("short", FULL)])
def test_a_full_disk_changes_nothing_and_the_session_goes_on_once_there_is_room(
    tmp_path: Path, fault: tuple[str, int]
) -> None:
    scene, disk, desk = on_failing_disk(tmp_path)
    entry = desk.weigh("1.2")
    before, rows = desk.survey, desk.rows
    disk.fails = [fault]
    with pytest.raises(DiskFullError, match="NOT SAVED"):
        desk.record(entry)
    assert unchanged(desk, before, scene, rows)
    assert not desk.is_failed
    made = desk.record(entry)
    assert (made.record, made.number, len(scene.events(desk))) == (2, 2, rows + 1)
    desk.leave()


@pytest.mark.parametrize("fault", [("write", BROKEN), ("sync", BROKEN), ("sync", FULL), ("read", BROKEN)])
def test_a_broken_medium_changes_nothing_and_takes_no_more(tmp_path: Path, fault: tuple[str, int]) -> None:
    scene, disk, desk = on_failing_disk(tmp_path)
    entry = desk.weigh("1.2")
    before, rows = desk.survey, desk.rows
    disk.fails = [fault]
    with pytest.raises(MediumFailedError, match="NOT SAVED"):
        desk.record(entry)
    assert (desk.survey, desk.rows) == (before, rows)
    assert desk.is_failed
    with pytest.raises(MediumFailedError):  # the descriptor is finished: a second sync could lie
        desk.record(entry)
    desk.leave()
    assert [event.kind for event in scene.events(desk)].count("reading") in (1, 2)  # never acknowledged


@pytest.mark.parametrize(("kind", "deed", "facts"), DEEDS, ids=[f"{i}-{d[0]}" for i, d in enumerate(DEEDS)])
def test_no_action_moves_the_survey_when_the_disk_is_full(
    tmp_path: Path, kind: str, deed: Deed, facts: dict[str, Any]
) -> None:
    disk = FailingDisk()
    scene = Scene(tmp_path, disk)
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        before, rows = desk.survey, desk.rows
        disk.fails = [("write", FULL)]
        with pytest.raises(NotSavedError):
            deed(desk)
        assert unchanged(desk, before, scene, rows)
        deed(desk)
        assert scene.kinds(desk)[-1] == kind


# --- the clock -------------------------------------------------------------------------------------


def test_a_stepped_clock_is_an_event_before_the_one_it_was_noticed_at(scene: Scene) -> None:
    with scene.begin() as desk:
        scene.clock.step(-3600)
        scene.clock.tick(5)
        record(desk, "1.1")
        scene.clock.tick(5)
        scene.clock.step(7200)
        record(desk, "1.2")
        assert scene.kinds(desk)[-4:] == ["clock", "reading", "clock", "reading"]
        events = scene.events(desk)
        assert [event.note for event in events if event.kind == "clock"] == [
            "the machine's clock went back by 3600 s",
            "the machine's clock went forward by 7200 s",
        ]
        assert [event.time for event in events] == sorted(event.time for event in events)


def test_a_step_is_told_although_the_row_that_tells_it_did_not_fit_at_first(tmp_path: Path) -> None:
    scene, disk, desk = on_failing_disk(tmp_path)
    scene.clock.step(3600)
    disk.fails = [("write", FULL)]
    with pytest.raises(DiskFullError):
        record(desk, "1.2")
    record(desk, "1.2")
    assert scene.kinds(desk)[-2:] == ["clock", "reading"]
    desk.leave()


def test_a_step_noticed_by_a_refused_action_is_told_with_the_next(scene: Scene) -> None:
    with scene.begin() as desk:
        scene.clock.step(3600)
        with pytest.raises(BadInputError):
            desk.skip("")
        record(desk, "1.1")
        assert scene.kinds(desk)[-2:] == ["clock", "reading"]


# --- values keyed and kept -------------------------------------------------------------------------


def test_what_was_keyed_stands_in_the_file_digit_by_digit(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.380", "950u", "2R50", ".470", "1.30")
        text = (desk.folder / "trail.csv").read_text(encoding="utf-8")
        for cells in (",1.380,mohm,", ",950,uohm,", ",2.50,ohm,", ",0.470,mohm,", ",1.30,mohm,"):
            assert cells in text
        assert desk.survey.records[3].reading == parse_resistance("2.50", Unit.OHM)
