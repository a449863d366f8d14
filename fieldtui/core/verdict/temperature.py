"""Readings judged as they would be at 20 C, where the route asks for it.

A reading is never changed: its limit is carried to the temperature of the measurement instead,
which is the same comparison without a division. Source: R = R20 (1 + alpha20 (t - 20)), with
alpha20 of IEC 60028 (copper) and IEC 60889 (aluminium).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from fieldtui.core.measurement.ohms import EXACT, Resistance, Unit
from fieldtui.core.plan.conductors import ALPHA_20, metal_of
from fieldtui.core.plan.route import Limit, Metal, Point
from fieldtui.core.verdict.rounding import round_beside

_FINER = -2  # powers of ten by which a corrected value is shown finer than the reading


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading, and the value that is held against the limit: the same one, or that at 20 C."""

    measured: Resistance  # digits as keyed
    value: Resistance  # what is judged
    celsius: Decimal | None  # the temperature corrected from; None where judged as measured

    @property
    def is_corrected(self) -> bool:
        return self.celsius is not None


def judged_value(
    point: Point,
    reading: Resistance,
    celsius: Decimal | None,
    *,
    limit: Limit | None = None,
    ohms: Decimal | None = None,
) -> Judged:
    """Which value of ``reading`` is judged at ``point``, measured at ``celsius``.

    That at 20 C is told two digits finer than the reading, and finer still where it would else seem to
    be on the other side of its limit.

    Args:
        point: what is read there.
        reading: the value as it is told.
        celsius: None where no temperature was taken.
        limit: what the value is held against at 20 C, where not the point's first limit.
        ohms: the value exactly, where ``reading`` of several is rounded.
    """
    if not is_corrected(point, celsius) or celsius is None:
        return Judged(reading, reading, None)
    at_20 = EXACT.divide(reading.ohms if ohms is None else ohms, factor_at(celsius, metal_of(point)))
    step = Decimal(1).scaleb(int(reading.value.as_tuple().exponent) + _FINER + reading.unit.exponent)
    told = round_beside(limit or point.limit, at_20, step)
    return Judged(reading, Resistance(told, Unit.OHM).to(reading.unit), celsius)


def factor_at(celsius: Decimal, metal: Metal) -> Decimal:
    """What a value at 20 C is multiplied by to be that at ``celsius``; exact."""
    return EXACT.add(1, EXACT.multiply(ALPHA_20[metal], EXACT.subtract(celsius, 20)))


def is_corrected(point: Point, celsius: Decimal | None) -> bool:
    """Whether values of ``point`` are judged at 20 C; without a temperature nothing can be corrected."""
    return point.correct_to_20 and celsius is not None


def lacks_temperature(point: Point, celsius: Decimal | None) -> bool:
    """Whether the point is to be judged at 20 C and is judged as measured for want of a temperature."""
    return point.correct_to_20 and celsius is None and point.limit.judges


def limit_at(limit: Limit, celsius: Decimal, metal: Metal) -> Limit:
    """The limit for a value measured at ``celsius`` that at 20 C is held to ``limit``; exact."""
    factor = factor_at(celsius, metal)

    def carried(bound: Resistance | None) -> Resistance | None:
        return None if bound is None else Resistance(EXACT.multiply(bound.value, factor), bound.unit)

    return replace(limit, maximum=carried(limit.maximum), minimum=carried(limit.minimum))
