"""The only place that parses, formats and speaks a resistance.

Values are :class:`decimal.Decimal`; the digits stay as they were keyed, so that ``1.50`` is
never turned into ``1.5``. Units differ only by powers of ten, so every conversion is exact.

Sources: IEC 60062 (letter in place of the decimal point: R, K, M, and L for milliohm);
SI prefixes. Lower-case forms such as ``4m7`` are workshop practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Context, Decimal
from enum import Enum

MAX_DIGITS = 9  # before and after the point; more is a slip, not a reading

# Readings of 15 digits on each side of the point in ohm, added up, and times a temperature factor, a
# percentage and the factor of a guard band; room for a division. What ends in decimals is not rounded.
EXACT = Context(prec=120)


class Unit(Enum):
    """Units a reading may carry. The value is the spelling used in every file."""

    UOHM = "uohm"
    MOHM = "mohm"
    OHM = "ohm"
    KOHM = "kohm"
    MEGOHM = "Mohm"

    @property
    def exponent(self) -> int:
        """Power of ten that turns a value in this unit into ohm."""
        return _EXPONENTS[self]

    @property
    def symbol(self) -> str:
        """The SI symbol, for screens and reports."""
        return _SYMBOLS[self]

    @property
    def spoken(self) -> str:
        return _SPOKEN[self]


_EXPONENTS = {Unit.UOHM: -6, Unit.MOHM: -3, Unit.OHM: 0, Unit.KOHM: 3, Unit.MEGOHM: 6}
_SYMBOLS = {Unit.UOHM: "µΩ", Unit.MOHM: "mΩ", Unit.OHM: "Ω", Unit.KOHM: "kΩ", Unit.MEGOHM: "MΩ"}
_SPOKEN = {
    Unit.UOHM: "microhms",
    Unit.MOHM: "milliohms",
    Unit.OHM: "ohms",
    Unit.KOHM: "kilohms",
    Unit.MEGOHM: "megohms",
}

# Case matters: m is milli and M is mega, a factor of 1e9 apart.
_SUFFIXES = {
    "u": Unit.UOHM,
    "µ": Unit.UOHM,  # micro sign
    "μ": Unit.UOHM,  # Greek mu, what NFC leaves alone
    "m": Unit.MOHM,
    "L": Unit.MOHM,
    "r": Unit.OHM,
    "R": Unit.OHM,
    "k": Unit.KOHM,
    "K": Unit.KOHM,
    "M": Unit.MEGOHM,
}
_LETTERS = "".join(_SUFFIXES)
_NUMBER = re.compile(r"(?P<whole>[0-9]*)(?:\.(?P<part>[0-9]+))?", re.ASCII)
_SUFFIXED = re.compile(rf"(?P<number>[0-9]*(?:\.[0-9]+)?) ?(?P<letter>[{_LETTERS}])(?:ohms?)?", re.ASCII)
_BARE_OHM = re.compile(r"(?P<number>[0-9]*(?:\.[0-9]+)?) ?ohms?", re.ASCII)
_LETTER_FOR_POINT = re.compile(rf"(?P<whole>[0-9]*)(?P<letter>[{_LETTERS}])(?P<part>[0-9]+)", re.ASCII)


class NotAResistanceError(ValueError):
    """The text is not a value; the message says why, in words for the person keying."""


@dataclass(frozen=True, slots=True)
class Resistance:
    """A resistance: ``value`` in ``unit``, digits as keyed."""

    value: Decimal
    unit: Unit

    @property
    def ohms(self) -> Decimal:
        """The value in ohm, exact."""
        return self.value.scaleb(self.unit.exponent, EXACT)

    @property
    def digits(self) -> str:
        """The value as text, trailing zeros kept, never in exponent form."""
        return format(self.value, "f")

    @property
    def cells(self) -> tuple[str, str]:
        """Value and unit as the trail has them."""
        return self.digits, self.unit.value

    @property
    def resolution(self) -> Decimal:
        """One step of the last keyed digit, in ohm."""
        exponent = self.value.as_tuple().exponent
        assert isinstance(exponent, int)  # a finite value, by construction
        return Decimal(1).scaleb(min(exponent, 0) + self.unit.exponent)

    def to(self, unit: Unit) -> Resistance:
        """The same resistance in another unit; the point moves, the digits stay."""
        shift = self.unit.exponent - unit.exponent
        moved = self.value.scaleb(shift, EXACT)
        exponent = moved.as_tuple().exponent
        if isinstance(exponent, int) and exponent > 0:
            moved = moved.quantize(Decimal(1))
        return Resistance(moved, unit)

    def in_both(self, unit: Unit | None) -> str:
        """As stated, and in ``unit`` too where that is another: ``0.003 Ω = 3 mΩ``, exact."""
        return str(self) if unit in (None, self.unit) else f"{self} = {self.to(unit)}"

    def __str__(self) -> str:
        return f"{self.digits} {self.unit.symbol}"


def parse_unit(text: str) -> Unit:
    """The unit spelled ``uohm``, ``mohm``, ``ohm``, ``kohm`` or ``Mohm``; case matters."""
    for unit in Unit:
        if text == unit.value:
            return unit
    raise NotAResistanceError(f"unit {text!r} is not one of {', '.join(u.value for u in Unit)}")


def parse_number(text: str) -> Decimal:
    """A plain decimal number in the strict form: digits, at most one point, no sign.

    The leading zero may be left out (``.47``); a point needs a digit after it.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    found = _NUMBER.fullmatch(text)
    if found is None or not text:
        raise NotAResistanceError(_why_not(text))
    whole, part = found["whole"], found["part"]
    if not whole and part is None:
        raise NotAResistanceError(_why_not(text))
    if len(whole) > MAX_DIGITS or len(part or "") > MAX_DIGITS:
        raise NotAResistanceError(f"{text}: more than {MAX_DIGITS} digits on one side of the point")
    return Decimal(f"{whole or '0'}.{part}" if part is not None else whole)


