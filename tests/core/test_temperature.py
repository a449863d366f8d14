"""Values judged at 20 C: the verdict may flip, the reading never changes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.route import Comparator, Conductor, Limit
from fieldtui.core.survey.standing import Conditions, judge_take
from fieldtui.core.verdict.judging import Verdict
from fieldtui.core.verdict.temperature import judged_value, lacks_temperature
from tests.core.walks import Walk, point
from tests.strategies import resistances

WARM = Decimal(35)


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


ASKED = point("SW-01", correct_to_20=True, limit=Limit(mohm("2.5")))


def test_a_warm_reading_passes_at_20_and_fails_as_measured() -> None:
    """2.600 mohm at 35 C is 2.45526 at 20 C (computed with alpha20 0.00393/K)."""
    asked, plain = (judge_take(p, [mohm("2.600")], retest=False, conditions=Conditions(celsius=WARM))
                    for p in (ASKED, replace(ASKED, correct_to_20=False)))  # fmt: skip
    assert (asked, plain) == (Verdict.PASS, Verdict.FAIL)
    judged = judged_value(ASKED, mohm("2.600"), WARM)
    assert (judged.measured.digits, judged.value.digits, judged.celsius) == ("2.600", "2.45526", WARM)
    as_measured = judged_value(replace(ASKED, correct_to_20=False), mohm("2.600"), WARM)
    assert as_measured.value == as_measured.measured
    assert not as_measured.is_corrected


def test_aluminium_has_its_own_coefficient() -> None:
    cable = Conductor(Decimal(100), mm2=Decimal(10), metal="aluminium")
    judged = judged_value(replace(ASKED, conductor=cable), mohm("2.600"), WARM)
    assert judged.value.digits == "2.45179"  # 2.6 / (1 + 0.00403 * 15), computed


def test_without_a_temperature_it_is_judged_as_measured_and_that_is_told() -> None:
    assert judge_take(ASKED, [mohm("2.600")], retest=False) is Verdict.FAIL
    assert lacks_temperature(ASKED, None)
    assert not lacks_temperature(ASKED, WARM)


def test_the_survey_judges_by_its_routes_temperature_and_keeps_the_digits() -> None:
    walk = Walk(ASKED, "SW-02")
    walk.survey = replace(walk.survey, route=walk.route.at_temperature(WARM))
    walk.read("2.600")
    assert walk.record(1).reading.digits == "2.600"
    assert walk.state("SW-01") == "passed"
    assert walk.problems == []


def test_a_route_that_does_not_ask_takes_no_temperature() -> None:
    plain = Walk("SW-01").route
    assert plain.at_temperature(WARM) == plain


@given(resistances(4), resistances(4), st.integers(-40, 60), st.sampled_from(Comparator))
def test_carrying_the_limit_is_the_same_as_correcting_the_value(
    reading: Resistance, bound: Resistance, celsius: int, comparator: Comparator
) -> None:
    is_top = comparator in (Comparator.LESS, Comparator.AT_MOST)
    limit = Limit(maximum=bound, upper=comparator) if is_top else Limit(minimum=bound, lower=comparator)
    at_20 = Fraction(reading.ohms) / (1 + Fraction("0.00393") * (celsius - 20))
    held = {"<": at_20 < bound.ohms, "<=": at_20 <= bound.ohms, ">": at_20 > bound.ohms}
    held[">="] = at_20 >= bound.ohms
    found = judge_take(
        replace(ASKED, limit=limit), [reading], retest=False, conditions=Conditions(celsius=Decimal(celsius))
    )
    assert found is (Verdict.PASS if held[comparator.value] else Verdict.FAIL)


@pytest.mark.parametrize("keyed", ["2.6", "2.60", "2.600", "2600u", "0.0026r"])
def test_the_value_at_20_is_shown_two_digits_finer(keyed: str) -> None:
    reading = mohm(keyed)
    judged = judged_value(ASKED, reading, WARM)
    assert judged.measured is reading
    assert judged.value.resolution == reading.resolution / 100
