"""Where the walk stands: the point being probed, and where it goes from there.

The walk goes forward through the points not yet taken. A redo, a jump or an inserted point is a
detour: the walk afterwards returns to where it was. When nothing lies ahead any more, a second
pass begins that leads through everything still open or skipped, round and round.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum


class State(Enum):
    """What became of a point. The value is the word in files and on screens."""

    OPEN = "open"
    PASSED = "passed"
    FAILED = "failed"
    SKIPPED = "skipped"
    WAIVED = "waived"
    INACCESSIBLE = "inaccessible"
    RECORDED = "recorded"  # record only: read, and nothing to judge


@dataclass(frozen=True, slots=True)
class Position:
    """``here`` is the point being probed, None when no point is left to take."""

    here: str | None = None
    back: tuple[str | None, ...] = ()  # where detours return to, innermost last
    second_pass: bool = False


@dataclass(frozen=True, slots=True)
class WalkOrder:
    """The points in the order they are walked, and each one's place in it."""

    ids: tuple[str, ...]
    place: Mapping[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "place", {point: index for index, point in enumerate(self.ids)})

    def with_inserted(self, point: str, before: str) -> WalkOrder:
        """``point`` put before another, or at the end where ``before`` is not in the order."""
        place = self.place.get(before, len(self.ids))
        return WalkOrder((*self.ids[:place], point, *self.ids[place:]))

    def with_rest_reversed(self, here: str, section_of: Callable[[str], str]) -> WalkOrder:
        """What is left of ``here``'s section, from ``here`` on, turned round."""
        start = stop = self.place[here]
        while stop < len(self.ids) and section_of(self.ids[stop]) == section_of(here):
            stop += 1
        return WalkOrder((*self.ids[:start], *self.ids[start:stop][::-1], *self.ids[stop:]))


StateOf = Callable[[str], State]


def detour(position: Position, point: str) -> Position:
    """Go to ``point`` and keep in mind where the walk was."""
    if point == position.here:
        return position
    return replace(position, here=point, back=(*position.back, position.here))


def leave(position: Position, order: WalkOrder, state_of: StateOf) -> Position:
    """The position after the point being probed is done with: back from a detour, or onward."""
    if not position.back:
        return _forward(position, position.here, order, state_of)
    returned = position.back[-1]
    position = replace(position, back=position.back[:-1])
    if returned is not None and state_of(returned) in _wanted(position):
        return replace(position, here=returned)
    return _forward(position, returned, order, state_of)


def settle(position: Position, order: WalkOrder, state_of: StateOf) -> Position:
    """A finished walk takes up again whatever has come open since (after a void, say)."""
    if position.here is not None:
        return position
    return _forward(position, None, order, state_of)


def _wanted(position: Position) -> tuple[State, ...]:
    return (State.OPEN, State.SKIPPED) if position.second_pass else (State.OPEN,)


def _forward(position: Position, start: str | None, order: WalkOrder, state_of: StateOf) -> Position:
    first = order.place[start] + 1 if start is not None else 0
    ahead = _first(order.ids, range(first, len(order.ids)), state_of, _wanted(position))
    if ahead is not None:
        return replace(position, here=ahead)
    everything = (State.OPEN, State.SKIPPED)
    again = _first(order.ids, range(len(order.ids)), state_of, everything)
    return replace(position, here=again, second_pass=again is not None)


def _first(ids: Sequence[str], places: range, state_of: StateOf, wanted: tuple[State, ...]) -> str | None:
    return next((ids[place] for place in places if state_of(ids[place]) in wanted), None)