def parse_resistance(text: str, default: Unit) -> Resistance:
    """A value as keyed: ``1.38``, ``950u``, ``1.38m``, ``2.1r``, ``R47``, ``2R5``, ``4L7``, ``4M7``.

    Args:
        text: what was keyed; outer white space is ignored.
        default: the unit of a value keyed without one.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    text = text.strip()
    if found := _LETTER_FOR_POINT.fullmatch(text):
        return Resistance(
            parse_number(f"{found['whole'] or '0'}.{found['part']}"), _SUFFIXES[found["letter"]]
        )
    if found := _SUFFIXED.fullmatch(text):
        return Resistance(parse_number(found["number"]), _SUFFIXES[found["letter"]])
    if found := _BARE_OHM.fullmatch(text):
        return Resistance(parse_number(found["number"]), Unit.OHM)
    return Resistance(parse_number(text), default)


_DIGIT_WORDS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def speak(resistance: Resistance) -> str:
    """The value as the recorder reads it back: ``one decimal three eight milliohms``.

    Digit by digit, "decimal" for the point, as in radiotelephony (common practice, no source).
    """
    return f"{speak_digits(resistance.digits)} {one_or_more(resistance.digits, resistance.unit.spoken)}"


def one_or_more(digits: str, units: str) -> str:
    """The name of a unit as it follows a number: ``milliohm`` after a plain 1, else ``milliohms``."""
    return units.removesuffix("s") if digits == "1" else units


def speak_digits(digits: str) -> str:
    """A plain number in words: ``one decimal three eight``."""
    return " ".join("decimal" if c == "." else _DIGIT_WORDS[int(c)] for c in digits)


# What displays and people say where there is no value; common practice, no source.
_OVER_RANGE = re.compile(
    r"[0-9.]*(?:o\.?l\.?d?|ovld?|over(?:[- ]?(?:range|load|flow))?)|0\.?l", re.IGNORECASE | re.ASCII
)
_OPEN = re.compile(r"[0-9.]*open(?:[- ]?circuit)?", re.IGNORECASE | re.ASCII)


def no_value_called(text: str) -> str | None:
    """``over range`` or ``open`` where ``text`` says so, as a meter shows or a prober calls it; else None."""
    text = text.strip()
    if _OPEN.fullmatch(text):
        return "open"
    return "over range" if _OVER_RANGE.fullmatch(text) else None


def _why_not(text: str) -> str:
    if not text:
        return "no value keyed"
    if called := no_value_called(text):
        return f"{text}: {called} is no value, it is a try without one"
    if "," in text:
        return f"{text}: use a point for decimals"
    if text.startswith(("-", "+")):
        return f"{text}: a resistance has no sign; zero the meter and take it again"
    if text.count(".") > 1:
        return f"{text}: more than one point"
    if text == ".":
        return "a point alone is not a value"
    if text.endswith("."):
        return f"{text}: digit missing after the point"
    return f"{text}: not a value; examples 1.38, 950u, 2.1r, R47, 4L7"
