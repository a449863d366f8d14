"""Uncertainty budgets and decision rules against published figures."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import conformance_probability, false_accept_risk
from fieldtui.core.measurement.uncertainty import Budget, Contribution, Spread

MILLI = Decimal("0.001")


def test_calibration_of_a_10_kilohm_resistor() -> None:
    """EA-4/02 example S3 (result seen in a public copy): u(R_X) = 8.33 mohm at 10 kohm."""
    budget = Budget(
        (
            Contribution("standard resistor", Decimal("2.5") * MILLI),
            Contribution("drift of the standard", Decimal("10") * MILLI, Spread.RECTANGULAR),
            Contribution("temperature of the standard", Decimal("2.75") * MILLI, Spread.RECTANGULAR),
            Contribution("temperature of the unknown", Decimal("5.5") * MILLI, Spread.RECTANGULAR),
            Contribution("parasitics", Decimal("1e-6"), Spread.TRIANGULAR, sensitivity=Decimal(10000)),
            Contribution("ratio", Decimal("0.07e-6"), sensitivity=Decimal(10000)),
        )
    )
    assert round(budget.standard / MILLI, 2) == Decimal("8.33")
    assert round(budget.expanded / MILLI) == 17


@pytest.mark.parametrize(
    ("value", "probability"),
    [
        ("2.30", 0.99997),
        ("2.40", 0.97725),
        ("2.45", 0.84134),
        ("2.50", 0.5),
        ("2.55", 0.15866),
        ("2.61", 0.01390),
    ],
)
def test_probability_below_an_upper_limit(value: str, probability: float) -> None:
    """ILAC-G8:09/2019 4.2.3 with TL 2.5, U 0.10 (k = 2); probabilities computed from the normal law."""
    found = conformance_probability(Decimal(value), Decimal("0.05"), None, Decimal("2.5"))
    assert found == pytest.approx(probability, abs=5e-6)


@pytest.mark.parametrize(
    ("lower", "upper", "value", "standard", "probability"),
    [
        (None, "-5.40", "-5.47", "0.05", 0.91924),
        ("490", None, "509.7", "8.6", 0.98901),
        ("12.5", "16.3", "13.6", "1.8", 0.66263),
    ],
)
def test_conformance_examples(
    lower: str | None, upper: str | None, value: str, standard: str, probability: float
) -> None:
    """JCGM 106:2012, worked examples (inputs from memory, results computed)."""
    found = conformance_probability(
        Decimal(value),
        Decimal(standard),
        Decimal(lower) if lower else None,
        Decimal(upper) if upper else None,
    )
    assert found == pytest.approx(probability, abs=5e-6)


@pytest.mark.parametrize(("factor", "risk"), [(1.5, 0.00135), (1.0, 0.02275), (0.83, 0.04846), (0.0, 0.5)])
def test_false_accept_risk_by_guard_band(factor: float, risk: float) -> None:
    """ILAC-G8:09/2019 table 1, risk at the acceptance limit."""
    assert false_accept_risk(factor) == pytest.approx(risk, abs=5e-6)
