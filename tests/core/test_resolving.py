"""Which limits a meter is fine enough for."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.resolving import coarse_words, finest, resolve
from fieldtui.core.plan.route import Limit
from fieldtui.core.plan.tables import Instrument
from tests.core.walks import point


def mohm(text: str) -> Resistance:
    return Resistance(Decimal(text), Unit.MOHM)


def meter(percent: str, floor: str, step: str = "", name: str = "m") -> Instrument:
    resolution = mohm(step) if step else None
    return Instrument(name, "", accuracy=Accuracy(Decimal(percent), mohm(floor), resolution=resolution))


@pytest.mark.parametrize(
    ("step", "maximum", "is_fine"),
    [("0.25", "2.5", True), ("0.26", "2.5", False), ("0.01", "0.1", True), ("0.01", "0.09", False)],
)
def test_a_step_is_at_most_a_tenth_of_the_limit(step: str, maximum: str, is_fine: bool) -> None:
    """Rule of ten of measurement systems analysis; from memory."""
    found = resolve(Limit(maximum=mohm(maximum)), meter("0", "0.0001", step))
    assert found is not None and found.is_fine is is_fine


@pytest.mark.parametrize(
    ("percent", "floor", "maximum", "is_fine"),
    [
        ("0", "0.5", "2", True),
        ("0", "0.501", "2", False),
        ("24", "0.01", "1", True),
        ("24", "0.011", "1", False),
    ],
)
def test_u_is_at_most_a_quarter_of_the_limit(percent: str, floor: str, maximum: str, is_fine: bool) -> None:
    """4:1, ANSI/NCSL Z540.3-2006; from memory. U = percent of the limit and the floor, no step stated."""
    found = resolve(Limit(maximum=mohm(maximum)), meter(percent, floor))
    assert found is not None and found.is_fine is is_fine
    assert found.expanded == (Decimal(percent) / 100 * Decimal(maximum) + Decimal(floor)) / 1000


@pytest.mark.parametrize("top", ["2.5", "2.4"])
def test_a_window_without_width_is_told_by_no_meter(top: str) -> None:
    """A route has none, an inserted point in a trail made by hand may: its page opens all the same."""
    window = Limit(minimum=mohm("2.5"), maximum=mohm(top))
    fine = meter("1", "0.01", "0.01")
    assert resolve(window, fine) is None
    assert finest(window, [fine]) is None
    assert coarse_words([point("X01", limit=window)], fine) == ""


def test_a_window_is_told_by_its_width_at_the_worse_end() -> None:
    """1 to 1.2 mohm leave 0.2: a step of 0.02 just does, U of 0.06 does not, though it would for 1 mohm."""
    window = Limit(minimum=mohm("1"), maximum=mohm("1.2"))
    found = resolve(window, meter("5", "0", "0.02"))
    assert found is not None
    assert (found.room, found.at) == (Decimal("0.0002"), mohm("1.2"))
    assert not found.is_fine
    small = resolve(window, meter("1", "0", "0.02"))
    assert small is not None and small.is_fine


def test_a_least_value_is_told_at_that_value() -> None:
    found = resolve(Limit(minimum=mohm("1000")), meter("1", "1", "1"))
    assert found is not None and found.is_fine and found.at == mohm("1000")


def test_nothing_is_said_without_a_bound_or_a_stated_accuracy() -> None:
    assert resolve(Limit(maximum=mohm("1")), Instrument("m", "")) is None
    assert resolve(Limit(), meter("1", "0.1", "0.1")) is None
    assert resolve(Limit(minimum=mohm("0")), meter("1", "0.1", "0.1")) is None
    assert finest(Limit(maximum=mohm("1")), [Instrument("m", "")]) is None


def test_the_finest_is_one_that_does_where_any_does() -> None:
    """``coarse`` has the smaller U and too large a step; ``fine`` does both."""
    coarse, fine = meter("0", "0.0001", "0.2", "coarse"), meter("0", "0.2", "0.01", "fine")
    found = finest(Limit(maximum=mohm("1")), [coarse, Instrument("untold", ""), fine])
    assert found is not None and found.is_fine and found.instrument is fine


def test_the_words_for_a_meter_that_is_too_coarse() -> None:
    """One step of 1 mohm against limits of 2.5 and 50 mohm: too coarse for the first alone."""
    bench = meter("0.01", "0.001", "1")
    points = [point("SW-01"), point("SW-02", limit=Limit(maximum=mohm("50")))]
    assert coarse_words(points, bench) == (
        "TOO COARSE for 1 of 2 limits: one step is 1 mΩ, SW-01 allows 2.5 mΩ"
    )
    assert coarse_words(points[1:], bench) == ""
    assert coarse_words(points, Instrument("m", "")) == ""  # nothing is known of it
    rough = meter("50", "0.001")
    assert "its uncertainty is 1.3 mΩ, SW-01 allows 2.5 mΩ" in coarse_words(points, rough)
