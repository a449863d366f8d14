"""What a survey says of each point, taken from the fold of its events."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from fieldtui.core.between.history import Seen, seen_points
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point, Route, Section
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.history_fixtures import START, UPPER, mohm

TIGHT = Limit(maximum=mohm("2.0"))
POINTS = (
    Point(id="SW-01", section="SW", title="Jumper", unit=Unit.MOHM, limit=UPPER, retest=TIGHT),
    Point(id="SW-02", section="SW", title="Vent", unit=Unit.MOHM, limit=UPPER, repeats=3, rule="mean"),
)
ROUTE = Route("wing", "Wing", "twin ZX-41", "B", "", Unit.MOHM, 0, (Section("SW", "Wing"),), POINTS)


def survey_of(*events: ev.Event, accuracy: Accuracy | None = None) -> dict[str, Seen]:
    survey = fold(ROUTE, Instrument("meter", "Meter"), [_event(ev.Started, ref="0" * 64), *events])
    return {seen.point: seen for seen in seen_points(survey, {"meter": accuracy} if accuracy else {})}


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


# --- another meter ------------------------------------------------------------------------

FINE, COARSE = Accuracy(Decimal(0), mohm("0.02")), Accuracy(Decimal(0), mohm("0.20"))
FIRST = Instrument("meter", "Meter", accuracy=FINE)


def standards_of(*events: ev.Event, given: dict[str, Accuracy] | None = None) -> dict[str, Decimal | None]:
    """Standard uncertainty of each point that was read, mohm; the step of 0.01 mohm is in it."""
    survey = fold(ROUTE, FIRST, [_event(ev.Started, ref="0" * 64), *events])
    found = {}
    for seen in seen_points(survey, given or {}):
        if seen.reading is not None:
            standard = seen.reading.standard
            found[seen.point] = None if standard is None else round(standard * 1000, 3)
    return found


def take(accuracy: Accuracy | None, meter: str = "spare") -> ev.Event:
    definition = format_meter(Instrument(meter, "Spare", accuracy=accuracy))
    return _event(ev.MeterTaken, ref=meter, reason="battery", definition=definition)


def test_each_reading_has_the_uncertainty_of_the_meter_it_was_taken_with() -> None:
    """0.02 / 2 and 0.20 / 2 mohm; the first meter's is not that of the second, and not the other way."""
    thrice = [read(record, "SW-02", "1.50") for record in (2, 3, 4)]
    found = standards_of(read(1, "SW-01", "2.00"), take(COARSE), *thrice)
    assert found == {"SW-01": Decimal("0.010"), "SW-02": Decimal("0.100")}
    found = standards_of(read(1, "SW-01", "2.00"), take(None), *thrice)
    assert found == {"SW-01": Decimal("0.010"), "SW-02": None}


def test_a_take_of_two_meters_has_the_larger_uncertainty_and_none_where_one_states_none() -> None:
    def mixed(taken: ev.Event) -> Decimal | None:
        return standards_of(
            *[read(record, "SW-02", "1.50") for record in (1, 2)], taken, read(3, "SW-02", "1.50")
        )["SW-02"]

    assert mixed(take(COARSE)) == Decimal("0.100")
    assert mixed(take(Accuracy(Decimal(0), mohm("0.01")))) == Decimal("0.010")
    assert mixed(take(None)) is None


def test_an_accuracy_given_for_a_meter_goes_before_its_own_for_the_later_meter_too() -> None:
    events = (take(COARSE), read(1, "SW-01", "2.00"))
    assert standards_of(*events, given={"spare": FINE}) == {"SW-01": Decimal("0.010")}
    assert standards_of(*events, given={"meter": FINE}) == {"SW-01": Decimal("0.100")}
