"""Whether a meter is fine enough for a limit.

Two rules of thumb, asked before the walk and not of a reading: one step of the display is at most a
tenth of the limit (the rule of ten of measurement systems analysis; from memory), and the expanded
uncertainty at the limit at most a quarter of it (the 4:1 ratio of ANSI/NCSL Z540.3-2006; from memory).
For a window the width stands in place of the limit. A meter that states no accuracy is not judged.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.plan.tables import Instrument

STEPS = 10  # display steps in the limit, at least
RATIO = 4  # the limit over the expanded uncertainty at it, at least


@dataclass(frozen=True, slots=True)
class Resolved:
    """What a meter makes of a limit, ohm: ``room`` is the limit itself, or the width of the window."""

    instrument: Instrument
    at: Resistance  # the bound it was looked at
    room: Decimal
    step: Decimal | None  # of the display; None where it is not stated
    expanded: Decimal  # U at ``at``, with the coverage factor of the meter's statement

    @property
    def is_fine(self) -> bool:
        is_step_fine = self.step is None or self.step * STEPS <= self.room
        return is_step_fine and self.expanded * RATIO <= self.room


def resolve(limit: Limit, instrument: Instrument) -> Resolved | None:
    """The bound of the limit that the meter tells worst; None without a bound or a stated accuracy.

    None, too, of a window without any width: no route has one, but a trail made by hand may.
    """
    accuracy = instrument.accuracy
    bounds = [bound for bound in (limit.minimum, limit.maximum) if bound is not None and bound.ohms > 0]
    if accuracy is None or not bounds:
        return None
    width = bounds[1].ohms - bounds[0].ohms if len(bounds) == 2 else None
    if width is not None and width <= 0:
        return None
    step = accuracy.resolution.ohms if accuracy.resolution is not None else None
    found = [
        Resolved(instrument, bound, bound.ohms if width is None else width, step, _expanded(accuracy, bound))
        for bound in bounds
    ]
    return max(found, key=lambda each: each.expanded / each.room)


def finest(limit: Limit, instruments: Iterable[Instrument]) -> Resolved | None:
    """The meter that tells the limit best; None where none states its accuracy."""
    found = [each for instrument in instruments if (each := resolve(limit, instrument)) is not None]
    return min(found, key=lambda each: (not each.is_fine, each.expanded / each.room), default=None)


def coarse_limits(points: Iterable[Point], instrument: Instrument) -> list[tuple[Point, Resolved]]:
    """Those of ``points`` whose limit the meter is too coarse for; none where it states no accuracy."""
    looked_at = [(point, resolve(point.limit, instrument)) for point in points if _is_read_in_ohm(point)]
    return [(point, found) for point, found in looked_at if found is not None and not found.is_fine]


def _is_read_in_ohm(point: Point) -> bool:
    """Whether its limit can be held against the meter's display; the one of a voltage is another."""
    return point.limit.judges and point.current_ma is None


def coarse_words(points: Iterable[Point], instrument: Instrument) -> str:
    """How many of ``points`` have a limit that the meter is too coarse for, and the worst; else empty."""
    judged = [point for point in points if _is_read_in_ohm(point)]
    coarse = coarse_limits(judged, instrument)
    if not coarse:
        return ""
    point, worst = max(coarse, key=lambda each: (each[1].step or each[1].expanded) / each[1].room)
    unit = worst.at.unit
    room = f"{worst.room.scaleb(-unit.exponent).normalize():f} {unit.symbol}"
    step = worst.step is not None and worst.step * STEPS > worst.room
    figure = worst.step if step and worst.step is not None else worst.expanded
    said = f"{figure.scaleb(-unit.exponent):.2g} {unit.symbol}"
    why = f"one step is {said}" if step else f"its uncertainty is {said}"
    which = f"{len(coarse)} of {len(judged)} limits" if len(judged) > 1 else "the limit"
    return f"TOO COARSE for {which}: {why}, {point.id} allows {room}"


def _expanded(accuracy: Accuracy, at: Resistance) -> Decimal:
    if accuracy.resolution is not None:
        return accuracy.budget(at).expanded
    return accuracy.percent / 100 * at.ohms + accuracy.floor.ohms  # the limit's digits are not the display's
