"""Conductors against what is published."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.conductors import (
    ALPHA_20,
    MM_PER_INCH,
    Metal,
    area_mm2,
    cable_factor_to_20,
    diameter_inch,
    ohms_at_20,
    resistance_at_20,
    to_20_by_alpha,
)
from fieldtui.core.plan.route import Comparator, Conductor, CriterionStatus, Limit
from fieldtui.core.verdict.judging import Verdict, judge_ohms
from fieldtui.files.tables.schema import ConductorsModel
from fieldtui.files.tables.tables import parse_conductors

FOOT = 12 * MM_PER_INCH


def reference() -> ConductorsModel:
    path = Path(__file__).parents[2] / "shared" / "conductors.toml"
    return parse_conductors(path.read_bytes(), path.name)


def rounded(value: Decimal, like: str) -> Decimal:
    return value.quantize(Decimal(like))


# ASTM B258: diameters in mil. The formula is from memory; 5 mil for 36 and 460 mil for 4/0 define it.
@pytest.mark.parametrize(
    ("awg", "mils"), [("10", "101.90"), ("12", "80.808"), ("36", "5.000"), ("4/0", "460.0")]
)
def test_gauge_diameters(awg: str, mils: str) -> None:
    assert rounded(diameter_inch(awg) * 1000, mils) == Decimal(mils)


# ohm per 1000 ft of copper at 20 C, computed from ASTM B258 and 1/58 ohm mm2/m (IEC 60028)
@pytest.mark.parametrize(
    ("awg", "ohms"),
    [
        ("10", "0.9989"),
        ("12", "1.588"),
        ("14", "2.525"),
        ("16", "4.016"),
        ("18", "6.385"),
        ("20", "10.15"),
        ("24", "25.67"),
        ("36", "414.8"),
        ("4/0", "0.04901"),
    ],
)
def test_resistance_of_a_thousand_feet(awg: str, ohms: str) -> None:
    assert rounded(ohms_at_20(Conductor(1000 * FOOT, awg)), ohms) == Decimal(ohms)


def test_twelve_inches_of_gauge_18_can_never_meet_two_and_a_half_milliohm() -> None:
    """Computed: 6.385 mohm by ASTM B258 and 1/58 ohm mm2/m."""
    conductor = Conductor(FOOT, "18")
    assert resistance_at_20(conductor) == Resistance(Decimal("6.385"), Unit.MOHM)
    limit = Limit(maximum=Resistance(Decimal("2.5"), Unit.MOHM))
    assert judge_ohms(limit, ohms_at_20(conductor)) is Verdict.FAIL


# IEC 60228, factors k_t that bring a cable's resistance to 20 C (second-hand)
@pytest.mark.parametrize(
    ("celsius", "factor"),
    [
        (5, "1.064"),
        (10, "1.042"),
        (15, "1.020"),
        (20, "1.000"),
        (25, "0.980"),
        (30, "0.962"),
        (35, "0.943"),
        (40, "0.926"),
        (50, "0.893"),
    ],
)
def test_cable_factors(celsius: int, factor: str) -> None:
    assert rounded(cable_factor_to_20(Decimal(celsius)), factor) == Decimal(factor)


def test_temperature_flips_a_verdict() -> None:
    """2.600 mohm at 35 C is 2.45526 at 20 C: computed, with alpha20 of copper from IEC 60028."""
    assert ALPHA_20["copper"] == Decimal("0.00393")
    measured = Decimal("2.600")
    at_20 = to_20_by_alpha(measured, Decimal(35))
    assert rounded(at_20, "0.00001") == Decimal("2.45526")
    limit = Limit(maximum=Resistance(Decimal("2.5"), Unit.MOHM), upper=Comparator.AT_MOST)
    assert judge_ohms(limit, measured.scaleb(-3)) is Verdict.FAIL
    assert judge_ohms(limit, at_20.scaleb(-3)) is Verdict.PASS


def test_the_cable_factor_gives_another_value_than_alpha() -> None:
    """2.600 mohm at 35 C by k_t: 2.4528, not 2.4553 (computed); the two must not be mixed."""
    by_factor = Decimal("2.600") * cable_factor_to_20(Decimal(35))
    assert rounded(by_factor, "0.0001") == Decimal("2.4528")


# IEC 60228, largest ohm per km at 20 C (second-hand); sizes in mm2
IEC_60228: Mapping[tuple[tuple[int, ...], Metal], str] = {
    ((1, 2), "copper"): "1:18.1 1.5:12.1 2.5:7.41 4:4.61 6:3.08 10:1.83 16:1.15 25:.727 35:.524 50:.387",
    ((5,), "copper"): "1:19.5 1.5:13.3 2.5:7.98 4:4.95 6:3.30 10:1.91 16:1.21 25:.780 35:.554 50:.386",
    ((1, 2), "aluminium"): "10:3.08 16:1.91 25:1.20 35:.868 50:.641",
}


def test_the_reference_table_states_iec_60228_as_published() -> None:
    cables = {(tuple(cable.classes), cable.metal): cable for cable in reference().cables}
    assert cables.keys() == IEC_60228.keys()
    for key, published in IEC_60228.items():
        pairs = [tuple(map(Decimal, pair.split(":"))) for pair in published.split()]
        assert [(size.mm2, size.ohm_per_km) for size in cables[key].sizes] == pairs
        assert (cables[key].source, cables[key].status) == ("IEC 60228", CriterionStatus.SECOND_HAND)


def test_no_published_maximum_lies_below_what_the_nominal_section_has_by_more_than_the_allowance() -> None:
    """IEC 60228 sets the resistance, not the section: real sections may be a few per cent smaller."""
    for cable in reference().cables:
        for size in cable.sizes:
            nominal = ohms_at_20(Conductor(Decimal(1_000_000), mm2=size.mm2, metal=cable.metal))
            assert Decimal("1.0") < size.ohm_per_km / nominal < Decimal("1.17"), (cable.classes, size)


def test_the_reference_table_of_gauges_is_what_the_formula_gives() -> None:
    for size in reference().gauges.sizes:
        conductor = Conductor(Decimal(1_000_000), size.awg)
        for stated, computed in (
            (size.diameter_mm, diameter_inch(size.awg) * MM_PER_INCH),
            (size.area_mm2, area_mm2(size.awg)),
            (size.ohm_per_km, ohms_at_20(conductor)),
        ):
            assert abs(stated / computed - 1) < Decimal("0.0005"), size.awg
