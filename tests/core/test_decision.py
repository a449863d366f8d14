"""Verdicts under every decision rule, by exhaustive enumeration against fractions."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.account.basis import basis_of
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit, Rule
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.position import State
from fieldtui.core.trail import events as ev
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


@pytest.mark.parametrize("coverage", ["2", "3", "1.96", "1.732"])
def test_u_is_not_rounded_where_k_does_not_divide_it(coverage: str) -> None:
    """2.4 stands on the edge 2.5 less 0.1 at every k: U itself is stated, and not u."""
    stated = Accuracy(Decimal(0), mohm("0.1"), mohm("0"), Decimal(coverage))
    assert stated.expanded(mohm("2.4")) == mohm("0.1").ohms
    for kind, below in ((RuleKind.GUARDED, Verdict.FAIL), (RuleKind.FOUR_STATES, Verdict.CONDITIONAL_PASS)):
        strict = Limit(mohm("2.5"), upper=Comparator.LESS, rule=DecisionRule(kind))
        assert judge(strict, [mohm("2.4")], accuracy=stated) is below
        assert (
            judge(replace(strict, upper=Comparator.AT_MOST), [mohm("2.4")], accuracy=stated) is Verdict.PASS
        )


@given(
    st.decimals(0, 9, places=2),
    st.decimals(0, 1, places=3),
    st.sampled_from(["0", "0.01", "0.5"]),
    resistances(4),
)
def test_u_of_the_verdict_is_that_of_the_budget(
    percent: Decimal, floor: Decimal, step: str, reading: Resistance
) -> None:
    stated = Accuracy(percent, Resistance(floor, Unit.MOHM), mohm(step), Decimal("1.96"))
    expanded = stated.expanded(reading)
    assert abs(expanded - stated.budget(reading).expanded) <= abs(expanded) / 10**20


# --- a take that two meters had part in ---------------------------------------------------------

ROUGH = Instrument("rough", "Rough", unit=Unit.MOHM, accuracy=Accuracy(Decimal(0), mohm("0.5"), mohm("0")))
FINE = Instrument("fine", "Fine", unit=Unit.MOHM, accuracy=Accuracy(Decimal(0), mohm("0.05"), mohm("0")))
SILENT = Instrument("silent", "Silent", unit=Unit.MOHM)
GUARDED = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.GUARDED))


@pytest.mark.parametrize("rule", ["max", "mean", "median"])
@pytest.mark.parametrize(
    ("meters", "verdict"),
    [
        ((ROUGH, FINE), "fail"),  # 2.4 of the first wants 2.9, and the fine one does not make it surer
        ((FINE, ROUGH), "fail"),
        ((FINE, FINE), "pass"),
        ((SILENT, FINE), "pass"),  # simple acceptance, and that is told
        ((FINE, SILENT), "pass"),
    ],
)
def test_a_take_is_no_surer_than_its_less_sure_meter(
    meters: tuple[Instrument, Instrument], verdict: str, rule: Rule
) -> None:
    first, second = meters
    walk = Walk(point("SW-01", limit=GUARDED, repeats=2, rule=rule), "SW-02", instrument=first).read("2.40")
    walk.tell(ev.MeterTaken, ref=second.id, reason="battery", definition=format_meter(second)).read("2.40")
    left = walk.standing("SW-01").as_left
    assert left is not None
    assert (left.verdict.value, walk.problems) == (verdict, [])
    basis = basis_of(walk.survey.points["SW-01"], left, walk.survey.conditions)
    is_silent = SILENT in meters
    assert basis.lacks_accuracy == is_silent
    stated = [meter.accuracy.floor.ohms for meter in meters if meter.accuracy is not None]
    assert basis.expanded == (None if is_silent else max(stated))


def test_u_of_the_largest_reading_is_that_of_the_meter_it_was_read_with() -> None:
    walk = Walk(point("SW-01", limit=GUARDED, repeats=2), "SW-02", instrument=ROUGH).read("1.00")
    walk.tell(ev.MeterTaken, ref="fine", reason="battery", definition=format_meter(FINE)).read("2.40")
    left = walk.standing("SW-01").as_left
    assert left is not None
    assert (left.value, left.verdict) == (mohm("2.40"), Verdict.PASS)
    basis = basis_of(walk.survey.points["SW-01"], left, walk.survey.conditions)
    assert basis.expanded == mohm("0.05").ohms


def test_where_the_meter_states_no_step_the_digits_keyed_give_it() -> None:
    stated = Accuracy(percent=Decimal(0), floor=mohm("0"))
    limit = Limit(mohm("2.5"), rule=DecisionRule(RuleKind.GUARDED))
    assert judge(limit, [mohm("2.4")], accuracy=stated) is Verdict.PASS  # U = 2 * 0.05 / sqrt 3 = 0.058
    assert judge(limit, [mohm("2.45")], accuracy=stated) is Verdict.PASS
    assert judge(Limit(mohm("2.45"), rule=limit.rule), [mohm("2.4")], accuracy=stated) is Verdict.FAIL
    assert judge(Limit(mohm("2.45"), rule=limit.rule), [mohm("2.400")], accuracy=stated) is Verdict.PASS


@pytest.mark.parametrize("keyed", [("2.4", "2.400"), ("2.400", "2.4")])
def test_a_take_is_no_finer_than_its_coarsest_reading(keyed: tuple[str, str]) -> None:
    """U = 2 * 0.05 / sqrt 3 = 0.058 by the one digit, 0.00058 by the three."""
    stated = Accuracy(percent=Decimal(0), floor=mohm("0"))
    limit = Limit(mohm("2.45"), rule=DecisionRule(RuleKind.GUARDED))
    assert judge(limit, [mohm(each) for each in keyed], "mean", stated) is Verdict.FAIL
    assert judge(limit, [mohm("2.400")] * 2, "mean", stated) is Verdict.PASS


def test_conformance_is_told_only_where_something_is_judged_and_stated() -> None:
    assert conformance(FOUR, mohm("2.5"), EXACT) == pytest.approx(0.5)
    assert conformance(FOUR, mohm("2.5"), None) is None
    assert conformance(RECORD_ONLY, mohm("2.5"), EXACT) is None
