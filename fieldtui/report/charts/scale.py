"""A logarithmic scale for resistances, and the shapes readings are drawn in.

A chart is looked at, not read off: its places are floats, and no reading's digits come from one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.verdict.judging import Verdict

_STEPS = (1, 2, 5)
_WIDE = 8  # steps from which on only whole decades get a line


class Shape(Enum):
    """How a mark is drawn; the value names it in the templates. No state hangs on a colour."""

    PASSED = "circle"
    CONDITIONAL = "diamond"
    FAILED = "cross"
    RECORDED = "square"
    NOTHING = "plus"
    DOUBT = "question"  # whatever its verdict: a failed check of the meter reaches it
    UNPROVEN = "triangle"  # whatever is told of it: the trail proves nothing of it


_SHAPES = {
    Verdict.PASS: Shape.PASSED,
    Verdict.CONDITIONAL_PASS: Shape.CONDITIONAL,
    Verdict.CONDITIONAL_FAIL: Shape.FAILED,
    Verdict.FAIL: Shape.FAILED,
    Verdict.NOTED: Shape.RECORDED,
}

LEGEND = {
    Shape.PASSED: "pass",
    Shape.CONDITIONAL: "conditional pass",
    Shape.FAILED: "fail",
    Shape.RECORDED: "recorded, not judged",
    Shape.DOUBT: "IN DOUBT",
    Shape.UNPROVEN: "UNPROVEN",
    Shape.NOTHING: "no value",
}


def shape_of(verdict: Verdict | None, *, is_in_doubt: bool = False, is_unproven: bool = False) -> Shape:
    """The shape of a verdict; None where there is no value."""
    if is_unproven:
        return Shape.UNPROVEN
    if is_in_doubt:
        return Shape.DOUBT
    return Shape.NOTHING if verdict is None else _SHAPES[verdict]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the scale: ``at`` along the axis in chart units, and its value in words."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Scale:
    """Ohm to chart units between ``near`` (the lowest value) and ``far``, logarithmic."""

    low: Decimal  # ohm
    high: Decimal
    near: float
    far: float
    lines: tuple[Line, ...]

    def at(self, ohms: Decimal) -> float:
        """The place of a value; a value of zero, which no such scale has, stands at the lowest line."""
        return _place(max(ohms, self.low), self.low, self.high, self.near, self.far)


@dataclass(frozen=True, slots=True)
class PercentScale:
    """Parts of a limit to chart units, linear: nothing at ``near``, ``top`` and more at ``far``."""

    top: Decimal
    near: float
    far: float

    @property
    def lines(self) -> tuple[Line, ...]:
        """A line every 50 %."""
        halves = range(int(self.top * 2) + 1)
        return tuple(Line(self.at(Decimal(half) / 2), f"{half * 50} %") for half in halves)

    def at(self, share: Decimal) -> float:
        """The place of a share; 1 is the limit."""
        part = float(max(Decimal(0), min(share, self.top)) / self.top)
        return round(self.near + part * (self.far - self.near), 1)


def scale_for(values: Iterable[Decimal], near: float, far: float) -> Scale:
    """The scale that holds every value above zero, from one 1-2-5 step to another."""
    held = [value for value in values if value > 0] or [Decimal("0.001")]
    steps = _steps_around(min(held), max(held))
    low, high = steps[0], steps[-1]
    drawn = steps if len(steps) <= _WIDE else [step for step in steps if step.as_tuple().digits == (1,)]
    lines = tuple(Line(_place(step, low, high, near, far), _words(step)) for step in drawn)
    return Scale(low, high, near, far, lines)


def _steps_around(low: Decimal, high: Decimal) -> list[Decimal]:
    """1-2-5 steps, the first at or below ``low``, the last at or above ``high``; two or more."""
    exponents = range(low.adjusted(), high.adjusted() + 2)
    steps = [Decimal(step).scaleb(exponent) for exponent in exponents for step in _STEPS]
    first = max(place for place, step in enumerate(steps) if step <= low)
    last = min(place for place, step in enumerate(steps) if step >= high)
    return steps[first : max(last, first + 1) + 1]


def _place(ohms: Decimal, low: Decimal, high: Decimal, near: float, far: float) -> float:
    part = math.log10(ohms / low) / math.log10(high / low)
    return round(near + part * (far - near), 1)


def _words(ohms: Decimal) -> str:
    """``200 µΩ``: in the unit that leaves one to three figures."""
    fitting = [unit for unit in Unit if unit.exponent <= ohms.adjusted()]
    unit = fitting[-1] if fitting else Unit.UOHM
    return str(Resistance(ohms, Unit.OHM).to(unit))
