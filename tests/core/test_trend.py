"""Trends: a date only where the data carry it, and why not where they do not."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.between.history import Seen
from fieldtui.core.between.trend import FURTHEST, Sample, Trend, Withheld, find_trend, find_trends
from fieldtui.core.plan.route import RECORD_ONLY, Limit
from tests.core.history_fixtures import LOWER, START, UPPER, WINDOW, mohm, seen

YEAR = 365


def trend(*values: str, limit: Limit = UPPER, u: str = "", every: float = YEAR) -> Trend:
    return trend_of(*[seen(value, limit=limit, u=u, days=every * i) for i, value in enumerate(values)])


def trend_of(*points: Seen) -> Trend:
    return find_trend([_sample(f"S{index}", point) for index, point in enumerate(points)])


def _sample(session: str, point: Seen) -> Sample:
    assert point.reading is not None
    return Sample(session, point, point.reading)


def test_a_clear_rise_gives_a_date() -> None:
    """1.50 to 2.10 in three years, 0.2 a year: 2.5 is met two years after the last survey."""
    found = trend("1.50", "1.70", "1.90", "2.10")
    assert found.withheld is None and found.forecast is not None
    assert abs(found.forecast.reached - (START + timedelta(days=5 * YEAR))) < timedelta(days=1)
    assert START + timedelta(days=3 * YEAR) < found.forecast.earliest < found.forecast.reached
    assert found.forecast.bound == mohm("2.5")


def test_from_the_earliest_date_on_the_interval_holds_the_limit() -> None:
    found = trend("1.50", "1.74", "1.88", "2.10", "2.27")
    assert found.forecast is not None and found.band is not None
    day = (found.forecast.earliest - START) / timedelta(days=1)
    assert found.band.predict(day).high == pytest.approx(0.0025, rel=1e-9)
    assert found.band.predict(day - 1).high < 0.0025


def test_a_fall_is_held_against_the_minimum() -> None:
    found = trend("5.0", "4.0", "3.1", "2.0", limit=LOWER)
    assert found.forecast is not None and found.band is not None
    day = (found.forecast.earliest - START) / timedelta(days=1)
    assert found.band.predict(day).low == pytest.approx(0.001, rel=1e-9)
    assert found.forecast.bound == mohm("1.0")


def test_a_window_is_held_against_the_bound_ahead() -> None:
    rising = trend("1.5", "2.0", "2.4", "2.8", limit=WINDOW)
    falling = trend("2.5", "2.1", "1.6", "1.2", limit=WINDOW)
    assert rising.forecast is not None and rising.forecast.bound == mohm("3.0")
    assert falling.forecast is not None and falling.forecast.bound == mohm("1.0")


@pytest.mark.parametrize(
    ("values", "limit", "why"),
    [
        (("1.50", "1.70", "1.90"), UPPER, Withheld.FEW),
        (("1.50",), UPPER, Withheld.FEW),
        (("1.50", "1.70", "1.90", "2.10"), RECORD_ONLY, Withheld.NO_LIMIT),
        (("1.90", "2.10", "2.30", "2.50"), UPPER, Withheld.REACHED),
        (("1.38", "1.38", "1.38", "1.38"), UPPER, Withheld.FLAT),
        (("1.38", "1.39", "1.37", "1.40"), UPPER, Withheld.FLAT),
        (("2.10", "1.90", "1.70", "1.50"), UPPER, Withheld.AWAY),
        (("1.50", "1.53", "1.56", "1.59"), UPPER, Withheld.FAR),
    ],
)  # fmt: skip
def test_why_no_date_is_said(values: tuple[str, ...], limit: Limit, why: Withheld) -> None:
    found = trend(*values, limit=limit)
    assert (found.forecast, found.withheld) == (None, why)


def test_surveys_at_one_time_have_no_trend() -> None:
    found = trend("1.5", "1.6", "1.7", "1.8", every=0)
    assert (found.line, found.band, found.withheld) == (None, None, Withheld.SAME_TIME)


def test_one_leap_in_many_surveys_is_no_trend() -> None:
    """Nine steady surveys, then a leap at the far end of a long gap: the median of slopes is not fooled."""
    steady = [seen("1.00", days=day) for day in range(9)]
    found = trend_of(*steady, seen("1.80", days=3000))
    assert found.line is not None and found.median_line is not None
    assert (found.line.slope > 0, found.median_line.slope) == (True, 0)
    assert found.withheld is Withheld.DISAGREE


def test_values_on_a_line_by_rounding_promise_no_more_than_the_display() -> None:
    """Steps of one count each: the line fits without residual, the display's step is its scatter."""
    found = trend("1.0", "1.1", "1.2", "1.3")
    assert found.line is not None and found.line.residual_sd < 1e-12
    assert found.band is not None and found.band.scatter == pytest.approx(0.0001 / math.sqrt(12))


