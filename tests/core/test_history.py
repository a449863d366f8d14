"""What a survey says of each point, taken from the fold of its events."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from fieldtui.core import events as ev
from fieldtui.core.history import Seen, seen_points
from fieldtui.core.judging import Verdict
from fieldtui.core.ohms import Resistance, Unit
from fieldtui.core.position import State
from fieldtui.core.route import Limit, Point, Route, Section
from fieldtui.core.survey import fold
from fieldtui.core.tables import Instrument
from fieldtui.core.uncertainty import Accuracy
from tests.core.history_fixtures import START, UPPER, mohm

TIGHT = Limit(maximum=mohm("2.0"))
POINTS = (
    Point(id="SW-01", section="SW", title="Jumper", unit=Unit.MOHM, limit=UPPER, retest=TIGHT),
    Point(id="SW-02", section="SW", title="Vent", unit=Unit.MOHM, limit=UPPER, repeats=3, rule="mean"),
)
ROUTE = Route("wing", "Wing", "twin ZX-41", "B", "", Unit.MOHM, 0, (Section("SW", "Wing"),), POINTS)


def survey_of(*events: ev.Event, accuracy: Accuracy | None = None) -> dict[str, Seen]:
    survey = fold(ROUTE, Instrument("meter", "Meter"), [_event(ev.Started, ref="0" * 64), *events])
    return {seen.point: seen for seen in seen_points(survey, accuracy)}


def _event(kind: type[ev.Event], **fields: Any) -> ev.Event:
    return kind(time=START, by="Ana", **fields)


def read(record: int, point: str, value: str, verdict: Verdict = Verdict.PASS) -> ev.Event:
    return _event(ev.ReadingTaken, record=record, point=point, reading=mohm(value), verdict=verdict)


def test_a_point_not_read_has_its_state_and_the_limit_that_waits() -> None:
    skipped = survey_of(_event(ev.Skipped, point="SW-01", reason="rain"))["SW-01"]
    assert (skipped.state, skipped.reason, skipped.reading) == (State.SKIPPED, "rain", None)
    assert skipped.limit == UPPER


def test_after_a_rework_the_as_left_value_and_the_retest_limit_count() -> None:
    seen = survey_of(
        read(1, "SW-01", "2.60", Verdict.FAIL),
        _event(ev.Reworked, point="SW-01", reason="cleaned", ref="D-7"),
        read(2, "SW-01", "1.38"),
    )["SW-01"]
    assert seen.reading is not None
    assert (seen.reading.value.digits, seen.reading.is_retest) == ("1.38", True)
    assert (seen.limit, seen.planned) == (TIGHT, UPPER)
    assert seen.reading.as_found == (mohm("2.60"), Verdict.FAIL)


def test_a_mean_is_no_finer_than_the_display_that_gave_it() -> None:
    values = ["1.380", "1.38", "1.40"]
    seen = survey_of(*[read(record, "SW-02", value) for record, value in enumerate(values, 1)])["SW-02"]
    assert seen.reading is not None
    assert (seen.reading.value.digits, seen.reading.step) == ("1.3867", Decimal("0.00001"))
    assert seen.reading.as_found is None


def test_a_stated_accuracy_gives_each_reading_its_uncertainty() -> None:
    """1 % of 2.00 and 0.02 mohm at k = 2 is 0.02 mohm; a step of 0.01 adds 0.01/sqrt(12)."""
    accuracy = Accuracy(Decimal(1), mohm("0.02"))
    seen = survey_of(read(1, "SW-01", "2.00"), accuracy=accuracy)["SW-01"]
    assert seen.reading is not None and seen.reading.standard is not None
    assert round(seen.reading.standard * 1000, 6) == Decimal("0.020207")


def test_a_stated_resolution_goes_before_the_digits_keyed() -> None:
    accuracy = Accuracy(Decimal(0), mohm("0"), Resistance(Decimal("0.1"), Unit.MOHM))
    seen = survey_of(read(1, "SW-01", "2.00"), accuracy=accuracy)["SW-01"]
    assert seen.reading is not None and seen.reading.step == Decimal("0.0001")
