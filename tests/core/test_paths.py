"""Paths of points in series, and readings with the current reversed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fieldtui.core.account.paths import PathResult, judge_paths
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, Limit, PathLimit
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.survey import fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict, combine, judge
from tests.core.walks import Walk, point

POINTS = ("SW-01", "SW-02", "SW-03", "SW-04")


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


def walked(*values: str, limit: Limit, instrument: Instrument | None = None) -> list[PathResult]:
    walk = Walk(*POINTS, instrument=instrument or Instrument("meter", "Meter"))
    route = replace(walk.route, paths=(PathLimit("P1", "Flap to keel", POINTS, limit),))
    walk.survey = fold(route, instrument or Instrument("meter", "Meter"))
    for value in values:
        walk.read(value)
    return judge_paths(walk.survey)


def test_four_times_2_5_passes_10() -> None:
    (path,) = walked("2.5", "2.5", "2.5", "2.5", limit=Limit(mohm("10")))
    assert path.value is not None
    assert (path.value.digits, path.verdict, path.missing) == ("10.0", Verdict.PASS, ())
    (path,) = walked("2.5", "2.5", "2.5", "2.5", limit=Limit(mohm("10"), upper=Comparator.LESS))
    assert path.verdict is Verdict.FAIL


def test_units_and_digits_add_up_exactly() -> None:
    (path,) = walked("0.1", "0.2", "300u", "0.0004r", limit=Limit(mohm("1.0")))
    assert (path.value, path.verdict) == (mohm("1.0000").to(Unit.MOHM), Verdict.PASS)


def test_means_add_up_unrounded() -> None:
    """Four times 7.51 / 3 is 10.0133 mohm; of the means as shown, 2.503, it would be 10.012 (computed).

    As 10.013 it would seem to meet its limit: one digit more is told.
    """
    walk = Walk(*[point(name, repeats=3, rule="mean") for name in POINTS])
    route = replace(walk.route, paths=(PathLimit("P1", "Flap to keel", POINTS, Limit(mohm("10.013"))),))
    walk.survey = fold(route, Instrument("meter", "Meter"))
    for value in ["2.50", "2.50", "2.51"] * 4:
        walk.read(value)
    (path,) = judge_paths(walk.survey)
    assert (path.value, path.verdict) == (mohm("10.0133"), Verdict.FAIL)
    assert walk.standing("SW-01").as_left.value == mohm("2.503")  # type: ignore[union-attr]


def test_a_path_is_open_until_every_point_has_a_value() -> None:
    (path,) = walked("2.5", "2.5", limit=Limit(mohm("10")))
    assert (path.value, path.verdict, path.missing) == (None, None, ("SW-03", "SW-04"))


def test_the_uncertainties_of_one_meter_add_up() -> None:
    meter = Instrument("meter", "Meter", accuracy=Accuracy(Decimal(0), mohm("0.1"), mohm("0")))
    limit = Limit(mohm("10"), rule=DecisionRule(RuleKind.FOUR_STATES))
    (path,) = walked("2.4", "2.4", "2.4", "2.4", limit=limit, instrument=meter)
    assert path.verdict is Verdict.PASS  # 9.6 + 4 * 0.1
    (path,) = walked("2.4", "2.4", "2.4", "2.5", limit=limit, instrument=meter)
    assert path.verdict is Verdict.CONDITIONAL_PASS
    (path,) = walked("2.5", "2.5", "2.5", "2.8", limit=limit, instrument=meter)
    assert path.verdict is Verdict.CONDITIONAL_FAIL
    (path,) = walked("2.5", "2.5", "2.7", "2.8", limit=limit, instrument=meter)
    assert path.verdict is Verdict.FAIL


# Values as-left, mohm; U in fractions: percent of the reading and a floor, no step.
TOTALS = st.sampled_from(["9.6", "9.8", "9.99", "10", "10.00", "10.01", "10.2", "10.4"])
SUMS = st.tuples(TOTALS, *[st.decimals("1.50", "2.60", places=2)] * 3).map(
    lambda each: [*each[1:], Decimal(each[0]) - sum(each[1:])]
)
METERS = [(Decimal(0), "0.1"), (Decimal(2), "0.05"), (Decimal(1), "0")]


@given(
    SUMS,
    st.sampled_from(METERS),
    st.sampled_from(METERS),
    st.integers(0, 4),
    st.sampled_from([None, Decimal(20), Decimal(-20), Decimal("35.5")]),
    st.sampled_from(RuleKind),
    st.sampled_from([Comparator.LESS, Comparator.AT_MOST]),
)
def test_a_sum_by_an_oracle_in_fractions(
    values: list[Decimal],
    one: tuple[Decimal, str],
    other: tuple[Decimal, str],
    swapped: int,
    celsius: Decimal | None,
    kind: RuleKind,
    upper: Comparator,
) -> None:
    """Every second point judged at 20 C; a second meter from a point on; U adds up as the values do.

    R20 = R / (1 + alpha20 (t - 20)) by IEC 60028, to 28 digits; a sum within that of an edge is left out.
    """
    used = [one if place < swapped or swapped == 0 else other for place in range(4)]
    warm = 1 + Fraction("0.00393") * (Fraction(celsius) - 20) if celsius is not None else Fraction(1)
    factors = [warm if place % 2 else Fraction(1) for place in range(4)]
    total = sum((Fraction(v) / factor for v, factor in zip(values, factors, strict=True)), Fraction(0))
    expanded = sum(
        (Fraction(percent) / 100 * Fraction(value) + Fraction(floor)) / factor
        for value, (percent, floor), factor in zip(values, used, factors, strict=True)
    )
    edges = (10 - expanded, Fraction(10), 10 + expanded)
    is_corrected = any(factor != 1 for factor in factors)
    assume(not is_corrected or all(abs(total - edge) > Fraction(1, 10**20) for edge in edges))

    def meets(edge: Fraction | int) -> bool:
        return total < edge or (upper is Comparator.AT_MOST and total == edge)

    inner, middle, outer = map(meets, edges)
    words = {"pass": inner, "conditional pass": middle, "conditional fail": outer, "fail": True}
    wanted = {
        RuleKind.SIMPLE: "pass" if middle else "fail",
        RuleKind.GUARDED: "pass" if inner else "fail",
        RuleKind.FOUR_STATES: next(word for word, is_so in words.items() if is_so),
    }[kind]

    limit = Limit(mohm("10"), upper=upper, rule=DecisionRule(kind))
    plan = [point(name, correct_to_20=bool(place % 2)) for place, name in enumerate(POINTS)]
    meters = [
        Instrument(name, name, unit=Unit.MOHM, accuracy=Accuracy(percent, mohm(floor), mohm("0")))
        for name, (percent, floor) in (("one", one), ("other", other))
    ]
    walk = Walk(*plan, instrument=meters[0])
    route = replace(walk.route, paths=(PathLimit("P1", "Flap to keel", POINTS, limit),), celsius=celsius)
    walk.survey = fold(route, meters[0])
    for place, value in enumerate(values):
        if place == swapped and place > 0:
            walk.tell(ev.MeterTaken, ref="other", reason="battery", definition=format_meter(meters[1]))
        walk.read(str(value))
    (found,) = judge_paths(walk.survey)
    assert found.verdict is not None and found.expanded is not None
    assert found.verdict.value == wanted
    assert abs(Fraction(found.expanded) * 1000 - expanded) < Fraction(1, 10**20)


# --- the current reversed ------------------------------------------------------------------------


def test_a_reversed_pair_is_judged_only_once_it_is_whole() -> None:
    pair = point("SW-01", method="reversed", repeats=2, rule="mean", limit=Limit(mohm("2.5")))
    walk = Walk(pair, "SW-02").read("2.55")
    assert walk.record(1).verdict is Verdict.NOTED  # the thermal voltage is still in it
    assert walk.here == "SW-01"
    walk.read("2.45")
    assert walk.record(2).verdict is Verdict.PASS
    left = walk.standing("SW-01").as_left
    assert left is not None
    assert left.value.ohms == mohm("2.50").ohms
    assert walk.here == "SW-02"
    assert walk.problems == []


def test_three_readings_cancel_a_drift_that_two_do_not() -> None:
    """R 2.5 mohm, E 50 uV drifting 5 uV a step, I 1 A: 2.4975 of two, 2.5000 of three (computed)."""
    three = [mohm("2.550"), mohm("2.445"), mohm("2.560")]
    assert combine(three[:2], "mean") == mohm("2.4975").ohms
    assert combine(three, "drift-free") == mohm("2.5000").ohms
    assert judge(Limit(mohm("2.5")), three, "drift-free") is Verdict.PASS


@pytest.mark.parametrize(("order", "value"), [((0, 1, 2), "2.5000"), ((1, 0, 2), "2.52625")])
def test_the_middle_reading_counts_twice(order: tuple[int, ...], value: str) -> None:
    three = [mohm("2.550"), mohm("2.445"), mohm("2.560")]
    assert combine([three[at] for at in order], "drift-free") == mohm(value).ohms
