"""Voltages keyed in place of resistances, where the current is known and reversed between readings.

With the current one way and the other, R = (V+ - V-) / (2 I); with it the first way once more,
R = (V1 - 2 V2 + V3) / (4 I), which cancels a drift of the thermal voltage that is linear in time too.
Which way came first is not asked: R is the size of what comes out. Common practice, no source.

In the trail such a reading has the digits and the sign as keyed, and a unit that carries the
current: ``-0.52`` in ``mV/100mA``. A row so tells its resistance by itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal
from enum import Enum
from fractions import Fraction

from fieldtui.core.measurement.ohms import (
    MAX_DIGITS,
    NotAResistanceError,
    Resistance,
    Unit,
    one_or_more,
    parse_number,
    parse_resistance,
    speak,
    speak_digits,
)

# A limit and a keyed voltage differ by more than this many digits can hide, or not at all.
_DIVIDING = Context(prec=60)
_UPWARD = Context(prec=3, rounding=ROUND_CEILING)


class VoltUnit(Enum):
    """Units a voltage may carry. The value is the spelling used in the trail."""

    MICROVOLT = "uV"
    MILLIVOLT = "mV"
    VOLT = "V"

    @property
    def exponent(self) -> int:
        """Power of ten that turns a value in this unit into volt."""
        return _EXPONENTS[self]

    @property
    def symbol(self) -> str:
        """The SI symbol, for screens and reports."""
        return self.value.replace("u", "µ")


_EXPONENTS = {VoltUnit.MICROVOLT: -6, VoltUnit.MILLIVOLT: -3, VoltUnit.VOLT: 0}
_SPOKEN = {VoltUnit.MICROVOLT: "microvolts", VoltUnit.MILLIVOLT: "millivolts", VoltUnit.VOLT: "volts"}
_OHMS = {VoltUnit.MICROVOLT: Unit.UOHM, VoltUnit.MILLIVOLT: Unit.MOHM, VoltUnit.VOLT: Unit.OHM}
_SUFFIXES = {
    **dict.fromkeys(("u", "µ", "μ", "uV", "µV", "μV"), VoltUnit.MICROVOLT),
    **dict.fromkeys(("m", "mV"), VoltUnit.MILLIVOLT),
    "V": VoltUnit.VOLT,
}
UNIT_WORDS = frozenset(_SUFFIXES)
_KEYED = re.compile(r"(?P<sign>-?)(?P<number>[0-9]*(?:\.[0-9]+)?) ?(?P<suffix>[uµμm]?V?)", re.ASCII)
_UNIT_CELL = re.compile(r"±? ?(?P<unit>[uµμm]?V)(?:/(?P<current>[0-9]+(?:\.[0-9]+)?)mA)?", re.ASCII)
_TRAIL_UNIT = re.compile(r"(?P<unit>uV|mV|V)/(?P<current>[0-9]+(?:\.[0-9]+)?)mA", re.ASCII)


@dataclass(frozen=True, slots=True)
class VoltageReading(Resistance):
    """A voltage as keyed, with its sign, and as a resistance what its size alone would come to.

    ``value`` and ``unit`` are |V| / I, thermal voltage still in it, rounded half even to a step no
    larger than the display's; nothing is judged by it. ``current_ma`` is the test current, mA.
    """

    volts: Decimal  # in volt_unit, digits and sign as keyed
    volt_unit: VoltUnit
    current_ma: Decimal

    @property
    def resolution(self) -> Decimal:
        """One step of the last keyed digit of the voltage over the current, in ohm, rounded up."""
        step = _step_of(self.volts).scaleb(self.volt_unit.exponent + 3)
        return _UPWARD.divide(step, self.current_ma)

    @property
    def exact_ohms(self) -> Fraction:
        """The voltage with its sign over the current, in ohm."""
        volts = self.volts.scaleb(self.volt_unit.exponent)
        return Fraction(volts) * 1000 / Fraction(self.current_ma)

    @property
    def is_negative(self) -> bool:
        return self.volts < 0

    @property
    def cells(self) -> tuple[str, str]:
        """Value and unit as the trail has them."""
        return format(self.volts, "f"), f"{self.volt_unit.value}/{self.current_ma:f}mA"

    @property
    def keyed(self) -> str:
        """``-0.52 mV``."""
        return f"{self.volts:f} {self.volt_unit.symbol}"

    def __str__(self) -> str:
        return f"{self.keyed} ({self.digits} {self.unit.symbol})"


@dataclass(frozen=True, slots=True)
class ReversedResistance(Resistance):
    """R of a take of voltages, told together with them; rounded half even one digit below their step."""

    taken: tuple[VoltageReading, ...]

    def __str__(self) -> str:
        return f"{self.digits} {self.unit.symbol} ({', '.join(each.keyed for each in self.taken)})"


def voltage_reading(volts: Decimal, volt_unit: VoltUnit, current_ma: Decimal) -> VoltageReading:
    """The reading of ``volts`` in ``volt_unit`` at a test current in mA, above nought."""
    step = _DIVIDING.divide(_step_of(volts).scaleb(3), current_ma)
    places = max(-MAX_DIGITS, min(0, step.adjusted()))
    exact = _DIVIDING.divide(abs(volts).scaleb(3), current_ma)
    value = exact.quantize(Decimal(1).scaleb(places), rounding=ROUND_HALF_EVEN, context=_DIVIDING)
    return VoltageReading(value, _OHMS[volt_unit], volts, volt_unit, current_ma)


def current_of(reading: Resistance) -> Decimal | None:
    """The test current in mA of a reading keyed in volt; None of one keyed in ohm."""
    return reading.current_ma if isinstance(reading, VoltageReading) else None


def default_volt_unit(unit: Unit) -> VoltUnit:
    """The unit of a voltage keyed without one, at a point read in ``unit``: mV for milliohm."""
    return next((volts for volts, ohms in _OHMS.items() if ohms is unit), VoltUnit.VOLT)


def parse_keyed(text: str, unit: Unit, current_ma: Decimal | None) -> Resistance:
    """A value as keyed at a point read in ``unit``: a voltage where its test current, mA, is stated.

    ``-0.52``, ``550u``, ``0.55m``, ``1.2V``; without a current as in :func:`ohms.parse_resistance`.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    if current_ma is None:
        return parse_resistance(text, unit)
    return parse_voltage(text, default_volt_unit(unit), current_ma)