def test_a_rise_within_the_meters_uncertainty_is_none() -> None:
    assert trend("1.50", "1.70", "1.90", "2.10").withheld is None
    assert trend("1.50", "1.70", "1.90", "2.10", u="0.30").withheld is Withheld.FLAT


def test_a_repaired_bond_begins_anew() -> None:
    worn = [seen(value, days=YEAR * i) for i, value in enumerate(["1.8", "2.0", "2.2", "2.4"])]
    mended = seen("1.0", days=4 * YEAR, retest=True)
    after = seen("1.1", days=5 * YEAR)
    found = trend_of(*worn, mended, after)
    assert [sample.reading.value.digits for sample in found.samples] == ["1.0", "1.1"]
    assert (found.left_out, found.withheld) == (4, Withheld.FEW)


def test_the_limit_of_the_last_survey_counts() -> None:
    points = [seen(value, days=YEAR * i) for i, value in enumerate(["1.50", "1.70", "1.90"])]
    found = trend_of(*points, seen("2.10", days=3 * YEAR, limit=Limit(maximum=mohm("3.0"))))
    assert found.forecast is not None and found.forecast.bound == mohm("3.0")


def test_a_bond_mended_is_judged_by_the_limit_of_a_first_reading_again() -> None:
    points = [seen(value, days=YEAR * i) for i, value in enumerate(["1.50", "1.70", "1.90", "2.10"])]
    mended = replace(points[-1], limit=Limit(maximum=mohm("2.2")))
    found = trend_of(*points[:-1], mended)
    assert found.forecast is not None and found.forecast.bound == mohm("2.5")


@pytest.mark.parametrize(
    ("values", "is_said"), [("1.65 1.75 1.85 1.95", True), ("1.55 1.65 1.75 1.85", False)]
)
def test_a_date_lies_within_twice_the_time_surveyed(values: str, is_said: bool) -> None:
    """Three years surveyed, 0.1 a year: 5.5 years ahead is said, 6.5 is not."""
    found = trend(*values.split())
    assert (found.forecast is not None, found.withheld is Withheld.FAR) == (is_said, not is_said)


def test_a_date_beyond_the_calendar_is_too_far() -> None:
    points = [seen(value, days=900_000 * i) for i, value in enumerate(["1.50", "1.70", "1.90", "2.10"])]
    found = trend_of(*points)
    assert (found.withheld, found.next_survey()) == (Withheld.FAR, None)


def test_the_next_survey_is_one_mean_interval_on() -> None:
    coming = trend("1.50", "1.70", "1.90", "2.10").next_survey()
    assert coming is not None
    assert coming[0] == START + timedelta(days=4 * YEAR)
    assert coming[1].value == pytest.approx(0.0023)
    assert coming[1].low < 0.0023 < coming[1].high


def test_surveys_are_sorted_into_points_and_unread_ones_left_aside() -> None:
    found = find_trends(
        [
            ("late", [seen("1.5", point="A", days=9), seen(point="B")]),
            ("early", [seen("1.4", point="A"), seen("2.0", point="C")]),
        ]
    )
    assert [(each.point, [sample.session for sample in each.samples]) for each in found] == [
        ("A", ["early", "late"]),
        ("C", ["early"]),
    ]


@given(
    st.lists(st.integers(1, 4000), min_size=1, max_size=9),
    st.sampled_from([UPPER, LOWER, WINDOW, RECORD_ONLY]),
    st.randoms(use_true_random=False),
)
def test_a_date_is_said_only_where_the_data_carry_it(milli: list[int], limit: Limit, chance: object) -> None:
    points = [seen(f"{each / 1000:.3f}", limit=limit, days=90 * i) for i, each in enumerate(milli)]
    samples = [_sample(str(index), point) for index, point in enumerate(points)]
    found = find_trend(samples)
    assert (found.forecast is None) is (found.withheld is not None)
    chance.shuffle(samples)  # type: ignore[attr-defined]
    assert find_trend(samples) == found
    if found.forecast is not None:
        assert found.band is not None
        last = found.last.reading.when
        assert len(milli) >= 4 and found.band.slope.is_off_zero
        assert last <= found.forecast.earliest <= found.forecast.reached
        assert found.forecast.reached - last <= FURTHEST * (last - START) + timedelta(seconds=1)
