"""The digits a value is told with never contradict its verdict; figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.account.basis import judged_of
from fieldtui.core.account.paths import describe_path, judge_paths
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, Limit, PathLimit, Point
from fieldtui.core.survey.standing import Result
from fieldtui.core.survey.survey import fold
from fieldtui.core.verdict.judging import is_within
from fieldtui.core.verdict.rounding import round_beside
from tests.core.walks import METER, Walk, point
from tests.ui.review_fixtures import mohm

LESS = Comparator.LESS
MEAN_4 = ("2.46", "2.46", "2.46", "2.47")  # 9.85 / 4 = 2.4625
MEAN_3 = ("2.46", "2.46", "2.47")  # 7.39 / 3 = 2.46333...


def left_of(at: Point, *values: str, celsius: str = "", meter: Accuracy | None = None) -> tuple[Walk, Result]:
    walk = Walk(at, instrument=replace(METER, accuracy=meter))
    if celsius:
        walk.survey = fold(walk.route.at_temperature(Decimal(celsius)), walk.survey.instrument)
    for value in values:
        walk.read(value)
    left = walk.standing(at.id).as_left
    assert left is not None
    return walk, left


@pytest.mark.parametrize(
    ("values", "limit", "told"),
    [
        (MEAN_4, Limit(mohm("2.462")), "2.4625 fail"),
        (MEAN_4, Limit(mohm("2.4624")), "2.4625 fail"),
        (MEAN_4, Limit(mohm("2.5")), "2.462 pass"),  # half even: no more digits than the verdict needs
        (MEAN_4, Limit(mohm("2.4625"), upper=LESS), "2.4625 fail"),
        (MEAN_4, Limit(minimum=mohm("2.4625")), "2.4625 pass"),
        (MEAN_3, Limit(mohm("2.463")), "2.4633 fail"),
        (MEAN_3, Limit(mohm("2.46333333")), "2.463333333 fail"),
        (MEAN_3, Limit(mohm("2.5"), record_only=True), "2.463 recorded"),
    ],
)
def test_a_mean_is_told_finer_where_its_limit_lies_between(
    values: tuple[str, ...], limit: Limit, told: str
) -> None:
    _, left = left_of(point("SW-01", repeats=len(values), rule="mean", limit=limit), *values)
    assert f"{left.value.digits} {left.verdict.value}" == told


@pytest.mark.parametrize(
    ("value", "celsius", "limit", "told"),
    [
        # 1 + 0.00393 * (8.8 - 20) = 0.955984; 2.39 / 0.955984 = 2.5000418...
        ("2.39", "8.8", Limit(mohm("2.5")), "2.50004"),
        ("2.39", "8.8", Limit(mohm("2.6")), "2.5000"),
        # 2.5 * 1.0393 = 2.59825 exactly: equal to its limit, and told as that
        ("2.59825", "30", Limit(mohm("2.5")), "2.5000000"),
        ("2.59825", "30", Limit(mohm("2.5"), upper=LESS), "2.5000000"),
        ("2.598251", "30", Limit(mohm("2.5")), "2.50000096"),
        # a hair above: 0.000000001 / 1.0393 past 2.5, which its two digits more do show
        ("2.598250001", "30", Limit(mohm("2.5")), "2.50000000096"),
    ],
)
def test_a_value_at_20_is_told_finer_where_its_limit_lies_between(
    value: str, celsius: str, limit: Limit, told: str
) -> None:
    at = point("SW-01", limit=limit, correct_to_20=True)
    _, left = left_of(at, value, celsius=celsius)
    assert judged_of(at, left, Decimal(celsius)).value.digits == told


def test_a_mean_at_20_is_rounded_once() -> None:
    """9.85 / 4 = 2.4625 at 30 C is 2.369383...; of the mean as told, 2.462, it would be 2.368902."""
    at = point("SW-01", repeats=4, rule="mean", correct_to_20=True)
    _, left = left_of(at, *MEAN_4, celsius="30")
    assert left.value.digits == "2.462"
    assert judged_of(at, left, Decimal(30)).value.digits == "2.36938"


def test_after_rework_it_is_told_beside_the_retest_limit() -> None:
    at = point("SW-01", limit=Limit(mohm("2.6")), retest=Limit(mohm("2.5")), correct_to_20=True)
    _, left = left_of(at, "2.39", celsius="8.8")
    assert judged_of(at, left, Decimal("8.8")).value.digits == "2.5000"
    again = replace(left, records=(replace(left.last, retest=True),))
    assert judged_of(at, again, Decimal("8.8")).value.digits == "2.50004"


def test_a_path_is_told_finer_where_its_limit_lies_between() -> None:
    """Twice 2.46333... is 4.92666...: as 4.927 it would seem to fail 4.9269."""
    names = ("SW-01", "SW-02")
    walk = Walk(*[point(name, repeats=3, rule="mean") for name in names])
    for most, told in (
        ("4.9269", "4.9267 mΩ, pass"),
        ("4.926", "4.927 mΩ, fail"),
        ("4.927", "4.927 mΩ, pass"),
    ):
        path = PathLimit("P", "Path", names, Limit(mohm(most)))
        survey = fold(replace(walk.route, paths=(path,)), METER)
        again = Walk(*[point(name, repeats=3, rule="mean") for name in names])
        again.survey = survey
        for value in MEAN_3 * 2:
            again.read(value)
        (found,) = judge_paths(again.survey)
        assert describe_path(found) == f"{told} against <= {most} mΩ"


def test_a_value_that_no_digits_tell_from_its_limit_comes_back_as_it_is() -> None:
    limit = Limit(mohm("2.5"))
    near = Decimal("0.0025") + Decimal("1e-119")
    assert round_beside(limit, near, Decimal("0.00001")) == near
    guarded = replace(limit, rule=DecisionRule(RuleKind.GUARDED))
    assert (
        round_beside(guarded, Decimal("0.00250004"), Decimal("0.00001"))
        == Decimal("0.0025000400").normalize()
    )


@given(st.integers(1, 9_999_999), st.integers(1, 9), st.integers(1, 9_999), st.sampled_from(Comparator))
def test_what_is_told_is_on_the_same_side_as_the_value(
    total: int, count: int, bound: int, comparator: Comparator
) -> None:
    """Against exact fractions: total / count, told to a thousandth or finer, and its limit."""
    exact, most = Fraction(total, count * 1000), Decimal(bound) / 100
    is_top = comparator in (Comparator.LESS, Comparator.AT_MOST)
    edge = Resistance(most, Unit.OHM)
    limit = Limit(edge, upper=comparator) if is_top else Limit(minimum=edge, lower=comparator)
    ohms = Decimal(total) / (count * 1000)
    told = round_beside(limit, ohms, Decimal("0.001"))
    sides = {"<": exact < Fraction(most), "<=": exact <= Fraction(most)}
    sides |= {">": exact > Fraction(most), ">=": exact >= Fraction(most)}
    if is_within(limit, ohms) is sides[comparator.value]:  # the division itself crosses no limit
        assert is_within(limit, told) is sides[comparator.value]
    assert abs(Fraction(told) - exact) <= Fraction(1, 2000)
