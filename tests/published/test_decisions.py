"""Verdicts and outlier scores against published figures."""

from __future__ import annotations

import statistics
from decimal import Decimal

import pytest

from fieldtui.core.doubts import OUTLIER_Z, robust_spread
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit
from fieldtui.core.verdict.judging import combine, conformance, judge
from fieldtui.core.verdict.temperature import judged_value
from tests.core.walks import point

METER = Accuracy(percent=Decimal(0), floor=Resistance(Decimal("0.10"), Unit.MOHM),
                 resolution=Resistance(Decimal(0), Unit.MOHM))  # fmt: skip


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


@pytest.mark.parametrize(
    ("value", "verdict", "probability"),
    [
        ("2.30", "pass", 0.99997),
        ("2.40", "pass", 0.97725),
        ("2.45", "conditional pass", 0.84134),
        ("2.50", "conditional pass", 0.5),
        ("2.55", "conditional fail", 0.15866),
        ("2.60", "conditional fail", 0.02275),
        ("2.61", "fail", 0.01390),
    ],
)
def test_four_states(value: str, verdict: str, probability: float) -> None:
    """ILAC-G8:09/2019 4.2.3 (text seen in a public copy): TL 2.5, U 0.10 (k = 2), w = U; computed."""
    limit = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.FOUR_STATES))
    assert judge(limit, [mohm(value)], accuracy=METER).value == verdict
    assert conformance(limit, mohm(value), METER) == pytest.approx(probability, abs=5e-6)


@pytest.mark.parametrize(("value", "verdict"), [("2.40", "pass"), ("2.41", "fail"), ("2.50", "fail")])
def test_guard_band(value: str, verdict: str) -> None:
    """ILAC-G8:09/2019 4.2.2: acceptance limit AL = TL - U."""
    limit = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.GUARDED))
    assert judge(limit, [mohm(value)], accuracy=METER).value == verdict


def test_a_narrower_guard_band() -> None:
    """ILAC-G8:09/2019 table 1: w = 0.83 U."""
    limit = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.GUARDED, Decimal("0.83")))
    verdicts = [judge(limit, [mohm(value)], accuracy=METER).value for value in ("2.417", "2.418")]
    assert verdicts == ["pass", "fail"]


def test_modified_z_score() -> None:
    """Iglewicz and Hoaglin 1993: 0.6745 and 3.5; the data's figures computed, one outlier."""
    values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    middle = statistics.median(values)
    spread = robust_spread(values, middle)
    assert middle == pytest.approx(201.37)
    assert spread * 0.6745 == pytest.approx(0.995)
    scores = [(value - middle) / spread for value in values]
    assert scores[-1] == pytest.approx(29.963, abs=0.0005)
    assert [abs(score) > OUTLIER_Z for score in scores] == [False] * 7 + [True]


def test_four_wire_readings_with_the_current_reversed() -> None:
    """R 2.5 mohm, thermal voltage 50 uV, I 1 A: 2.55 and 2.45 one way each, 2.50 together (computed).

    With 5 uV of drift a step two readings give 2.4975 and three 2.5000 (computed).
    """
    milli = Decimal("0.001")
    assert combine([mohm("2.55"), mohm("2.45")], "mean") == Decimal("2.50") * milli
    drifting = [mohm("2.550"), mohm("2.445"), mohm("2.560")]
    assert combine(drifting[:2], "mean") == Decimal("2.4975") * milli
    assert combine(drifting, "drift-free") == Decimal("2.5000") * milli


def test_a_warm_copper_bond() -> None:
    """alpha20 0.00393/K (IEC 60028): 2.600 mohm at 35 C is 2.45526 mohm at 20 C (computed)."""
    warm = point("SW-01", correct_to_20=True)
    assert judged_value(warm, mohm("2.600"), Decimal(35)).value.digits == "2.45526"