def parse_voltage(text: str, default: VoltUnit, current_ma: Decimal) -> VoltageReading:
    """A voltage as keyed, in ``default`` where it says no unit; the test current in mA.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    text = text.strip()
    found = _KEYED.fullmatch(text)
    if found is None or not found["number"]:
        bare = text.removeprefix("-")
        if not bare or "," in bare or bare.endswith("."):
            parse_number(bare)  # says what is wrong with a number
        raise NotAResistanceError(f"{text}: not a voltage; examples 0.55, -0.52, -520u, 0.55m, 1.2V")
    number = parse_number(found["number"])
    volts = number.copy_negate() if found["sign"] else number
    return voltage_reading(volts, _SUFFIXES.get(found["suffix"], default), current_ma)


def parse_volt_unit(text: str) -> tuple[VoltUnit, Decimal | None] | None:
    """The unit behind ``mV``, ``±mV`` or ``mV/100mA``, and the current it names, mA; None where it is none.

    Raises:
        NotAResistanceError: the current is too long a number, with the reason in words.
    """
    found = _UNIT_CELL.fullmatch(text)
    if found is None:
        return None
    return _SUFFIXES[found["unit"]], parse_number(found["current"]) if found["current"] else None


def parse_cells(value: str, unit: str) -> VoltageReading | None:
    """The reading in a row's value and unit; None where the unit is none of a voltage.

    Raises:
        NotAResistanceError: the value or the current is no number, with the reason in words.
    """
    found = _TRAIL_UNIT.fullmatch(unit)
    if found is None:
        return None
    current = parse_number(found["current"])
    if not current:
        raise NotAResistanceError(f"{unit}: a voltage without a current is no resistance")
    number = parse_number(value.removeprefix("-"))
    volts = number.copy_negate() if value.startswith("-") else number
    return voltage_reading(volts, VoltUnit(found["unit"]), current)


def reversed_ohms(readings: Sequence[Resistance]) -> Decimal | None:
    """R of a take of two or three voltages in the order taken, in ohm; None where it is no such take."""
    volts = [reading.exact_ohms for reading in readings if isinstance(reading, VoltageReading)]
    if len(volts) != len(readings):
        return None
    if len(volts) == 2:
        ohms = abs(volts[0] - volts[1]) / 2
    elif len(volts) == 3:
        ohms = abs(volts[0] - 2 * volts[1] + volts[2]) / 4
    else:
        return None
    return _DIVIDING.divide(Decimal(ohms.numerator), Decimal(ohms.denominator))


def with_voltages(value: Resistance, readings: Sequence[Resistance]) -> Resistance:
    """``value`` of a take, told together with its voltages; as it is where some were keyed in ohm."""
    volts = tuple(each for each in readings if isinstance(each, VoltageReading))
    if not volts or len(volts) != len(readings):
        return value
    return ReversedResistance(value.value, value.unit, volts)


def sign_doubt(before: Resistance | None, reading: Resistance) -> str:
    """What is odd about the sign of a voltage after another of its take, in words; empty for nothing."""
    if not (isinstance(before, VoltageReading) and isinstance(reading, VoltageReading)):
        return ""
    if not before.volts or not reading.volts or before.is_negative is not reading.is_negative:
        return ""
    same = f"{reading.keyed} has the sign of {before.keyed} before it"
    return f"{same}: current not reversed, or minus left out?"


def speak_reading(reading: Resistance) -> str:
    """The value as the recorder reads it back: ``minus zero decimal five two millivolts``."""
    if not isinstance(reading, VoltageReading):
        return speak(reading)
    sign = ["minus"] if reading.volts.is_signed() else []
    digits = format(abs(reading.volts), "f")
    return " ".join([*sign, speak_digits(digits), one_or_more(digits, _SPOKEN[reading.volt_unit])])


def _step_of(volts: Decimal) -> Decimal:
    exponent = volts.as_tuple().exponent
    assert isinstance(exponent, int)  # a finite value, by construction
    return Decimal(1).scaleb(min(exponent, 0))
