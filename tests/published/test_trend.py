"""Lines and Student's t against NIST's certified values and a reference library."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.between.line import fit_line, fit_median_line
from fieldtui.core.between.student import student_quantile, student_tail

numpy = pytest.importorskip("numpy")
stats = pytest.importorskip("scipy.stats")


def norris() -> tuple[list[float], list[float]]:
    """The 36 observations of Norris.dat, lines 61 to 96: y, then x."""
    text = files("scipy.stats.tests").joinpath("data/nist_linregress/Norris.dat").read_text("ascii")
    rows = [line.split() for line in text.splitlines()[60:96]]
    assert len(rows) == 36
    return [float(x) for _, x in rows], [float(y) for y, _ in rows]


def test_norris() -> None:
    """NIST StRD, linear regression, Norris: certified values."""
    line = fit_line(*norris())
    assert line is not None
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.slope_sd(line.residual_sd) == pytest.approx(0.429796848199937e-03, rel=1e-9)
    # The certified standard deviation of the intercept: of the line at 0, without the new reading's own.
    at_zero = line.prediction_sd(0, line.residual_sd) ** 2 - line.residual_sd**2
    assert at_zero**0.5 == pytest.approx(0.232818234301152, rel=1e-9)


_VALUES = st.floats(-1000, 1000).map(lambda number: round(number, 2))


@given(st.lists(st.tuples(_VALUES, _VALUES), min_size=3, max_size=15))
@settings(max_examples=60, deadline=None)
def test_median_of_slopes(points: list[tuple[float, float]]) -> None:
    """Theil and Sen, against scipy.stats.theilslopes with its ``separate`` intercept."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    found = fit_median_line(xs, ys)
    if found is None:
        assert len(set(xs)) == 1
        return
    with numpy.errstate(invalid="ignore"):  # of its interval, where many x are equal
        expected = stats.theilslopes(ys, xs, method="separate")
    assert found.slope == pytest.approx(expected.slope, rel=1e-9, abs=1e-9)
    assert found.intercept == pytest.approx(expected.intercept, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 10, 34, 100, 1000, 10_000])
def test_quantiles_of_students_t(degrees: int) -> None:
    """Against scipy.stats.t, with the error that the code states."""
    for probability in (1e-9, 1e-4, 0.025, 0.1, 0.4, 0.6, 0.9, 0.975, 0.995, 0.9999):
        expected = float(stats.t.ppf(probability, degrees))
        assert student_quantile(probability, degrees) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("degrees", [1, 2, 7, 34, 1000])
def test_tails_of_students_t(degrees: int) -> None:
    """Against scipy.stats.t, from the middle to far out."""
    for t in (0.0, 0.01, 0.1, 1.0, 2.5, 8.0, 40.0, 1e4):
        assert student_tail(t, degrees) == pytest.approx(float(stats.t.sf(t, degrees)), rel=1e-10, abs=1e-290)


@given(st.lists(st.tuples(_VALUES, _VALUES), min_size=3, max_size=15))
@settings(max_examples=60, deadline=None)
def test_least_squares(points: list[tuple[float, float]]) -> None:
    """Against scipy.stats.linregress."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    found = fit_line(xs, ys)
    if found is None:
        assert len(set(xs)) == 1
        return
    expected = stats.linregress(xs, ys)
    assert found.slope == pytest.approx(expected.slope, rel=1e-8, abs=1e-8)
    assert found.intercept == pytest.approx(expected.intercept, rel=1e-8, abs=1e-6)
