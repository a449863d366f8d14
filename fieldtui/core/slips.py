"""Keying slips: how a value on the record may have come from another one on the meter.

Digits are counted in whole ticks of a femto-ohm, so that every comparison is exact. Kinds of slip
after Verhoeff, Error Detecting Decimal Codes (1969); decimal, unit and repetition are common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance, Unit

TICK_EXPONENT = -15  # the finest digit that can be keyed: 9 decimals of a micro-ohm


class Slip(Enum):
    """One slip of the fingers or the ear. The value is the word in files and on screens."""

    REPLACED = "digit replaced"
    SWAPPED = "digits swapped"
    OMITTED = "digit omitted"
    ADDED = "digit added"
    POINT_MOVED = "decimal moved"
    UNIT_WRONG = "unit wrong"
    REPEATED = "previous value repeated"


@dataclass(frozen=True, slots=True)
class Ticks:
    """A value in whole ticks, with the size of one step of its last digit."""

    value: int
    step: int

    def is_same(self, other: Ticks) -> bool:
        """Equal as far as the coarser of the two displays can tell: within half its step."""
        return 2 * abs(self.value - other.value) <= max(self.step, other.step)

    def rounded(self, step: int) -> Ticks:
        """The value as a display with this coarser step shows it, halves up."""
        return Ticks((2 * self.value + step) // (2 * step) * step, step)

    @property
    def figures(self) -> int:
        """Significant digits, trailing zeros counted."""
        return max(1, len(str(self.value // self.step)))

    def with_fewer_figures(self, least: int) -> Iterator[Ticks]:
        """The value on coarser and coarser displays, down to ``least`` significant digits."""
        for lost in range(1, self.figures - least + 1):
            yield self.rounded(self.step * 10**lost)


def ticks(resistance: Resistance) -> Ticks:
    """The resistance in ticks; exact for all that can be keyed."""
    step = resistance.resolution.scaleb(-TICK_EXPONENT)
    return Ticks(int(resistance.ohms.scaleb(-TICK_EXPONENT)), max(1, int(step)))


def explain(keyed: Resistance, true: Resistance, previous: Resistance | None = None) -> Slip | None:
    """The slip that turns ``true`` into ``keyed``; None where they agree or no one slip does it.

    Args:
        keyed: the value on the record.
        true: the value it should have been, perhaps shown with fewer or more digits.
        previous: the value keyed just before, for a repetition.
    """
    before = None if previous is None else ticks(previous)
    return slip_between(ticks(keyed), ticks(true), {keyed.unit, true.unit}, before)


def slip_between(
    shown: Ticks, called: Ticks, units: Iterable[Unit], previous: Ticks | None = None
) -> Slip | None:
    """As :func:`explain`; ``units`` say where the decimal point may have stood."""
    if shown.is_same(called):
        return None
    names = {slip for unit in units for slip in _exact_slips(shown.value, called, unit)}
    if not names:
        names = {slip for unit in units for slip in _rounded_slips(shown, called, unit)}
    if not names and previous is not None and previous.value == shown.value:
        return Slip.REPEATED
    return next((slip for slip in _TELLING if slip in names), None)


def candidates(keyed: Resistance) -> Iterator[tuple[Slip, Resistance]]:
    """What ``keyed`` would have been but for one slip, each value with that slip's name.

    A value may come more than once, by different slips; zero and ``keyed`` itself never come.
    """
    shown = ticks(keyed)
    for slip, value, places in _ways(shown, keyed.unit):
        digits = Decimal(value).scaleb(TICK_EXPONENT - keyed.unit.exponent)
        would = digits.quantize(Decimal(1).scaleb(-max(0, places)))
        yield _OPPOSITE.get(slip, slip), Resistance(would, keyed.unit)


def variants(digits: str, places: int) -> Iterator[tuple[Slip, str, int]]:
    """Everything one slip makes of ``digits`` with ``places`` of them after the point."""
    for slip, text, point in _digit_slips(digits, places):
        whole = len(text) - point
        if whole == 1 or (whole > 1 and text[0] != "0"):  # nobody keys a needless leading zero
            yield slip, text, point
    for power in (1, 2, -1, -2):
        yield Slip.POINT_MOVED, digits, places - power
    for power in (3, 6, 9, -3, -6, -9):
        yield Slip.UNIT_WRONG, digits, places - power


def _digit_slips(digits: str, places: int) -> Iterator[tuple[Slip, str, int]]:
    whole = len(digits) - places
    for at, digit in enumerate(digits):
        before, after = digits[:at], digits[at + 1 :]
        for other in _FIGURES:
            if other != digit:
                yield Slip.REPLACED, before + other + after, places
        if after and after[0] != digit:
            yield Slip.SWAPPED, before + after[0] + digit + after[1:], places
        yield Slip.OMITTED, before + after, places - (at >= whole)
    for at in range(len(digits) + 1):
        for digit in _FIGURES:
            longer = digits[:at] + digit + digits[at:]
            if at <= whole:
                yield Slip.ADDED, longer, places
            if at >= whole:
                yield Slip.ADDED, longer, places + 1


def kinds_of_wrong(true: Ticks, unit: Unit) -> dict[int, tuple[tuple[Slip, float], ...]]:
    """Every wrong value that one slip makes of ``true``, by its ticks: which slips, and how likely by each.

    Args:
        true: the meter's value.
        unit: the unit the crew keys in; it says where the point stands.

    The ways of a slip are equally likely: the chances of one slip over all values sum to 1.
    """
    made: dict[Slip, dict[int, int]] = {}
    for slip, value, _ in _ways(true, unit):
        ways = made.setdefault(slip, {})
        ways[value] = ways.get(value, 0) + 1
    chances: dict[int, tuple[tuple[Slip, float], ...]] = {}
    for slip, ways in made.items():
        count = sum(ways.values())
        for value, times in ways.items():
            chances[value] = (*chances.get(value, ()), (slip, times / count))
    return chances


_FIGURES = "0123456789"
_OPPOSITE = {Slip.OMITTED: Slip.ADDED, Slip.ADDED: Slip.OMITTED}
# Where several slips make the same value, the one that says most is named.
_TELLING = (
    Slip.UNIT_WRONG,
    Slip.POINT_MOVED,
    Slip.SWAPPED,
    Slip.REPLACED,
    Slip.OMITTED,
    Slip.ADDED,
)


def _ways(true: Ticks, unit: Unit) -> Iterator[tuple[Slip, int, int]]:
    """Each wrong value one slip makes, in ticks, with the digits keyed after the point."""
    one = unit.exponent - TICK_EXPONENT
    places = max(0, one - (len(str(true.step)) - 1))
    digits = str(true.value // 10 ** (one - places)).rjust(places + 1, "0")
    for slip, text, point in variants(digits, places):
        value, lost = divmod(int(text) * 10 ** max(0, one - point), 10 ** max(0, point - one))
        if value and not lost and value != true.value:
            yield slip, value, point


def _exact_slips(shown: int, called: Ticks, unit: Unit) -> set[Slip]:
    return {slip for slip, value, _ in _ways(called, unit) if value == shown}


def _rounded_slips(shown: Ticks, called: Ticks, unit: Unit) -> set[Slip]:
    """The slips that make ``shown`` of ``called`` as far as the coarser display can tell."""
    found: set[Slip] = set()
    for coarse in shown.with_fewer_figures(called.figures):
        found |= _exact_slips(coarse.value, called, unit)
    for coarse in called.with_fewer_figures(shown.figures):
        found |= _exact_slips(shown.value, coarse, unit)
    for slip, powers in ((Slip.POINT_MOVED, (1, 2)), (Slip.UNIT_WRONG, (3, 6, 9))):
        for scale in (10**power for power in powers):
            up = Ticks(called.value * scale, called.step * scale)
            down = Ticks(shown.value * scale, shown.step * scale)
            if shown.is_same(up) or down.is_same(called):
                found.add(slip)
    return found
