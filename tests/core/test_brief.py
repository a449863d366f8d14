"""What keeps a walk from beginning, and how an override is put on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.survey.brief import (
    BATTERY,
    CALIBRATION,
    CAUTIONS,
    ITEMS,
    STANDARD,
    TIPS,
    Brief,
    answers,
    blocks,
    findings,
)
from fieldtui.core.trail.events import Answer
from tests.core.walks import START

TODAY = START.date()
MILLIOHM = Unit.MOHM
METER = Instrument(
    id="small-meter",
    title="Small bond meter",
    calibration_due=date(2029, 3, 31),
    check_standard=CheckStandard(
        value=parse_resistance("2.500", MILLIOHM), tolerance=parse_resistance("50u", MILLIOHM)
    ),
)
GOOD = Brief(
    job="WO-1",
    crew=Crew(prober="Ben", recorder="Ana"),
    instrument=METER,
    next_number=1,
    standard=parse_resistance("2.51", MILLIOHM),
)


def test_a_good_brief_blocks_nothing_and_every_item_is_put_down() -> None:
    assert blocks(GOOD, TODAY) == {}
    rows = answers(GOOD, TODAY, START)
    assert [row.ref for row in rows] == list(ITEMS)
    assert {row.verdict for row in rows} == {Answer.GOOD}
    assert {row.by for row in rows} == {"Ana"}
    standard = next(row for row in rows if row.ref == STANDARD)
    assert standard.reading == GOOD.standard
    assert [row.reading for row in rows if row.ref != STANDARD] == [None] * 4


@pytest.mark.parametrize(
    ("brief", "item", "why"),
    [
        (replace(GOOD, cautions_read=False), CAUTIONS, "the cautions were not read"),
        (replace(GOOD, battery_good=False), BATTERY, "the battery is weak"),
        (replace(GOOD, tips_good=False), TIPS, "the probe tips are worn or dirty"),
        (
            replace(GOOD, instrument=replace(METER, calibration_due=date(2026, 5, 3))),
            CALIBRATION,
            "calibration lapsed on 2026-05-03",
        ),
        (
            replace(GOOD, instrument=replace(METER, calibration_due=None)),
            CALIBRATION,
            "no calibration date is known for this meter",
        ),
        (replace(GOOD, standard=None), STANDARD, "the check standard of 2.500 mΩ was not read"),
        (
            replace(GOOD, standard=parse_resistance("2.551", MILLIOHM)),
            STANDARD,
            "the check standard reads 2.551 mΩ, not within 50 µΩ of 2.500 mΩ",
        ),
        (
            replace(GOOD, standard=parse_resistance("2.5r", MILLIOHM)),
            STANDARD,
            "the check standard reads 2.5 Ω, not within 50 µΩ of 2.500 mΩ",
        ),
    ],
)
def test_each_trouble_blocks_until_it_is_overridden(brief: Brief, item: str, why: str) -> None:
    assert findings(brief, TODAY) == {item: why}
    assert blocks(brief, TODAY) == {item: why}
    overridden = replace(brief, overrides={item: "  spare meter is ashore "})
    assert blocks(overridden, TODAY) == {}
    row = next(row for row in answers(overridden, TODAY, START) if row.ref == item)
    assert (row.verdict, row.reason, row.note) == (Answer.OVERRIDE, "spare meter is ashore", why)
    row = next(row for row in answers(brief, TODAY, START) if row.ref == item)
    assert (row.verdict, row.reason, row.note) == (Answer.BAD, "", why)


@pytest.mark.parametrize("blank", ["", " ", "\t"])
def test_a_blank_reason_overrides_nothing(blank: str) -> None:
    brief = replace(GOOD, battery_good=False, overrides={BATTERY: blank})
    assert list(blocks(brief, TODAY)) == [BATTERY]


def test_all_troubles_are_told_at_once() -> None:
    brief = replace(
        GOOD,
        instrument=replace(METER, calibration_due=date(2020, 1, 1)),
        standard=None,
        battery_good=False,
        tips_good=False,
        cautions_read=False,
    )
    assert set(findings(brief, TODAY)) == set(ITEMS)


def test_the_last_day_of_a_calibration_still_holds() -> None:
    due = replace(GOOD, instrument=replace(METER, calibration_due=TODAY))
    assert CALIBRATION not in findings(due, TODAY)
    assert CALIBRATION in findings(due, TODAY + timedelta(days=1))


@pytest.mark.parametrize("read", ["2.450", "2.550", "2450u"])
def test_a_standard_exactly_at_its_tolerance_is_good(read: str) -> None:
    assert findings(replace(GOOD, standard=parse_resistance(read, MILLIOHM)), TODAY) == {}


def test_a_meter_without_a_check_standard_is_not_asked_for_one() -> None:
    brief = replace(GOOD, instrument=replace(METER, check_standard=None), standard=None)
    assert findings(brief, TODAY) == {}
    assert STANDARD not in [row.ref for row in answers(brief, TODAY, START)]


def test_an_override_of_what_is_good_leaves_no_reason_behind() -> None:
    rows = answers(replace(GOOD, overrides={BATTERY: "was weak yesterday"}), TODAY, START)
    assert {(row.verdict, row.reason) for row in rows} == {(Answer.GOOD, "")}
