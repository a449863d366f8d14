"""What a verdict rests on, against figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.account.basis import basis_of, is_met, share_of, share_words, used_share, used_words
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, Limit, Point
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


BELOW = Limit(maximum=mohm("2.5"), upper=Comparator.LESS)
AT_MOST = Limit(maximum=mohm("2.5"))
AT_LEAST = Limit(minimum=mohm("2.5"))


@pytest.mark.parametrize(
    ("limit", "value", "words"),
    [
        (AT_MOST, "1.0", "40 %"),
        (AT_MOST, "2.48", "99 %"),
        (AT_MOST, "2.49", "99.6 %"),  # to whole percents it would be 100
        (AT_MOST, "2.499", "<100 %"),  # 99.96
        (AT_MOST, "2.51", "100.4 %"),
        (AT_MOST, "2.5001", ">100 %"),  # 100.004
        (AT_MOST, "2.52", "101 %"),
        (AT_MOST, "2.5", "≤100 %"),
        (BELOW, "2.5", "≥100 %"),  # on a limit that does not take it in
        (AT_LEAST, "2.5", "≤100 %"),
        (AT_LEAST, "2.49", "100.4 %"),  # 2.5 / 2.49
        (AT_MOST, "400", "far above"),
        (AT_LEAST, "0", "far above"),
        (Limit(record_only=True), "1", ""),
    ],
)
def test_no_share_is_rounded_to_a_hundred(limit: Limit, value: str, words: str) -> None:
    assert used_words(limit, mohm(value).ohms) == words


def test_a_share_is_on_the_side_of_the_verdict_however_the_value_is_shown() -> None:
    """A mean of 2.50 and 2.51 is shown with their digits and judged with all of its own."""
    both = [
        replace(result(value).records[0], record=n) for n, value in enumerate(("2.49", "2.50", "2.52"), 1)
    ]
    mean = Result(tuple(both), mohm("2.50"), Verdict.FAIL)  # 2.5033 exactly
    point = replace(POINT, limit=AT_MOST, repeats=3, rule="mean")
    assert share_words(point, mean, None) == "100.1 %"
    assert not is_met(point, mean, None)
    # By the rule max every reading must meet the limit: of a minimum the lowest tells how it stands.
    worst = Result((result("2.0").records[0], result("3.0").records[0]), mohm("3.0"), Verdict.FAIL)
    assert share_words(replace(point, limit=AT_LEAST, rule="max"), worst, None) == "125 %"
    # 2.5982 at 30 C is 2.49995 at 20 C (copper), shown as 2.4999; the figure is that of all its digits.
    warm = replace(point, limit=AT_MOST, rule="max", correct_to_20=True)
    assert share_words(warm, result("2.5982"), Decimal(30)) == "<100 %"
    assert share_words(warm, result("2.5983"), Decimal(30)) == ">100 %"


def test_the_share_of_a_retest_is_that_of_its_own_limit() -> None:
    point = replace(POINT, limit=AT_MOST, retest=Limit(maximum=mohm("2.0")))
    assert share_words(point, result("1.95", retest=True), None) == "98 %"
    assert share_words(point, result("1.95"), None) == "78 %"
