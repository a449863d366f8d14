"""Measurement uncertainty of a reading, and the budget it is made of.

Source: JCGM 100:2008 (GUM) 4.3, 5.1.2 and 6.2; EA-4/02 M:2022 for the layout of a budget.
Everything is Decimal; a square root is taken to the working precision and never fed back into
the digits of a reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from enum import Enum

from fieldtui.core.measurement.ohms import EXACT, Resistance

_ROOT = Context(prec=50)


class Spread(Enum):
    """How a contribution is distributed about its estimate; the value names it in a budget."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    U_SHAPED = "U-shaped"


# Half width over standard uncertainty; for NORMAL the stated figure is a standard uncertainty.
_SQUARED_DIVISORS = {
    Spread.NORMAL: 1,
    Spread.RECTANGULAR: 3,
    Spread.TRIANGULAR: 6,
    Spread.U_SHAPED: 2,
}


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of a budget.

    ``half_width`` is half the interval, or the standard uncertainty where the spread is normal, in
    the contribution's own unit; ``sensitivity`` turns that into ohm.
    """

    name: str
    half_width: Decimal
    spread: Spread = Spread.NORMAL
    sensitivity: Decimal = Decimal(1)

    @property
    def standard(self) -> Decimal:
        """Its part of the result's standard uncertainty, ohm."""
        return abs(self.sensitivity * self.half_width) / Decimal(_SQUARED_DIVISORS[self.spread]).sqrt()


@dataclass(frozen=True, slots=True)
class Budget:
    """Contributions that do not depend on one another, put together."""

    contributions: tuple[Contribution, ...]
    coverage: Decimal = Decimal(2)  # coverage factor k

    @property
    def standard(self) -> Decimal:
        """Combined standard uncertainty, ohm (GUM 5.1.2)."""
        return combine_standards([each.standard for each in self.contributions])

    @property
    def expanded(self) -> Decimal:
        """Expanded uncertainty U = k u, ohm (GUM 6.2.1)."""
        return self.coverage * self.standard


@dataclass(frozen=True, slots=True)
class Accuracy:
    """A meter's stated accuracy: ``percent`` of the reading plus ``floor``, at coverage ``coverage``.

    ``resolution`` is one step of the display; None where it is to be taken from the digits keyed.
    """

    percent: Decimal
    floor: Resistance
    resolution: Resistance | None = None
    coverage: Decimal = Decimal(2)

    def budget(self, reading: Resistance) -> Budget:
        """The budget of one reading: the stated accuracy and the display's step."""
        stated, step = self._stated(reading), self._step(reading)
        return Budget(
            (
                Contribution("stated accuracy", stated / self.coverage),
                Contribution("display step", step / 2, Spread.RECTANGULAR),
            ),
            self.coverage,
        )

    def expanded(self, reading: Resistance) -> Decimal:
        """U of one reading in ohm: that of its budget, not divided by k and multiplied by it again.

        A verdict rests on it: where the display's step is nought it is exact, and a value may stand
        on the edge of the guard band. With a step the root is taken to 50 digits: unless k times the
        step is a multiple of 3, no number in decimals is that root, and none can stand on the edge.
        """
        stated, step = self._stated(reading), EXACT.multiply(self.coverage, self._step(reading))
        if not step:
            return stated
        twelfth = _ROOT.divide(EXACT.multiply(step, step), 12)
        return _ROOT.sqrt(_ROOT.add(EXACT.multiply(stated, stated), twelfth))

    def _stated(self, reading: Resistance) -> Decimal:
        share = EXACT.multiply(self.percent.scaleb(-2, EXACT), reading.ohms)
        return EXACT.add(share, self.floor.ohms)

    def _step(self, reading: Resistance) -> Decimal:
        return self.resolution.ohms if self.resolution is not None else reading.resolution


def combine_standards(standards: Sequence[Decimal]) -> Decimal:
    """The root of the sum of squares."""
    return sum((standard * standard for standard in standards), Decimal(0)).sqrt()
