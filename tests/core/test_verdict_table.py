"""The whole table of verdicts by enumeration: limit x unit x decision rule x way of taking readings,
exactly on each edge and one step beside it, against fractions and the comparator's own sign.

The oracle shares nothing with the code: ILAC-G8:09/2019 4.2 in fractions, w = r U; a take as its
rule says in words. U is that of a meter that states p % of the reading plus a floor.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import product
from statistics import median

import pytest

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import METHOD_READINGS, METHOD_RULES, Comparator, Limit, Method, Point, Rule
from fieldtui.core.survey.standing import Conditions, judge_take

SIGNS = {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge}
TOP, BOTTOM, FLOOR = Fraction("2.5"), Fraction("0.5"), Fraction("0.1")  # mohm
STEP = Fraction(1, 1000)
MILLI = Fraction(1, 1000)

BOUNDS: list[tuple[str, str]] = [  # comparator of the upper bound, and of the lower; empty for none
    ("<", ""), ("<=", ""), ("", ">"), ("", ">="),
    ("<", ">"), ("<", ">="), ("<=", ">"), ("<=", ">="), ("", ""),
]  # fmt: skip
DECISIONS = [
    SIMPLE,
    DecisionRule(RuleKind.GUARDED),
    DecisionRule(RuleKind.GUARDED, Decimal("0.83")),
    DecisionRule(RuleKind.FOUR_STATES),
    DecisionRule(RuleKind.FOUR_STATES, Decimal("1.5")),
]
METERS = [None, Decimal(0), Decimal(1)]  # percent of the reading; None: no accuracy stated


def exact(number: Fraction) -> Decimal:
    """A fraction that ends in decimals, as one."""
    return Decimal(number.numerator) / Decimal(number.denominator)


def resistance(mohm: Fraction, unit: Unit) -> Resistance:
    return Resistance(exact(mohm * MILLI / Fraction(10) ** unit.exponent), unit)


def make_limit(bounds: tuple[str, str], rule: DecisionRule, unit: Unit) -> Limit:
    upper, lower = bounds
    return Limit(
        maximum=resistance(TOP, unit) if upper else None,
        minimum=resistance(BOTTOM, unit) if lower else None,
        upper=Comparator(upper or "<="),
        lower=Comparator(lower or ">="),
        record_only=bounds == ("", ""),
        rule=rule,
    )


def accuracy_of(percent: Decimal | None) -> Accuracy | None:
    if percent is None:
        return None
    return Accuracy(percent, resistance(FLOOR, Unit.MOHM), Resistance(Decimal(0), Unit.MOHM))


# --- the oracle ----------------------------------------------------------------------------------


def holds(bounds: tuple[str, str], value: Fraction, band: Fraction) -> bool:
    upper, lower = bounds
    return (not upper or SIGNS[upper](value, TOP - band)) and (
        not lower or SIGNS[lower](value, BOTTOM + band)
    )


def expected(bounds: tuple[str, str], rule: DecisionRule, percent: Decimal | None, value: Fraction) -> str:
    """The verdict on one value, mohm."""
    if bounds == ("", ""):
        return "recorded"
    meets = holds(bounds, value, Fraction(0))
    if percent is None or rule.kind is RuleKind.SIMPLE:
        return "pass" if meets else "fail"
    band = Fraction(rule.factor) * (Fraction(percent) / 100 * value + FLOOR)
    if holds(bounds, value, band):
        return "pass"
    if rule.kind is RuleKind.GUARDED:
        return "fail"
    if meets:
        return "conditional pass"
    return "conditional fail" if holds(bounds, value, -band) else "fail"


WORST_FIRST = ["fail", "conditional fail", "conditional pass", "pass", "recorded"]


@dataclass(frozen=True)
class Take:
    """A way of taking readings: those that come to a value, and what their rule says they come to."""

    name: str
    rule: Rule
    readings: Callable[[Fraction], Sequence[Fraction]]
    comes_to: Callable[[Sequence[Fraction]], Sequence[Fraction]]  # the values judged; the worst counts
    method: Method = "single"

    @property
    def point(self) -> Point:
        plain = Point("P", "S", "", Unit.MOHM, Limit(), method=self.method)
        if self.method == "single":
            return replace(plain, repeats=len(self.readings(Fraction(1))), rule=self.rule)
        return replace(plain, repeats=METHOD_READINGS[self.method], rule=METHOD_RULES[self.method])


def mean(values: Sequence[Fraction]) -> Sequence[Fraction]:
    return [sum(values, Fraction(0)) / len(values)]


EMF, DRIFT = Fraction("0.050"), Fraction("0.005")  # thermal voltage over current, and its step, mohm
TAKES = [
    Take("one", "max", lambda x: [x], list),
    Take("largest of three", "max", lambda x: [x - 2 * STEP, x, x - STEP], list),
    Take("mean of three", "mean", lambda x: [x - 7 * STEP, x + 5 * STEP, x + 2 * STEP], mean),
    Take("median of three", "median", lambda x: [x + Fraction(9), x, x / 2], lambda v: [median(v)]),
    Take(
        "median of four",
        "median",
        lambda x: [x + 3 * STEP, x / 2, x - 3 * STEP, 9 * x],
        lambda v: [sum(sorted(v)[1:3], Fraction(0)) / 2],
    ),
    Take("current reversed", "mean", lambda x: [x + EMF, x - EMF], mean, "reversed"),
    Take(
        "reversed, drifting",
        "drift-free",
        lambda x: [x + EMF, x - (EMF + DRIFT), x + (EMF + 2 * DRIFT)],
        lambda v: [(v[0] + 2 * v[1] + v[2]) / 4],
        "three-reading",
    ),
]


def edges(bounds: tuple[str, str], rule: DecisionRule, percent: Decimal | None) -> Iterator[Fraction]:
    """Values on every edge of the rule, and a step to either side; of edges without an end in decimals
    (where U grows with the value) the step next below and above."""
    share = Fraction(percent or 0) / 100
    for bound, sign in ((TOP, -1), (BOTTOM, 1)):
        for factor in (Fraction(0), Fraction(rule.factor), -Fraction(rule.factor)):
            # x = bound + sign * r (p x + floor)
            edge = (bound + sign * factor * FLOOR) / (1 - sign * factor * share)
            near = Fraction(round(edge / STEP)) * STEP
            yield from (value for value in (near - STEP, near, near + STEP) if value > 0)


CASES = list(product(BOUNDS, DECISIONS, METERS))


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.name)
def test_every_way_of_taking_readings_by_every_rule_on_every_edge(take: Take) -> None:
    tried = set()
    for bounds, rule, percent in CASES:
        point = replace(take.point, limit=make_limit(bounds, rule, Unit.MOHM))
        conditions = Conditions(accuracy_of(percent))
        for value in edges(bounds, rule, percent):
            readings = take.readings(value)
            keyed = [resistance(reading, Unit.MOHM) for reading in readings]
            found = judge_take(point, keyed, retest=False, conditions=conditions).value
            verdicts = [expected(bounds, rule, percent, each) for each in take.comes_to(readings)]
            assert found == min(verdicts, key=WORST_FIRST.index), (bounds, rule, percent, value)
            tried.add((bounds, rule, percent, found))
    found_by_rule = {(rule.kind, found) for _, rule, percent, found in tried if percent is not None}
    assert found_by_rule == {
        *product([RuleKind.SIMPLE, RuleKind.GUARDED], ["pass", "fail", "recorded"]),
        *product([RuleKind.FOUR_STATES], WORST_FIRST),
    }


@pytest.mark.parametrize(
    "take", [take for take in TAKES if take.method != "single"], ids=lambda take: take.name
)
def test_with_the_current_one_way_nothing_is_judged_yet(take: Take) -> None:
    for bounds, rule, percent in CASES:
        point = replace(take.point, limit=make_limit(bounds, rule, Unit.MOHM))
        readings = [resistance(reading, Unit.MOHM) for reading in take.readings(Fraction(9))]
        for count in range(1, len(readings)):
            found = judge_take(
                point, readings[:count], retest=False, conditions=Conditions(accuracy_of(percent))
            )
            assert found.value == "recorded"


def test_every_unit_of_limit_and_reading() -> None:
    tried = 0
    for (bounds, rule, percent), of_limit, of_reading in product(CASES[::2], Unit, Unit):
        point = replace(TAKES[0].point, limit=make_limit(bounds, rule, of_limit))
        conditions = Conditions(accuracy_of(percent))
        for value in list(edges(bounds, rule, percent))[::3]:
            keyed = [resistance(value, of_reading)]
            found = judge_take(point, keyed, retest=False, conditions=conditions).value
            assert found == expected(bounds, rule, percent, value), (bounds, rule, of_limit, of_reading)
            tried += 1
    assert tried > 25 * len(CASES[::2]) * 5


def test_after_a_rework_the_retest_limit_judges_and_before_it_never_does() -> None:
    anything = Limit(maximum=resistance(Fraction(1000), Unit.MOHM))
    for bounds, rule, percent in CASES:
        strict = make_limit(bounds, rule, Unit.MOHM)
        conditions = Conditions(accuracy_of(percent))
        for value in edges(bounds, rule, percent):
            keyed, wanted = [resistance(value, Unit.MOHM)], expected(bounds, rule, percent, value)
            for limit, retest, found in (
                (anything, strict, (False, "pass")),
                (anything, strict, (True, wanted)),
                (strict, anything, (False, wanted)),
                (strict, anything, (True, "pass")),
                (strict, None, (True, wanted)),
            ):
                is_retest, verdict = found
                point = replace(TAKES[0].point, limit=limit, retest=retest)
                said = judge_take(point, keyed, retest=is_retest, conditions=conditions)
                assert said.value == verdict, (bounds, rule, percent, value, is_retest)
