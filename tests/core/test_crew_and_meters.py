"""Handovers and further meters in the survey, and a meter's definition written into one cell."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.account.bracket import readings_in_doubt, standard_due
from fieldtui.core.account.closing import Group, closing_items, left_undone
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.survey.crew import crew_at, crew_now
from fieldtui.core.survey.meters import (
    NotAMeterError,
    calibration_trouble,
    format_meter,
    is_same_meter,
    meter_of,
    meter_words,
    parse_meter,
    unlisted_meter,
)
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.walks import METER, Walk, point
from tests.strategies import clean_texts, units

FIRST = Crew(prober="Ben", recorder="Ana")


def mohm(text: str) -> Any:
    return parse_resistance(text, Unit.MOHM)


STANDARD = CheckStandard(mohm("2.500"), mohm("0.050"), "resistor in the lid")
SPARE = Instrument(
    id="spare",
    title="Spare bond meter",
    serial="0041",
    unit=Unit.MOHM,
    memory_size=3,
    first_number=0,
    calibration_due=date(2029, 3, 31),
    auto_off_s=120,
    check_standard=STANDARD,
    standard_every=20,
    accuracy=Accuracy(Decimal("1.0"), mohm("0.10"), mohm("0.01"), Decimal(2)),
    erased_number_stays_used=False,
)


def take(walk: Walk, meter: Instrument = SPARE, number: int | None = 0) -> Walk:
    walk.tell(ev.MeterTaken, ref=meter.id, reason="battery low", definition=format_meter(meter))
    return walk if number is None else walk.start_run(number)


# --- the definition ------------------------------------------------------------------------------


def test_a_definition_can_be_read_by_eye() -> None:
    assert format_meter(SPARE) == (
        '{"title": "Spare bond meter", "serial": "0041", "unit": "mohm", "memory_size": "3", '
        '"first_number": "0", "auto_off_s": "120", "standard_every": "20", '
        '"erased_number_stays_used": "no", "calibration_due": "2029-03-31", "standard": "2.500", '
        '"tolerance": "0.050", "standard_unit": "mohm", "standard_title": "resistor in the lid", '
        '"percent": "1.0", "floor": "0.10", "resolution": "0.01", "coverage": "2"}'
    )


@st.composite
def meters(draw: st.DrawFn) -> Instrument:
    unit = draw(units)
    figures = st.sampled_from(["0.5", "2.50", "10", "0.001", "0.00000012"])
    value = figures.map(lambda text: parse_resistance(text, unit))
    percents = figures.map(Decimal)
    return Instrument(
        id="m",
        title=draw(clean_texts.filter(bool)),
        serial=draw(clean_texts),
        unit=unit,
        memory_size=draw(st.integers(0, 99_999)),
        first_number=draw(st.integers(0, 99_999)),
        calibration_due=draw(st.none() | st.dates()),
        auto_off_s=draw(st.integers(0, 86_400)),
        settle_s=draw(st.integers(0, 600)),
        check_standard=draw(st.none() | st.builds(CheckStandard, value, value, clean_texts)),
        standard_every=draw(st.integers(0, 1000)),
        accuracy=draw(st.none() | st.builds(Accuracy, percents, value, st.none() | value, percents)),
        erased_number_stays_used=draw(st.booleans()),
        spoiled_number_stays_used=draw(st.booleans()),
    )


@given(meters())
def test_a_definition_comes_back_as_it_was(meter: Instrument) -> None:
    assert parse_meter("m", format_meter(meter)) == meter


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not one line of JSON"),
        ("[1]", "texts by name"),
        ('{"title": 1}', "texts by name"),
        ("{}", "no title"),
        ('{"title": "x", "unit": "mohm", "colour": "red"}', "colour is nothing that a meter has"),
        ('{"title": "x", "unit": "inch"}', "inch"),
        ('{"title": "x", "unit": "mohm", "memory_size": "-3"}', "'-3' is not a whole number"),
        ('{"title": "x", "unit": "mohm", "memory_size": "123456"}', "not a whole number"),
        ('{"title": "x", "unit": "mohm", "calibration_due": "soon"}', "soon"),
        ('{"title": "x", "unit": "mohm", "percent": "a", "floor": "1"}', "a"),
        ('{"title": "x", "unit": "mohm", "percent": "1", "floor": "1", "coverage": "0"}', "coverage factor"),
        ('{"title": "x", "unit": "mohm", "standard": "2.5"}', ""),
        ('{"title": "x\\u001b[31m", "unit": "mohm"}', "character"),
        ("[" * 100_000, "not one line of JSON"),
    ],
)
def test_what_is_no_meter_is_refused_in_words(text: str, why: str) -> None:
    with pytest.raises(NotAMeterError) as caught:
        parse_meter("m", text)
    assert why in str(caught.value)


def test_words_for_a_meter() -> None:
    assert meter_words(SPARE) == "Spare bond meter, serial 0041"
    assert meter_words(unlisted_meter("borrowed, serial 9", SPARE)) == "borrowed, serial 9"
    assert calibration_trouble(SPARE, date(2029, 3, 31)) == ""
    assert calibration_trouble(SPARE, date(2029, 4, 1)) == "calibration lapsed on 2029-03-31"
    assert "no calibration date" in calibration_trouble(unlisted_meter("x", SPARE), date(2029, 4, 1))
    assert is_same_meter(SPARE, replace(SPARE, memory_size=9))
    assert not is_same_meter(SPARE, replace(SPARE, serial="0042"))


# --- another meter on the walk ----------------------------------------------------------------------


def test_another_meter_has_its_own_memory_from_its_own_first_number() -> None:
    walk = Walk("A", "B", "C", "D", "E").start_run(1).read().read()
    take(walk)
    survey = walk.survey
    assert survey.instrument == SPARE
    assert (survey.run.run, survey.next_number, survey.run.room) == (2, 0, 3)  # type: ignore[union-attr]
    walk.read().read().read()
    assert [(r.run, r.number) for r in walk.survey.records.values()] == [
        (1, 1),
        (1, 2),
        (2, 0),
        (2, 1),
        (2, 2),
    ]
    assert walk.survey.next_number is None  # its memory of three is full
    assert not walk.survey.problems


def test_between_meter_and_run_nothing_is_filed_under_the_old_ones_number() -> None:
    walk = Walk("A", "B").start_run(1).read()
    take(walk, number=None)
    assert walk.survey.run is None and walk.survey.next_number is None
    walk.read()
    assert walk.survey.records[2].number is None
    assert not walk.survey.problems


def test_a_number_check_that_was_due_or_differed_is_over_with_the_old_meter() -> None:
    walk = Walk("A", "B").start_run(1).read()
    walk.tell(ev.NumberChecked, run=1, number=7, verdict=ev.Agreement.DIFFER, ref=1)
    assert walk.survey.out_of_step
    after = take(walk).survey
    assert not after.out_of_step and not after.check_due


def guarded(name: str) -> Any:
    limit = Limit(maximum=mohm("2.50"), rule=DecisionRule(RuleKind.GUARDED))
    return point(name, limit=limit)


def test_each_reading_is_judged_with_the_accuracy_of_its_own_meter() -> None:
    fine = replace(METER, accuracy=Accuracy(Decimal("0.1"), mohm("0.001"), mohm("0.01"), Decimal(2)))
    walk = Walk(*(guarded(name) for name in "ABCD"), instrument=fine).read("2.45")
    assert walk.survey.records[1].verdict is Verdict.PASS
    take(walk, number=None).read("2.45")
    assert walk.survey.records[2].verdict is not Verdict.PASS  # U of the spare is larger than what is left
    assert not walk.survey.problems  # said at the time, computed now: the same
    walk.tell(ev.Amended, ref=1, reason="keyed wrong", reading=mohm("2.44"), verdict=Verdict.PASS)
    assert walk.survey.records[1].verdict is Verdict.PASS  # still with the first meter's accuracy
    assert not walk.survey.problems
    assert meter_of(walk.survey.meters, walk.survey.records[1]) == fine
    assert meter_of(walk.survey.meters, walk.survey.records[2]) == SPARE
    taken = walk.survey.standings["A"].as_left
    assert taken is not None
    assert walk.survey.conditions.of(taken.last).accuracy == fine.accuracy


def test_the_check_standard_of_another_meter_is_due_first() -> None:
    bare = replace(METER, check_standard=None)
    walk = Walk("A", "B", instrument=bare).read()
    assert standard_due(walk.survey) == ""
    take(walk)
    assert standard_due(walk.survey) == "another meter was taken"
    good = {"reading": mohm("2.51"), "verdict": ev.Answer.GOOD, "ref": ev.CheckTime.BEFORE}
    walk.tell(ev.StandardRead, **good)
    assert standard_due(walk.survey) == ""


def test_a_failed_check_reaches_the_readings_of_its_own_meter_alone() -> None:
    walk = Walk("A", "B", "C", instrument=replace(METER, check_standard=STANDARD))
    good = {"reading": mohm("2.51"), "verdict": ev.Answer.GOOD}
    bad = {"reading": mohm("2.9"), "verdict": ev.Answer.BAD}
    walk.tell(ev.StandardRead, ref=ev.CheckTime.BEFORE, **good).read()
    take(walk, number=None)
    walk.tell(ev.StandardRead, ref=ev.CheckTime.BEFORE, **good).read()
    walk.tell(ev.StandardRead, ref=ev.CheckTime.AFTER, **bad)
    assert [doubt.record for doubt in readings_in_doubt(walk.survey)] == [2]
    # taken again: a check of the first one that fails now reaches back to its own last good one
    take(walk, replace(METER, check_standard=STANDARD), number=None)
    walk.tell(ev.StandardRead, ref=ev.CheckTime.BEFORE, **bad)
    assert [doubt.record for doubt in readings_in_doubt(walk.survey)] == [1, 2]


def test_a_meter_given_up_without_its_last_check_is_left_undone() -> None:
    walk = Walk("A", "B", instrument=replace(METER, check_standard=STANDARD)).read()
    take(walk, number=None)
    undone = [item.what for item in left_undone(walk.survey) if item.group is Group.METER]
    assert any("was not read after record 1" in what for what in undone)
    checked = Walk("A", "B", instrument=replace(METER, check_standard=STANDARD)).read()
    good = {"reading": mohm("2.51"), "verdict": ev.Answer.GOOD, "ref": ev.CheckTime.AFTER}
    take(checked.tell(ev.StandardRead, **good), number=None)
    words = [item.what for item in closing_items(checked.survey) if item.group is Group.METER]
    assert not any("after record" in what for what in words)


def test_a_definition_that_is_none_is_a_problem_and_changes_nothing() -> None:
    walk = Walk("A").start_run(1).tell(ev.MeterTaken, ref="m2", reason="r", definition="no JSON")
    assert len(walk.survey.meters) == 1 and walk.survey.next_number == 1
    (problem,) = walk.survey.problems
    assert problem.what == "meter m2: the definition is not one line of JSON"


def test_an_erased_number_follows_the_rule_of_its_own_meter() -> None:
    walk = take(Walk("A", "B").start_run(1)).read()
    walk.tell(ev.Erased, ref=1, reason="cleared on the meter")
    assert walk.survey.next_number == 0  # this one gives the number out again
    assert walk.survey.records[1].number is None


# --- handovers -----------------------------------------------------------------------------------------


def test_who_was_at_work_is_known_row_by_row() -> None:
    walk = Walk("A", "B", "C").read()
    event = ev.HandedOver(time=walk.events[-1].time, by="Cleo", ref="Dan", reason="shift change")
    survey = walk.survey.after(event)
    assert crew_now(FIRST, walk.survey.handovers) == FIRST
    assert crew_now(FIRST, survey.handovers) == Crew(prober="Dan", recorder="Cleo")
    assert crew_at(FIRST, survey.handovers, 1) == FIRST
    assert crew_at(FIRST, survey.handovers, 2).prober == "Dan"
    (handover,) = survey.handovers
    assert (handover.row, handover.record, handover.reason) == (2, 2, "shift change")


def test_after_a_handover_the_numbers_are_checked_and_signatures_hold() -> None:
    walk = Walk("A", "B").start_run(1).read()
    walk.tell(ev.Signed, ref=ev.Role.TECHNICIAN, reason="T-1")
    before = walk.survey.last_change
    walk.tell(ev.HandedOver, ref="Dan", reason="shift change")
    assert walk.survey.check_due == "after a handover"
    assert walk.survey.last_change == before
