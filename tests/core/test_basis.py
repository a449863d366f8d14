"""What a verdict rests on, against figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.account.basis import basis_of, share_of, used_share
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Conditions, Record, Result
from fieldtui.core.verdict.judging import Verdict
from tests.ui.review_fixtures import START, mohm

FOUR = Limit(maximum=mohm("2.5"), rule=DecisionRule(RuleKind.FOUR_STATES))
POINT = Point("A", "S", "A", Unit.MOHM, FOUR)
# 1 % and 0.010 mohm at k = 2, steps of 0.010 mohm.
METER = Accuracy(Decimal(1), mohm("0.010"), mohm("0.010"))


def result(value: str, **fields: object) -> Result:
    record = Record(
        record=1, row=3, time=START, by="Ana", point="A", reading=mohm(value), said=Verdict.PASS,
        verdict=Verdict.PASS, take=1,
    )  # fmt: skip
    return Result((replace(record, **fields),), mohm(value), Verdict.PASS)  # type: ignore[arg-type]


def test_uncertainty_guard_band_and_probability_of_a_value() -> None:
    basis = basis_of(POINT, result("2.48"), Conditions(METER))
    # u = sqrt((0.0348 / 2)^2 + (0.005)^2 / 3) = 0.017638 mohm; U = 2 u (GUM 5.1.2, 6.2.1)
    assert basis.expanded is not None
    assert float(basis.expanded) == pytest.approx(0.035277e-3, rel=1e-3)
    assert basis.band == basis.expanded
    # P = Phi((2.5 - 2.48) / 0.017638) = Phi(1.1339) = 0.8716 (JCGM 106:2012 7.3)
    assert basis.probability == pytest.approx(0.8716, abs=5e-4)
    assert not basis.judged.is_corrected


def test_the_probability_is_that_of_the_value_as_it_is_judged() -> None:
    """2.55 at 30 C is 2.4535 at 20 C (copper, alpha 0.00393): it meets 2.5 more likely than not."""
    point = replace(POINT, correct_to_20=True)
    basis = basis_of(point, result("2.55"), Conditions(METER, Decimal(30)))
    assert basis.judged.value == mohm("2.4536")
    assert basis.probability is not None and basis.probability > 0.98
    as_measured = basis_of(POINT, result("2.55"), Conditions(METER))
    assert as_measured.probability is not None and as_measured.probability < 0.01


def test_what_is_lacking_is_told() -> None:
    point = replace(POINT, correct_to_20=True)
    basis = basis_of(point, result("2.4"), Conditions())
    assert (basis.expanded, basis.band, basis.probability) == (None, None, None)
    assert basis.lacks_accuracy
    assert basis.lacks_temperature
    recorded = basis_of(replace(POINT, limit=Limit(record_only=True)), result("2.4"), Conditions(METER))
    assert recorded.probability is None
    assert recorded.band is None
    assert recorded.expanded is not None


def test_a_retest_rests_on_the_retest_limit_and_a_reading_on_the_meter_that_took_it() -> None:
    point = replace(POINT, retest=Limit(maximum=mohm("2.0")))
    basis = basis_of(point, result("1.9", retest=True), Conditions(METER))
    assert basis.limit == point.retest
    assert basis.band == 0  # simple acceptance
    other = Conditions(None, None, ((0, METER), (5, None)))
    assert basis_of(POINT, result("1.9", row=3), other).expanded is not None
    assert basis_of(POINT, result("1.9", row=9), other).expanded is None


def test_the_share_of_a_limit_is_that_of_the_judged_value() -> None:
    point = replace(POINT, correct_to_20=True)
    warm = share_of(point, result("2.55"), Decimal(30))
    assert warm is not None and warm < 1
    assert share_of(point, result("2.55"), None) == Decimal("1.02")
    assert used_share(Limit(record_only=True), Decimal(1)) is None
    # A window is used from its middle: a warm value that is less at 20 C comes nearer to the lower bound.
    window = replace(point, limit=Limit(minimum=mohm("2.4"), maximum=mohm("2.6")))
    assert share_of(window, result("2.51"), None) == Decimal("0.1")
    warm, cold = (share_of(window, result("2.52"), celsius) for celsius in (Decimal(30), None))
    assert cold == Decimal("0.2")
    assert warm is not None
    assert Decimal("0.7") < warm < Decimal("0.8")
