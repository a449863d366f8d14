"""IEC 60062: a letter stands for the decimal point; and the SI prefixes that a reading may carry.

The examples up to megohm are quoted from public copies of IEC 60062; ``4L7`` (L for milliohm) was
seen second-hand. Lower-case letters (``4m7``, ``2r5``, ``4k7``) are workshop practice, no source.
SI prefixes: BIPM, The International System of Units, 9th edition, table 7 (values from memory).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit, parse_resistance

IEC_60062 = {
    "R47": Fraction("0.47"),
    "4R7": Fraction("4.7"),
    "470R": Fraction(470),
    "4K7": Fraction(4700),
    "47K3": Fraction(47300),
    "4M7": Fraction(4_700_000),
}
SECOND_HAND = {"4L7": Fraction("0.0047")}
WORKSHOP = {"4m7": Fraction("0.0047"), "2r5": Fraction("2.5"), "4k7": Fraction(4700)}  # no source


def ohms(text: str, unit: Unit) -> Fraction:
    return Fraction(parse_resistance(text, unit).ohms)


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize(("text", "value"), [*IEC_60062.items(), *SECOND_HAND.items(), *WORKSHOP.items()])
def test_a_letter_for_the_point_means_the_same_at_every_point(text: str, value: Fraction, unit: Unit) -> None:
    assert ohms(text, unit) == value


@pytest.mark.parametrize("text", [*IEC_60062, *SECOND_HAND])
def test_the_letter_form_and_the_plain_form_are_one_value(text: str) -> None:
    """``4K7`` is 4.7 kilohm: the letter moved to the end, the point in its place."""
    letter = next(c for c in text if c.isalpha())
    before, after = text.split(letter)
    plain = f"{before or '0'}.{after}" if after else before
    assert parse_resistance(f"{plain}{letter}", Unit.OHM) == parse_resistance(text, Unit.OHM)


def test_milli_and_mega_differ_by_a_thousand_million() -> None:
    """SI: milli is 1e-3, mega 1e6. A slip of the shift key is a factor of 1e9."""
    assert ohms("4M7", Unit.OHM) / ohms("4m7", Unit.OHM) == 10**9
    assert ohms("1M", Unit.OHM) / ohms("1m", Unit.OHM) == 10**9


@pytest.mark.parametrize(
    ("unit", "power"), [("uohm", -6), ("mohm", -3), ("ohm", 0), ("kohm", 3), ("Mohm", 6)]
)
def test_prefixes_are_those_of_the_si(unit: str, power: int) -> None:
    assert ohms(f"1 {unit}", Unit.OHM) == Fraction(10) ** power


@pytest.mark.parametrize("text", ["4G7", "4T7", "4p7", "4n7", "4F7", "R", "4.R7", "4R.7", "R4R7", "4R7K"])
def test_letters_that_are_no_resistance_here_are_refused(text: str) -> None:
    """IEC 60062 has G and T too; no bond, ground or static path of this trade reads giga- or teraohms."""
    with pytest.raises(NotAResistanceError):
        parse_resistance(text, Unit.OHM)
