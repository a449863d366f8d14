"""Parsing, formatting and speaking a resistance: every short text against a second, slower reading of it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import (
    MAX_DIGITS,
    NotAResistanceError,
    Resistance,
    Unit,
    parse_number,
    parse_resistance,
    parse_unit,
    speak,
)
from tests.strategies import numbers, resistances, units

POWER = {"u": -6, "µ": -6, "m": -3, "L": -3, "r": 0, "R": 0, "k": 3, "K": 3, "M": 6}
EXPONENT = {"uohm": -6, "mohm": -3, "ohm": 0, "kohm": 3, "Mohm": 6}


def plain_number(text: str) -> Fraction | None:
    """Digits, at most one point, a digit after it; nothing else."""
    whole, point, part = text.partition(".")
    if point and not part:
        return None
    if not (whole or part) or not all(c in "0123456789" for c in whole + part):
        return None
    return Fraction(int(whole + part), 10 ** len(part))


def meaning(text: str, default: str) -> Fraction | None:
    """What a text says in ohm, found by where its one letter stands; None where it says nothing."""
    text = text.strip()
    letters = [c for c in text if c in POWER]
    if not letters:
        number, power = plain_number(text), EXPONENT[default]
    elif len(letters) > 1:
        return None
    elif text.endswith(letters[0]):
        number, power = plain_number(text[:-1].removesuffix(" ")), POWER[letters[0]]
    else:
        before, after = text.split(letters[0])
        is_notation = "." not in text and " " not in text
        number = plain_number(f"{before or '0'}.{after}") if is_notation else None
        power = POWER[letters[0]]
    return None if number is None else number * Fraction(10) ** power


def parsed(text: str, default: Unit = Unit.MOHM) -> Fraction | None:
    try:
        return Fraction(parse_resistance(text, default).ohms)
    except NotAResistanceError:
        return None


def test_every_short_text_says_what_it_should_or_nothing() -> None:
    understood = 0
    for length in range(5):
        for letters in product("05. mMRkuL-", repeat=length):
            text = "".join(letters)
            expected = meaning(text, "mohm")
            assert parsed(text) == expected, repr(text)
            understood += expected is not None
    assert understood > 800


@pytest.mark.parametrize(
    ("text", "digits", "unit"),
    [
        ("1.38", "1.38", Unit.MOHM),
        (" 1.380 ", "1.380", Unit.MOHM),
        (".47", "0.47", Unit.MOHM),
        ("0", "0", Unit.MOHM),
        ("0.00", "0.00", Unit.MOHM),
        ("007", "7", Unit.MOHM),
        ("950u", "950", Unit.UOHM),
        ("950µ", "950", Unit.UOHM),
        ("950μ", "950", Unit.UOHM),  # Greek letter
        ("1.38m", "1.38", Unit.MOHM),
        ("1.38 m", "1.38", Unit.MOHM),
        ("2.1r", "2.1", Unit.OHM),
        ("2.10R", "2.10", Unit.OHM),
        ("4.7k", "4.7", Unit.KOHM),
        ("4.7K", "4.7", Unit.KOHM),
        ("1.5M", "1.5", Unit.MEGOHM),
        ("950uohm", "950", Unit.UOHM),
        ("1.38 mohms", "1.38", Unit.MOHM),
        ("12 ohm", "12", Unit.OHM),
        ("12ohms", "12", Unit.OHM),
        ("5 Mohm", "5", Unit.MEGOHM),
        ("R47", "0.47", Unit.OHM),
        ("2R50", "2.50", Unit.OHM),
        ("4L7", "4.7", Unit.MOHM),
        ("4M7", "4.7", Unit.MEGOHM),
        ("4m7", "4.7", Unit.MOHM),  # workshop practice, no source
    ],
)
def test_keyed_forms(text: str, digits: str, unit: Unit) -> None:
    found = parse_resistance(text, Unit.MOHM)
    assert (found.digits, found.unit) == (digits, unit)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no value keyed"),
        ("  ", "no value keyed"),
        ("m", "no value keyed"),
        (".", "a point alone is not a value"),
        ("1..3", "1..3: more than one point"),
        ("1.3.8", "1.3.8: more than one point"),
        ("1.", "1.: digit missing after the point"),
        ("1,38", "1,38: use a point for decimals"),
        ("-1.38", "-1.38: a resistance has no sign; zero the meter and take it again"),
        ("+1.38", "+1.38: a resistance has no sign; zero the meter and take it again"),
        ("1234567890", "1234567890: more than 9 digits on one side of the point"),
        ("1.0123456789", "1.0123456789: more than 9 digits on one side of the point"),
    ],
)
def test_a_refusal_says_why(text: str, why: str) -> None:
    with pytest.raises(NotAResistanceError) as refused:
        parse_resistance(text, Unit.MOHM)
    assert str(refused.value) == why


@pytest.mark.parametrize(
    "text",
    ["1e3", "1E-3", "NaN", "nan", "Infinity", "inf", "1_000", "１．３８", "١٢", "0x10", "1/2", "½", "1.3 8",
     "1.38mm", "1R2R", "2R5.1", "1.5R5", "1.38\u200b", "1 38", "1.38  m", "R 47", "--1", "1.38 V", "4g7"],
)  # fmt: skip
def test_nothing_else_is_a_value(text: str) -> None:
    with pytest.raises(NotAResistanceError, match=r"examples 1\.38, 950u, 2\.1r, R47, 4L7|no sign"):
        parse_resistance(text, Unit.MOHM)


def test_small_and_large_m_are_a_thousand_million_apart() -> None:
    assert parsed("4.7M") == 10**9 * parsed("4.7m")  # type: ignore[operator]
    assert parsed("4M7") == 10**9 * parsed("4m7")  # type: ignore[operator]
    assert (parse_unit("Mohm"), parse_unit("mohm")) == (Unit.MEGOHM, Unit.MOHM)
    for text in ("MOHM", "Ohm", "mOhm", "", "mΩ"):
        with pytest.raises(NotAResistanceError, match="is not one of uohm, mohm, ohm, kohm, Mohm"):
            parse_unit(text)


@pytest.mark.parametrize("unit", Unit)
def test_a_value_without_a_unit_is_in_that_of_the_point(unit: Unit) -> None:
    assert parsed("2.5", unit) == Fraction("2.5") * Fraction(10) ** EXPONENT[unit.value]


@given(numbers(), units)
def test_digits_stay_as_keyed(text: str, unit: Unit) -> None:
    found = parse_resistance(text, unit)
    assert found.digits == text
    assert found.unit is unit
    assert parse_number(found.digits) == found.value


@given(resistances())
def test_every_value_can_be_keyed_with_its_own_unit_spelled_out(resistance: Resistance) -> None:
    assert parse_resistance(f"{resistance.digits} {resistance.unit.value}", Unit.OHM) == resistance


@given(resistances(), units)
def test_another_unit_moves_the_point_and_nothing_else(resistance: Resistance, unit: Unit) -> None:
    moved = resistance.to(unit)
    assert Fraction(moved.ohms) == Fraction(resistance.ohms)
    assert moved.unit is unit
    assert "E" not in moved.digits
    assert moved.digits.replace(".", "").strip("0") == resistance.digits.replace(".", "").strip("0")


def test_a_larger_unit_keeps_the_noughts_that_were_keyed() -> None:
    assert Resistance(Decimal("950"), Unit.UOHM).to(Unit.MOHM).digits == "0.950"
    assert Resistance(Decimal("1.50"), Unit.MEGOHM).to(Unit.KOHM).digits == "1500"
    assert Resistance(Decimal("0.470"), Unit.OHM).to(Unit.MOHM).digits == "470"
    assert str(Resistance(Decimal("1.50"), Unit.UOHM)) == "1.50 µΩ"


@given(resistances())
def test_resolution_is_one_step_of_the_last_digit(resistance: Resistance) -> None:
    part = resistance.digits.partition(".")[2]
    step = Fraction(10) ** (EXPONENT[resistance.unit.value] - len(part))
    assert Fraction(resistance.resolution) == step


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("1.38", "one decimal three eight milliohms"),
        ("950u", "nine five zero microhms"),
        ("R47", "zero decimal four seven ohms"),
        ("2.0k", "two decimal zero kilohms"),
        ("6M", "six megohms"),
        ("1", "one milliohm"),
        ("1.0", "one decimal zero milliohms"),
        ("1r", "one ohm"),
    ],
)
def test_the_read_back_is_digit_by_digit(text: str, spoken: str) -> None:
    assert speak(parse_resistance(text, Unit.MOHM)) == spoken


@given(numbers(), units)
def test_the_read_back_says_every_digit(text: str, unit: Unit) -> None:
    words = speak(parse_resistance(text, unit)).split()
    names = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    assert [*words[:-1]] == ["decimal" if c == "." else names[int(c)] for c in text]
    assert words[-1] == (unit.spoken.removesuffix("s") if text == "1" else unit.spoken)


@given(st.text(max_size=12))
def test_any_text_is_a_value_or_refused_in_words(text: str) -> None:
    try:
        found = parse_resistance(text, Unit.OHM)
    except NotAResistanceError as refused:
        assert str(refused)
    else:
        assert found.value.is_finite()
        assert len(found.digits.replace(".", "")) <= 2 * MAX_DIGITS
