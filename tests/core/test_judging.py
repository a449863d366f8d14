"""Verdicts by exhaustive enumeration against fractions: comparator, unit, window, exactly on the limit."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import product
from statistics import median

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit, Rule
from fieldtui.core.verdict.judging import Verdict, combine, judge, judge_ohms, meets
from tests.strategies import LOWER, UPPER, limits, resistances, rules

HOLDS = {
    "<": lambda value, bound: value < bound,
    "<=": lambda value, bound: value <= bound,
    ">": lambda value, bound: value > bound,
    ">=": lambda value, bound: value >= bound,
}


def fraction(resistance: Resistance) -> Fraction:
    return Fraction(resistance.value) * Fraction(10) ** resistance.unit.exponent


def expected(limit: Limit, ohms: Fraction) -> Verdict:
    """The verdict, from fractions and the comparator's own sign."""
    if limit.record_only:
        return Verdict.NOTED
    bounds = [(limit.maximum, limit.upper), (limit.minimum, limit.lower)]
    held = [HOLDS[sign.value](ohms, fraction(bound)) for bound, sign in bounds if bound is not None]
    return Verdict.PASS if all(held) else Verdict.FAIL


def in_unit(ohms: Fraction, unit: Unit) -> Resistance:
    scaled = ohms / Fraction(10) ** unit.exponent
    return Resistance(Decimal(scaled.numerator) / Decimal(scaled.denominator), unit)


def test_every_comparator_unit_and_window_just_below_on_and_just_above() -> None:
    low, high = Fraction(1, 2), Fraction(5, 2)
    values = [bound + step * Fraction(1, 10**9) for bound in (low, high) for step in (-1, 0, 1)]
    tried = 0
    for upper, lower, has_max, has_min in product(UPPER, LOWER, (True, False), (True, False)):
        for bound_unit, value_unit, value in product(Unit, Unit, values):
            limit = Limit(
                maximum=in_unit(high, bound_unit) if has_max else None,
                minimum=in_unit(low, bound_unit) if has_min else None,
                upper=upper,
                lower=lower,
                record_only=not (has_max or has_min),
            )
            found = judge_ohms(limit, in_unit(value, value_unit).ohms)
            assert found is expected(limit, value), (limit, value)
            tried += 1
    assert tried == 2 * 2 * 4 * 5 * 5 * 6


@pytest.mark.parametrize("comparator", Comparator)
@given(value=resistances(), bound=resistances())
def test_each_comparator_means_its_sign(comparator: Comparator, value: Resistance, bound: Resistance) -> None:
    found = meets(value.ohms, comparator, bound.ohms)
    assert found == HOLDS[comparator.value](fraction(value), fraction(bound))


@given(resistances())
def test_exactly_on_the_limit_only_the_comparator_decides(bound: Resistance) -> None:
    for digits in (bound.digits, bound.digits + ("0" if "." in bound.digits else ".000")):
        ohms = Resistance(Decimal(digits), bound.unit).ohms
        assert judge_ohms(Limit(maximum=bound, upper=Comparator.LESS), ohms) is Verdict.FAIL
        assert judge_ohms(Limit(maximum=bound, upper=Comparator.AT_MOST), ohms) is Verdict.PASS
        assert judge_ohms(Limit(minimum=bound, lower=Comparator.MORE), ohms) is Verdict.FAIL
        assert judge_ohms(Limit(minimum=bound, lower=Comparator.AT_LEAST), ohms) is Verdict.PASS


def test_a_limit_without_bounds_judges_nothing() -> None:
    assert judge_ohms(RECORD_ONLY, Decimal("1E9")) is Verdict.NOTED
    assert judge_ohms(Limit(), Decimal(0)) is Verdict.NOTED
    over = Limit(maximum=parse_resistance("1", Unit.OHM), record_only=True)
    assert judge_ohms(over, Decimal(5)) is Verdict.NOTED


def by_rule(ohms: list[Fraction], rule: Rule) -> Fraction:
    if rule == "mean":
        return sum(ohms, Fraction(0)) / len(ohms)
    return max(ohms) if rule == "max" else Fraction(median(ohms))


FAR_APART = [
    Resistance(Decimal("999999999.999999999"), Unit.MEGOHM),
    Resistance(Decimal("0.000000001"), Unit.UOHM),
]


@given(limits(), st.lists(resistances(), min_size=1, max_size=5), rules)
@example(Limit(maximum=Resistance(Decimal("499999999.9999999995"), Unit.MEGOHM)), FAR_APART, "mean")
@example(Limit(maximum=Resistance(Decimal("499999999.9999999995"), Unit.MEGOHM)), FAR_APART, "median")
def test_a_take_is_judged_exactly(limit: Limit, readings: list[Resistance], rule: Rule) -> None:
    ohms = [fraction(reading) for reading in readings]
    if rule == "max":  # every one of them must hold, so that a minimum is held by the worst too
        each = {expected(limit, value) for value in ohms}
        assert judge(limit, readings, rule) is (Verdict.FAIL if Verdict.FAIL in each else each.pop())
    else:
        assert judge(limit, readings, rule) is expected(limit, by_rule(ohms, rule))


@given(st.lists(resistances(), min_size=1, max_size=5), rules)
def test_what_a_take_reads_is_what_its_rule_says(readings: list[Resistance], rule: Rule) -> None:
    found = Fraction(combine(readings, rule))
    wanted = by_rule([fraction(reading) for reading in readings], rule)
    if rule == "mean":  # thirds have no end in decimals
        assert abs(found - wanted) <= abs(wanted) / 10**50
    else:
        assert found == wanted


@pytest.mark.parametrize(
    ("rule", "values", "verdict"),
    [
        ("max", "2.4 2.6 2.4", "fail"),
        ("mean", "2.4 2.6 2.5", "pass"),
        ("mean", "2.5 2.5 2.6", "fail"),
        ("median", "2.4 9.9 2.5", "pass"),
        ("median", "2.4 2.6", "pass"),
        ("median", "2.5 2.6", "fail"),
    ],
)
def test_rules_by_example(rule: Rule, values: str, verdict: str) -> None:
    limit = Limit(maximum=parse_resistance("2.5", Unit.MOHM))
    readings = [parse_resistance(value, Unit.MOHM) for value in values.split()]
    assert judge(limit, readings, rule).value == verdict
