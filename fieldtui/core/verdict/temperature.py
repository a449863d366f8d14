"""Readings judged as they would be at 20 C, where the route asks for it.

A reading is never changed: its limit is carried to the temperature of the measurement instead,
which is the same comparison without a division. Source: R = R20 (1 + alpha20 (t - 20)), with
alpha20 of IEC 60028 (copper) and IEC 60889 (aluminium).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from fieldtui.core.measurement.ohms import EXACT, Resistance
from fieldtui.core.plan.conductors import ALPHA_20, metal_of, to_20_by_alpha
from fieldtui.core.plan.route import Limit, Metal, Point

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


def judged_value(point: Point, reading: Resistance, celsius: Decimal | None) -> Judged:
    """Which value of ``reading`` is judged at ``point``, measured at ``celsius``."""
    if not is_corrected(point, celsius) or celsius is None:
        return Judged(reading, reading, None)
    at_20 = to_20_by_alpha(reading.value, celsius, metal_of(point))
    step = Decimal(1).scaleb(int(reading.value.as_tuple().exponent) + _FINER)
    return Judged(reading, Resistance(at_20.quantize(step, context=EXACT), reading.unit), celsius)


def is_corrected(point: Point, celsius: Decimal | None) -> bool:
    """Whether values of ``point`` are judged at 20 C; without a temperature nothing can be corrected."""
    return point.correct_to_20 and celsius is not None


def lacks_temperature(point: Point, celsius: Decimal | None) -> bool:
    """Whether the point is to be judged at 20 C and is judged as measured for want of a temperature."""
    return point.correct_to_20 and celsius is None and point.limit.judges


def limit_at(limit: Limit, celsius: Decimal, metal: Metal) -> Limit:
    """The limit for a value measured at ``celsius`` that at 20 C is held to ``limit``; exact."""
    factor = EXACT.add(1, EXACT.multiply(ALPHA_20[metal], EXACT.subtract(celsius, 20)))

    def carried(bound: Resistance | None) -> Resistance | None:
        return None if bound is None else Resistance(EXACT.multiply(bound.value, factor), bound.unit)

    return replace(limit, maximum=carried(limit.maximum), minimum=carried(limit.minimum))
