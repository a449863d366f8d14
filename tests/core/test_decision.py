"""Verdicts under every decision rule, by exhaustive enumeration against fractions."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import Verdict, conformance, judge, judge_ohms, lacks_accuracy
from tests.core.walks import Walk, point
from tests.strategies import LOWER, UPPER, limits, resistances

HOLDS = {
    "<": lambda value, bound: value < bound,
    "<=": lambda value, bound: value <= bound,
    ">": lambda value, bound: value > bound,
    ">=": lambda value, bound: value >= bound,
}
LOW, HIGH, U = Fraction(1, 2), Fraction(5, 2), Fraction(1, 10)
SLIVER = Fraction(1, 10**9)


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


def in_unit(ohms: Fraction, unit: Unit) -> Resistance:
    scaled = ohms / Fraction(10) ** unit.exponent
    return Resistance(Decimal(scaled.numerator) / Decimal(scaled.denominator), unit)


def expected(limit: Limit, ohms: Fraction, band: Fraction) -> Verdict:
    """ILAC-G8:09/2019 4.2 in fractions: the zone a value lies in, counted from the inside."""

    def inside(by: Fraction) -> bool:
        top = limit.maximum is None or HOLDS[limit.upper.value](ohms, HIGH - by)
        return top and (limit.minimum is None or HOLDS[limit.lower.value](ohms, LOW + by))

    match limit.rule.kind:
        case RuleKind.SIMPLE:
            return Verdict.PASS if inside(Fraction(0)) else Verdict.FAIL
        case RuleKind.GUARDED:
            return Verdict.PASS if inside(band) else Verdict.FAIL
        case RuleKind.FOUR_STATES:
            zones = [(band, Verdict.PASS), (Fraction(0), Verdict.CONDITIONAL_PASS)]
            zones.append((-band, Verdict.CONDITIONAL_FAIL))
            return next((verdict for by, verdict in zones if inside(by)), Verdict.FAIL)


def test_every_rule_comparator_unit_and_window_on_and_beside_every_boundary() -> None:
    tried, said = 0, set()
    for kind, factor in product(RuleKind, (Fraction(1), Fraction(83, 100))):
        band = factor * U
        edges = [bound + by for bound in (LOW, HIGH) for by in (-band, Fraction(0), band)]
        values = [edge + side * SLIVER for edge in edges for side in (-1, 0, 1)]
        for upper, lower, shape in product(UPPER, LOWER, ("max", "min", "window")):
            for bound_unit, value_unit, value in product(Unit, Unit, values):
                limit = Limit(
                    maximum=in_unit(HIGH, bound_unit) if shape != "min" else None,
                    minimum=in_unit(LOW, bound_unit) if shape != "max" else None,
                    upper=upper,
                    lower=lower,
                    rule=DecisionRule(kind, Decimal(factor.numerator) / factor.denominator),
                )
                ohms, expanded = in_unit(value, value_unit).ohms, Decimal("0.1")
                found = judge_ohms(limit, ohms, expanded)
                assert found is expected(limit, value, band), (limit, value)
                said.add((kind, found))
                tried += 1
    assert tried == 3 * 2 * 2 * 2 * 3 * 5 * 5 * 18
    assert len(said) == 2 + 2 + 4  # every word of every rule was said


@given(limits(), resistances())
def test_without_an_accuracy_every_rule_is_simple_and_that_is_told(limit: Limit, reading: Resistance) -> None:
    for kind in RuleKind:
        ruled = Limit(
            limit.maximum, limit.minimum, limit.upper, limit.lower, limit.record_only, rule=DecisionRule(kind)
        )
        assert judge(ruled, [reading]) is judge(limit, [reading])
        assert lacks_accuracy(ruled, None) == (limit.judges and kind is not RuleKind.SIMPLE)
        assert not lacks_accuracy(ruled, Accuracy(Decimal(1), mohm("0.1")))


FOUR = Limit(mohm("2.5"), upper=Comparator.LESS, rule=DecisionRule(RuleKind.FOUR_STATES))
EXACT = Accuracy(percent=Decimal(0), floor=mohm("0.10"), resolution=mohm("0"))


@pytest.mark.parametrize(
    ("keyed", "verdict", "state"),
    [
        ("2.30", "pass", State.PASSED),
        ("2.45", "conditional pass", State.PASSED),
        ("2.50", "conditional fail", State.FAILED),  # strictly below is asked for
        ("2.55", "conditional fail", State.FAILED),
        ("2.60", "fail", State.FAILED),
    ],
)
def test_a_conditional_verdict_settles_its_point(keyed: str, verdict: str, state: State) -> None:
    meter = Instrument("meter", "Meter", accuracy=EXACT)
    walk = Walk(point("SW-01", limit=FOUR), "SW-02", instrument=meter).read(keyed)
    assert walk.record(1).verdict.value == verdict
    assert walk.standing("SW-01").state is state
    assert walk.problems == []  # the verdict recomputed is the verdict said
    assert walk.record(1).verdict.is_failed == (state is State.FAILED)


def test_a_verdict_said_by_another_rule_is_reported() -> None:
    meter = Instrument("meter", "Meter", accuracy=EXACT)
    walk = Walk(point("SW-01", limit=FOUR), "SW-02", instrument=meter).read("2.45", verdict=Verdict.PASS)
    assert "the verdict said is pass, the limit gives conditional pass" in walk.problems[0]


def test_the_worst_reading_of_a_take_decides() -> None:
    readings = [mohm("2.30"), mohm("2.55"), mohm("2.45")]
    assert judge(FOUR, readings, "max", EXACT) is Verdict.CONDITIONAL_FAIL
    assert judge(FOUR, readings, "median", EXACT) is Verdict.CONDITIONAL_PASS
    assert judge(FOUR, readings[:1], "mean", EXACT) is Verdict.PASS


def test_where_the_meter_states_no_step_the_digits_keyed_give_it() -> None:
    stated = Accuracy(percent=Decimal(0), floor=mohm("0"))
    limit = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.GUARDED))
    assert judge(limit, [mohm("2.4")], accuracy=stated) is Verdict.PASS  # U = 2 * 0.05 / sqrt 3 = 0.058
    assert judge(limit, [mohm("2.45")], accuracy=stated) is Verdict.PASS
    assert judge(Limit(mohm("2.45"), rule=limit.rule), [mohm("2.4")], accuracy=stated) is Verdict.FAIL
    assert judge(Limit(mohm("2.45"), rule=limit.rule), [mohm("2.400")], accuracy=stated) is Verdict.PASS


def test_conformance_is_told_only_where_something_is_judged_and_stated() -> None:
    assert conformance(FOUR, mohm("2.5"), EXACT) == pytest.approx(0.5)
    assert conformance(FOUR, mohm("2.5"), None) is None
    assert conformance(RECORD_ONLY, mohm("2.5"), EXACT) is None
