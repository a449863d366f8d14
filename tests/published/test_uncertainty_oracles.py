"""Uncertainty and decision rules against independent libraries: ``uncertainties`` (linear propagation)
and ``scipy.stats`` (normal law, numerical integration), on EA-4/02 and on random inputs."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.decision import conformance_probability, false_accept_risk
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy, Budget, Contribution, Spread, combine_standards
from fieldtui.core.plan.route import Limit
from fieldtui.core.verdict.judging import conformance

uncertainties = pytest.importorskip("uncertainties")
stats = pytest.importorskip("scipy.stats")
# A half width of nought is an exact value here, and the library says that it has its doubts of those.
pytestmark = pytest.mark.filterwarnings("ignore:Using UFloat objects with std_dev==0")

# Standard deviation of each law over its half width, from its density (JCGM 100:2008 4.3.7, 4.3.9).
LAWS = {
    Spread.NORMAL: 1.0,
    Spread.RECTANGULAR: float(stats.uniform(-1, 2).std()),
    Spread.TRIANGULAR: float(stats.triang(0.5, -1, 2).std()),
    Spread.U_SHAPED: float(stats.arcsine(-1, 2).std()),
}


def test_a_resistor_by_its_model_function() -> None:
    """EA-4/02 example S3 (result seen in a public copy): 10 000.178 ohm, u 8.33 mohm, from the model
    R_X = (R_S + dR_D + dR_TS) r_C r - dR_TX and the linear propagation of another library."""

    def ufloat(value: float, half_width: float, law: Spread = Spread.NORMAL) -> object:
        return uncertainties.ufloat(value, half_width * LAWS[law])

    standard = ufloat(10000.053, 2.5e-3)
    drift = ufloat(0.020, 10e-3, Spread.RECTANGULAR)
    warmth = ufloat(0, 2.75e-3, Spread.RECTANGULAR)
    unknown = ufloat(0, 5.5e-3, Spread.RECTANGULAR)
    parasitic = ufloat(1, 1e-6, Spread.TRIANGULAR)
    ratio = ufloat(1.0000105, 0.07e-6)
    found = (standard + drift + warmth) * parasitic * ratio - unknown  # type: ignore[operator]
    assert found.nominal_value == pytest.approx(10000.178, abs=5e-4)
    assert round(found.std_dev * 1000, 2) == 8.33
    by_budget = Budget(
        (
            Contribution("standard resistor", Decimal("2.5e-3"), sensitivity=Decimal("1.0000105")),
            Contribution("drift", Decimal("10e-3"), Spread.RECTANGULAR, Decimal("1.0000105")),
            Contribution("its temperature", Decimal("2.75e-3"), Spread.RECTANGULAR, Decimal("1.0000105")),
            Contribution("the other's", Decimal("5.5e-3"), Spread.RECTANGULAR, Decimal(-1)),
            Contribution("parasitics", Decimal("1e-6"), Spread.TRIANGULAR, Decimal("10000.178")),
            Contribution("ratio", Decimal("0.07e-6"), sensitivity=Decimal("10000.073")),
        )
    )
    assert float(by_budget.standard) == pytest.approx(found.std_dev, rel=1e-9)


parts = st.builds(
    Contribution,
    st.just("part"),
    st.decimals("0", "10", places=6),
    st.sampled_from(Spread),
    st.decimals("-1000", "1000", places=3),
)


@given(st.lists(parts, min_size=1, max_size=8), st.decimals("1", "3", places=2))
@settings(max_examples=150, deadline=None)
def test_any_budget_is_what_linear_propagation_gives(contributions: list[Contribution], k: Decimal) -> None:
    total = sum(
        float(each.sensitivity) * uncertainties.ufloat(0, float(each.half_width) * LAWS[each.spread])
        for each in contributions
    )
    found = Budget(tuple(contributions), k)
    assert float(found.standard) == pytest.approx(total.std_dev, rel=1e-9, abs=1e-15)
    assert float(found.expanded) == pytest.approx(float(k) * total.std_dev, rel=1e-9, abs=1e-15)


accuracies = st.builds(
    Accuracy,
    st.decimals("0", "5", places=2),
    st.builds(Resistance, st.decimals("0", "1", places=3), st.just(Unit.MOHM)),
    st.none() | st.builds(Resistance, st.decimals("0", "0.1", places=3), st.just(Unit.MOHM)),
    st.decimals("1", "3", places=1),
)


@given(accuracies, st.decimals("0.001", "1000", places=3))
@settings(max_examples=150, deadline=None)
def test_a_reading_s_budget_is_its_display_step_and_its_stated_accuracy(
    accuracy: Accuracy, mohm: Decimal
) -> None:
    reading = Resistance(mohm, Unit.MOHM)
    stated = (float(accuracy.percent) / 100 * float(mohm) + float(accuracy.floor.value)) * 1e-3
    step = float(accuracy.resolution.value) if accuracy.resolution is not None else 0.001
    value = uncertainties.ufloat(0, stated / float(accuracy.coverage))
    value += uncertainties.ufloat(0, step * 1e-3 / math.sqrt(12))  # a rectangle of the step's width
    budget = accuracy.budget(reading)
    assert float(budget.standard) == pytest.approx(value.std_dev, rel=1e-9, abs=1e-18)
    assert budget.coverage == accuracy.coverage


@given(
    st.decimals("-100", "100", places=3),
    st.decimals("0.001", "50", places=3),
    st.none() | st.decimals("-100", "100", places=3),
    st.none() | st.decimals("0", "100", places=3),
)
@settings(max_examples=200, deadline=None)
def test_any_conformance_probability(
    value: Decimal, standard: Decimal, lower: Decimal | None, width: Decimal | None
) -> None:
    """JCGM 106:2012 7.3 against scipy.stats.norm."""
    upper = None if width is None else (lower or Decimal(0)) + width
    law = stats.norm(float(value), float(standard))
    expected = (1.0 if upper is None else law.cdf(float(upper))) - (
        0.0 if lower is None else law.cdf(float(lower))
    )
    found = conformance_probability(value, standard, lower, upper)
    assert found == pytest.approx(expected, abs=1e-12)


@given(accuracies, st.decimals("0.001", "10", places=3), st.decimals("0.001", "10", places=3))
@settings(max_examples=100, deadline=None)
def test_the_conformance_of_a_reading(accuracy: Accuracy, mohm: Decimal, bound: Decimal) -> None:
    reading, limit = Resistance(mohm, Unit.MOHM), Limit(Resistance(bound, Unit.MOHM))
    standard = float(accuracy.budget(reading).standard)
    expected = (
        stats.norm.cdf(float(bound) * 1e-3, float(mohm) * 1e-3, standard) if standard else mohm <= bound
    )
    assert conformance(limit, reading, accuracy) == pytest.approx(float(expected), abs=1e-9)


@pytest.mark.parametrize("factor", [0.0, 0.25, 0.5, 0.83, 1.0, 1.5, 2.0])
def test_the_risk_at_the_acceptance_limit_is_the_tail_beyond_the_tolerance_limit(factor: float) -> None:
    """ILAC-G8:09/2019 table 1, by numerical integration: y on TL - r U, the share above TL."""
    limit, expanded = 2.5, 0.1
    read = limit - factor * expanded
    tail = stats.norm(read, expanded / 2)
    grid = [limit + place * 1e-4 for place in range(10_000)]
    risk = sum((tail.pdf(grid) * 1e-4).tolist()) - tail.pdf(limit) * 0.5e-4
    assert false_accept_risk(factor) == pytest.approx(risk, abs=1e-6)
    assert false_accept_risk(factor) == pytest.approx(float(tail.sf(limit)), abs=1e-12)


@given(st.lists(st.decimals("0", "10", places=6), max_size=10))
def test_the_root_of_the_sum_of_squares(standards: list[Decimal]) -> None:
    assert float(combine_standards(standards)) == pytest.approx(math.hypot(*map(float, standards)), rel=1e-12)
