"""The resistance a jumper must have: shapes, refusals, and laws that hold for every size."""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.conductors import (
    NotAGaugeError,
    area_mm2,
    cable_factor_to_20,
    diameter_inch,
    gauge_number,
    ohms_at_20,
    resistance_at_20,
    to_20_by_alpha,
)
from fieldtui.core.plan.route import Conductor

METRE = Decimal(1000)  # mm


@pytest.mark.parametrize(
    ("awg", "number"), [("4/0", -3), ("3/0", -2), ("2/0", -1), ("1/0", 0), ("0", 0), ("1", 1), ("40", 40)]
)
def test_gauge_numbers(awg: str, number: int) -> None:
    assert gauge_number(awg) == number


@pytest.mark.parametrize("awg", ["", "41", "5/0", "0/0", "00", "012", "-1", "1.5", "12 ", "٣"])
def test_what_is_no_gauge(awg: str) -> None:
    with pytest.raises(NotAGaugeError):
        gauge_number(awg)


def test_each_gauge_is_thinner_than_the_one_before() -> None:
    sizes = ["4/0", "3/0", "2/0", *(str(number) for number in range(41))]
    diameters = [diameter_inch(size) for size in sizes]
    assert diameters == sorted(diameters, reverse=True)
    assert len(set(diameters)) == 44


def test_an_area_in_mm2_is_taken_as_given() -> None:
    # 58 m of copper at 1 mm2 have 1 ohm, by 1/58 ohm mm2/m
    assert ohms_at_20(Conductor(58 * METRE, mm2=Decimal(1))).quantize(Decimal("1E-20")) == 1
    assert ohms_at_20(Conductor(METRE, mm2=Decimal(2), metal="aluminium")) == Decimal("0.014132")


def test_the_resistance_is_shown_in_milliohm_to_four_digits() -> None:
    found = resistance_at_20(Conductor(METRE, mm2=Decimal(1)))
    assert (found.digits, found.unit) == ("17.24", Unit.MOHM)
    assert resistance_at_20(Conductor(Decimal(10_000_000), awg="36")).digits == "13610000"


@given(st.integers(0, 40), st.integers(1, 100_000), st.integers(1, 100_000))
def test_lengths_add_up(awg: int, one: int, other: int) -> None:
    parts = [ohms_at_20(Conductor(Decimal(length), str(awg))) for length in (one, other, one + other)]
    assert abs(parts[0] + parts[1] - parts[2]) <= parts[2].scaleb(-25)


@given(st.decimals("-40", "80", places=1), st.sampled_from(["copper", "aluminium"]))
def test_warmer_metal_reads_more_so_its_value_at_20_is_less(celsius: Decimal, metal: str) -> None:
    at_20 = to_20_by_alpha(Decimal("2.500"), celsius, "copper" if metal == "copper" else "aluminium")
    assert (at_20 < Decimal("2.5")) is (celsius > 20)
    assert (cable_factor_to_20(celsius) < 1) is (celsius > 20)


def test_the_two_temperature_forms_are_not_the_same() -> None:
    celsius = Decimal(50)
    assert to_20_by_alpha(Decimal(1), celsius).quantize(Decimal("0.0001")) == Decimal("0.8945")
    assert cable_factor_to_20(celsius).quantize(Decimal("0.0001")) == Decimal("0.8929")


def test_the_precision_is_not_the_caller_s() -> None:
    expected = area_mm2("12")
    with localcontext() as context:
        context.prec = 3
        assert area_mm2("12") == expected
