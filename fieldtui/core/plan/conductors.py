"""The resistance a jumper must have: the floor below which no sound bond through it can read.

Copper: 1/58 ohm mm2/m at 20 C and 0.00393/K (IEC 60028). Aluminium: 0.028264 ohm mm2/m and
0.00403/K (IEC 60889). Gauge sizes: ASTM B258. All in Decimal, no float anywhere.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from types import MappingProxyType

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Conductor, Metal, Point

RESISTIVITY_20: Mapping[Metal, Decimal] = MappingProxyType(
    {"copper": Decimal(1) / Decimal(58), "aluminium": Decimal("0.028264")}
)  # ohm mm2/m at 20 C

ALPHA_20: Mapping[Metal, Decimal] = MappingProxyType(
    {"copper": Decimal("0.00393"), "aluminium": Decimal("0.00403")}
)  # per kelvin, referred to 20 C

MM_PER_INCH = Decimal("25.4")
_PI = Decimal("3.14159265358979323846264338328")
_PRECISION = Context(prec=28, rounding=ROUND_HALF_EVEN)
_SHOWN_DIGITS = Context(prec=4, rounding=ROUND_HALF_EVEN)
_GAUGE = re.compile(r"(?P<zeros>[1-4])/0|(?P<number>0|[1-9][0-9]?)", re.ASCII)
_THICKEST, _THINNEST = -3, 40  # 4/0 and 40


class NotAGaugeError(ValueError):
    """The text is no AWG size."""


def gauge_number(awg: str) -> int:
    """The number in the gauge formula: ``"12"`` is 12, ``"1/0"`` and ``"0"`` are 0, ``"4/0"`` is -3.

    Raises:
        NotAGaugeError: for anything but 4/0 to 1/0 and 0 to 40.
    """
    found = _GAUGE.fullmatch(awg)
    if found is not None:
        number = 1 - int(found["zeros"]) if found["zeros"] else int(found["number"])
        if _THICKEST <= number <= _THINNEST:
            return number
    raise NotAGaugeError(f"{awg!r} is not an AWG size from 4/0 to 40")


def diameter_inch(awg: str) -> Decimal:
    """Diameter of a solid conductor in inch: 0.005 * 92 ** ((36 - n) / 39) (ASTM B258)."""
    with localcontext(_PRECISION):
        return Decimal("0.005") * Decimal(92) ** (Decimal(36 - gauge_number(awg)) / 39)


def area_mm2(awg: str) -> Decimal:
    """Cross-section of a solid conductor in mm2, from its diameter (ASTM B258)."""
    with localcontext(_PRECISION):
        return _PI / 4 * (diameter_inch(awg) * MM_PER_INCH) ** 2


def ohms_at_20(conductor: Conductor) -> Decimal:
    """Resistance of ``conductor`` in ohm at 20 C, from its nominal cross-section."""
    with localcontext(_PRECISION):
        area = conductor.mm2 if conductor.mm2 is not None else area_mm2(conductor.awg)
        return RESISTIVITY_20[conductor.metal] * conductor.length_mm / 1000 / area


def metal_of(point: Point) -> Metal:
    """What the point's conductor is made of; copper where nothing says."""
    return point.conductor.metal if point.conductor is not None else point.metal


def resistance_at_20(conductor: Conductor) -> Resistance:
    """Resistance of ``conductor`` at 20 C in milliohm, to four significant digits."""
    milliohms = _SHOWN_DIGITS.plus(ohms_at_20(conductor).scaleb(-Unit.MOHM.exponent))
    exponent = milliohms.as_tuple().exponent
    assert isinstance(exponent, int)  # a finite value divided by a positive one
    return Resistance(milliohms.quantize(Decimal(1)) if exponent > 0 else milliohms, Unit.MOHM)


def to_20_by_alpha(value: Decimal, celsius: Decimal, metal: Metal = "copper") -> Decimal:
    """``value`` measured at ``celsius`` as it would be at 20 C, in the same unit.

    value / (1 + alpha20 * (t - 20)), alpha20 from IEC 60028 and IEC 60889. Not the factor of
    IEC 60228, which rounds the same physics otherwise: never use both on one value.
    """
    with localcontext(_PRECISION):
        return value / (1 + ALPHA_20[metal] * (celsius - 20))


def cable_factor_to_20(celsius: Decimal) -> Decimal:
    """k_t of IEC 60228, 250 / (230 + t): multiplies a cable's resistance at ``celsius``.

    Not to be mixed with :func:`to_20_by_alpha`.
    """
    with localcontext(_PRECISION):
        return Decimal(250) / (230 + celsius)
