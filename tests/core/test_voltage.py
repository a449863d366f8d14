"""Voltages keyed with the current reversed: R exact against fractions, and what is doubted.

R = (V+ - V-) / (2 I) and (V1 - 2 V2 + V3) / (4 I): common practice, no source. The oracle shares
nothing with the code: it works in fractions of a volt and an ampere.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.measurement.voltage import (
    VoltageReading,
    VoltUnit,
    parse_cells,
    parse_keyed,
    reversed_ohms,
    sign_doubt,
    speak_reading,
    voltage_reading,
)
from fieldtui.core.plan.route import METHOD_READINGS, METHOD_RULES, Comparator, Limit, Method, Point
from fieldtui.core.survey.standing import Conditions, judge_take
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.walks import Walk, point

HUNDRED = Decimal(100)  # mA


def mv(text: str, current: str = "100") -> VoltageReading:
    return voltage_reading(Decimal(text), VoltUnit.MILLIVOLT, Decimal(current))


def volt_point(method: Method = "reversed", current: str = "100", **changes: Any) -> Point:
    return point(
        "SW-01",
        method=method,
        repeats=METHOD_READINGS[method],
        rule=METHOD_RULES[method],
        current_ma=Decimal(current),
        **changes,
    )


# --- what is keyed ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "cells"),
    [
        ("-0.52", Unit.MOHM, ("-0.52", "mV/100mA")),
        ("0.550", Unit.MOHM, ("0.550", "mV/100mA")),
        (" -.5 ", Unit.MOHM, ("-0.5", "mV/100mA")),
        ("-520u", Unit.MOHM, ("-520", "uV/100mA")),
        ("-520 µV", Unit.MOHM, ("-520", "uV/100mA")),
        ("0.55m", Unit.OHM, ("0.55", "mV/100mA")),
        ("1.2V", Unit.MOHM, ("1.2", "V/100mA")),
        ("1.2", Unit.OHM, ("1.2", "V/100mA")),
        ("12", Unit.UOHM, ("12", "uV/100mA")),
        ("-0.00", Unit.MOHM, ("-0.00", "mV/100mA")),
    ],
)
def test_digits_sign_and_unit_stay_as_keyed(text: str, unit: Unit, cells: tuple[str, str]) -> None:
    keyed = parse_keyed(text, unit, HUNDRED)
    assert keyed.cells == cells
    assert parse_cells(*cells) == keyed


@pytest.mark.parametrize(
    "text", ["", "-", "--1", "+0.5", "0,5", "1.", "1k", "2R5", "0.5 m m", "1e-3", "0.5mA"]
)
def test_what_is_no_voltage_is_refused_with_a_reason(text: str) -> None:
    with pytest.raises(NotAResistanceError, match=r"\w"):
        parse_keyed(text, Unit.MOHM, HUNDRED)


def test_without_a_test_current_a_sign_stays_refused() -> None:
    with pytest.raises(NotAResistanceError, match="a resistance has no sign"):
        parse_keyed("-0.52", Unit.MOHM, None)


def test_it_is_read_back_and_shown_with_its_sign_and_what_it_comes_to() -> None:
    assert speak_reading(mv("-0.52")) == "minus zero decimal five two millivolts"
    assert str(mv("-0.52")) == "-0.52 mV (5.2 mΩ)"
    assert mv("-0.52").ohms == Decimal("0.0052")


def test_the_step_is_that_of_the_voltage_over_the_current_rounded_up() -> None:
    assert mv("0.52").resolution == Decimal("0.0001")  # 0.01 mV at 100 mA
    assert mv("0.52", "30").resolution == Decimal("0.000334")
    assert mv("0.52", "30").digits == "17.3"


# --- R ------------------------------------------------------------------------------------

signed = st.decimals("-999.999", "999.999", places=3)
currents = st.decimals("0.001", "99999.999", places=3)


def oracle(volts: list[Decimal], current_ma: Decimal) -> Fraction:
    """Ohm, from millivolt and milliampere."""
    amperes = Fraction(current_ma) / 1000
    each = [Fraction(v) / 1000 for v in volts]
    if len(each) == 2:
        return abs(each[0] - each[1]) / (2 * amperes)
    return abs(each[0] - 2 * each[1] + each[2]) / (4 * amperes)


@given(st.lists(signed, min_size=2, max_size=3), currents)
def test_r_is_exact_to_forty_digits(volts: list[Decimal], current: Decimal) -> None:
    readings = [voltage_reading(v, VoltUnit.MILLIVOLT, current) for v in volts]
    found = reversed_ohms(readings)
    assert found is not None
    assert abs(Fraction(found) - oracle(volts, current)) <= oracle(volts, current) / 10**40


@pytest.mark.parametrize("thermal", ["0", "0.03", "-0.4"])
def test_a_thermal_voltage_cancels_and_so_does_its_drift_in_three(thermal: str) -> None:
    emf, drift, ir = Decimal(thermal), Decimal("0.007"), Decimal("0.2")  # mV; 2 mohm at 100 mA
    assert reversed_ohms([mv(str(ir + emf)), mv(str(-ir + emf))]) == Decimal("0.002")
    three = [mv(str(ir + emf)), mv(str(-ir + emf + drift)), mv(str(ir + emf + 2 * drift))]
    assert reversed_ohms(three) == Decimal("0.002")
    assert reversed_ohms(three[:2]) != Decimal("0.002")


def test_which_way_the_current_ran_first_changes_nothing() -> None:
    assert reversed_ohms([mv("0.55"), mv("-0.52")]) == reversed_ohms([mv("-0.52"), mv("0.55")])
    assert reversed_ohms([mv("0.55"), mv("-0.52")]) == Decimal("0.00535")


def test_what_is_no_pair_of_voltages_is_none() -> None:
    ohm = Resistance(Decimal("5.2"), Unit.MOHM)
    assert [reversed_ohms(each) for each in ([mv("0.5")], [mv("0.5"), ohm], [ohm, ohm])] == [None] * 3


# --- verdicts -----------------------------------------------------------------------------

MILLI = Fraction(1, 1000)
DECISIONS = [
    DecisionRule(RuleKind.SIMPLE),
    DecisionRule(RuleKind.GUARDED),
    DecisionRule(RuleKind.FOUR_STATES),
]


@pytest.mark.parametrize("method", ["reversed", "three-reading"])
@pytest.mark.parametrize("comparator", [Comparator.LESS, Comparator.AT_MOST])
@pytest.mark.parametrize("rule", DECISIONS, ids=lambda rule: rule.kind.value)
@pytest.mark.parametrize("step", [-1, 0, 1])
@pytest.mark.parametrize("edge", [Fraction("2.5"), Fraction("2.4"), Fraction("2.6")])
def test_verdicts_on_each_edge_and_a_step_beside_it(
    method: Method, comparator: Comparator, rule: DecisionRule, step: int, edge: Fraction
) -> None:
    """Limit 2.5 mohm, U = 0.1 mohm: edges of the guard band and of the limit, ILAC-G8:09/2019 4.2."""
    value = edge + step * Fraction(1, 1000)  # mohm
    half = value * 100 / 1000  # mV at 100 mA
    emf = Fraction("0.03")
    volts = [half + emf, -half + emf, half + emf][: METHOD_READINGS[method]]
    readings = [mv(f"{float(v):.4f}") for v in volts]
    limit = Limit(maximum=Resistance(Decimal("2.5"), Unit.MOHM), upper=comparator, rule=rule)
    stated = Accuracy(Decimal(0), Resistance(Decimal("0.1"), Unit.MOHM), Resistance(Decimal(0), Unit.MOHM))
    said = judge_take(volt_point(method, limit=limit), readings, retest=False, conditions=Conditions(stated))

    def meets(bound: Fraction) -> bool:
        return value < bound or (comparator is Comparator.AT_MOST and value == bound)

    if rule.kind is RuleKind.SIMPLE:
        wanted = "pass" if meets(Fraction("2.5")) else "fail"
    elif meets(Fraction("2.4")):
        wanted = "pass"
    elif rule.kind is RuleKind.GUARDED:
        wanted = "fail"
    elif meets(Fraction("2.5")):
        wanted = "conditional pass"
    else:
        wanted = "conditional fail" if meets(Fraction("2.6")) else "fail"
    assert said.value == wanted


def test_an_endless_fraction_is_not_rounded_onto_its_limit() -> None:
    """1 mV both ways at 30 mA is 33.3… mohm: above 33.333333333 and below 33.333333334."""
    readings = [mv("1", "30"), mv("-1", "30")]
    for bound, wanted in (("33.333333333", Verdict.FAIL), ("33.333333334", Verdict.PASS)):
        limit = Limit(maximum=Resistance(Decimal(bound), Unit.MOHM))
        assert judge_take(volt_point(current="30", limit=limit), readings, retest=False) is wanted


# --- in a survey --------------------------------------------------------------------------


def walked(*texts: str, method: Method = "reversed") -> Walk:
    walk = Walk(volt_point(method), "SW-02")
    for text in texts:
        reading = parse_keyed(text, Unit.MOHM, HUNDRED)
        said = walk.survey.would_say("SW-01", reading)
        facts = {"record": walk.survey.next_record, "point": "SW-01", "reading": reading, "verdict": said}
        walk.tell(ev.ReadingTaken, **facts)
    return walk


def test_the_first_voltage_is_not_judged_and_the_pair_is_by_r() -> None:
    walk = walked("0.24", "-0.27")  # 2.55 mohm; each alone 2.4 and 2.7
    assert [record.verdict.value for record in walk.survey.records.values()] == ["recorded", "fail"]
    left = walk.survey.standings["SW-01"].as_left
    assert left is not None
    assert str(left.value) == "2.55 mΩ (0.24 mV, -0.27 mV)"
    assert left.value.ohms == Decimal("0.00255")
    assert not walk.survey.problems


def test_three_voltages_are_judged_by_the_drift_free_form() -> None:
    walk = walked("0.30", "-0.20", "0.30", method="three-reading")  # (0.3 + 0.4 + 0.3) / 0.4 = 2.5
    left = walk.survey.standings["SW-01"].as_left
    assert left is not None
    assert (left.value.ohms, left.verdict.value) == (Decimal("0.0025"), "pass")


def test_an_unplanned_point_beside_it_has_its_test_current() -> None:
    walk = Walk(volt_point())
    walk.insert(replace(volt_point(), id="X01", unplanned=True))
    assert walk.survey.points["X01"].current_ma == HUNDRED
    assert not walk.survey.problems


@pytest.mark.parametrize(
    ("at", "reading"),
    [
        ("SW-01", Resistance(Decimal("2.4"), Unit.MOHM)),
        ("SW-01", mv("0.24", "50")),
        ("SW-02", mv("0.24")),
    ],
)
def test_a_reading_of_another_kind_than_its_point_wants_is_told(at: str, reading: Resistance) -> None:
    walk = Walk(volt_point(), "SW-02")
    said = walk.survey.would_say(at, reading)
    walk.tell(ev.ReadingTaken, record=1, point=at, reading=reading, verdict=said)
    (problem,) = walk.survey.problems
    assert "was keyed in" in problem.what
    assert "judge this point again by hand" in problem.remedy


def test_the_same_sign_twice_is_doubted() -> None:
    assert "minus left out" in sign_doubt(mv("0.55"), mv("0.52"))
    assert "minus left out" in sign_doubt(mv("-0.55"), mv("-0.52"))
    quiet = [(mv("0.55"), mv("-0.52")), (None, mv("0.5")), (mv("0.00"), mv("0.5"))]
    assert [sign_doubt(before, now) for before, now in quiet] == ["", "", ""]
