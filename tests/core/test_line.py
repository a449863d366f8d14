"""The two lines: what they do with exact, odd and too few points."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.between.line import fit_line, fit_median_line


def test_points_on_a_line_give_it_back() -> None:
    line = fit_line([0, 1, 2, 5], [1, 3, 5, 11])
    assert line is not None
    assert (line.slope, line.intercept, line.residual_sd) == pytest.approx((2, 1, 0))
    assert line.at(10) == pytest.approx(21)


def test_one_odd_value_pulls_the_line_and_not_the_median() -> None:
    xs, ys = [0.0, 1, 2, 3, 4, 5, 6], [0.0, 1, 2, 3, 4, 5, 60]
    line, middle = fit_line(xs, ys), fit_median_line(xs, ys)
    assert line is not None and middle is not None
    assert line.slope > 5
    assert (middle.slope, middle.intercept) == (1, 0)


@pytest.mark.parametrize("xs", [[], [1.0], [341.62, 341.62, 341.62]])
def test_without_two_different_x_there_is_no_line(xs: list[float]) -> None:
    ys = [1.0] * len(xs)
    assert fit_line(xs, ys) is None
    assert fit_median_line(xs, ys) is None


def test_two_points_have_no_residual() -> None:
    line = fit_line([0, 1], [1, 3])
    assert line is not None and line.residual_sd == 0


_VALUES = st.floats(-100, 100).map(lambda number: round(number, 3))


@given(st.lists(st.tuples(_VALUES, _VALUES), min_size=3, max_size=12), st.floats(-50, 50))
def test_a_tilt_of_the_data_tilts_both_lines_by_as_much(
    points: list[tuple[float, float]], tilt: float
) -> None:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    tilted = [y + tilt * x for x, y in points]
    before, after = fit_line(xs, ys), fit_line(xs, tilted)
    middle_before, middle_after = fit_median_line(xs, ys), fit_median_line(xs, tilted)
    if before is None or min(abs(x - y) for x in xs for y in xs if x != y) < 0.01:
        return  # slopes between points almost above each other lose all digits
    assert after is not None and middle_before is not None and middle_after is not None
    size = 1e-6 * (1 + abs(before.slope) + abs(middle_before.slope))
    assert after.slope - before.slope == pytest.approx(tilt, abs=size)
    assert middle_after.slope - middle_before.slope == pytest.approx(tilt, abs=size)
