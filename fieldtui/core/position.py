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


_FRESH = (State.OPEN,)
_UNSETTLED = (State.OPEN, State.SKIPPED)


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
        return self.with_reversed(range(self.place[here], self.section_around(here, section_of).stop))

    def section_around(self, here: str, section_of: Callable[[str], str]) -> range:
        """The places of the unbroken part of ``here``'s section that ``here`` stands in."""
        start = stop = self.place[here]
        section = section_of(here)
        while start > 0 and section_of(self.ids[start - 1]) == section:
            start -= 1
        while stop < len(self.ids) and section_of(self.ids[stop]) == section:
            stop += 1
        return range(start, stop)

    def with_reversed(self, places: range) -> WalkOrder:
        """The points at ``places`` turned round."""
        turned = self.ids[places.start : places.stop][::-1]
        return WalkOrder((*self.ids[: places.start], *turned, *self.ids[places.stop :]))


StateOf = Callable[[str], State]
IsAsked = Callable[[str], bool]  # whether a point is to be taken again although it was read before


def detour(position: Position, point: str) -> Position:
    """Go to ``point`` and keep in mind where the walk was."""
    if point == position.here:
        return position
    return replace(position, here=point, back=(*position.back, position.here))


def leave(position: Position, order: WalkOrder, state_of: StateOf, is_asked: IsAsked) -> Position:
    """The position after the point being probed is done with: back from a detour, or onward.

    A detour returns to where it began. Where that was settled in the meantime, nothing calls the
    walk there, and it goes back one detour further.
    """
    start = position.here
    back = position.back
    while back:
        *rest, start = back
        back = tuple(rest)
        if start is not None and (is_asked(start) or state_of(start) in wanted(position)):
            return Position(start, back, position.second_pass)
    return _forward(position, start, order, state_of)


def settle(position: Position, order: WalkOrder, state_of: StateOf) -> Position:
    """A finished walk takes up again whatever has come open since (after a void, say)."""
    if position.here is not None:
        return position
    return _forward(position, None, order, state_of)


def wanted(position: Position) -> tuple[State, ...]:
    """The states of a point that the walk stops at."""
    return _UNSETTLED if position.second_pass else _FRESH


def _forward(position: Position, start: str | None, order: WalkOrder, state_of: StateOf) -> Position:
    first = order.place[start] + 1 if start is not None else 0
    ahead = _first(order.ids, first, state_of, wanted(position))
    if ahead is not None:
        return Position(ahead, (), position.second_pass)
    again = _first(order.ids, 0, state_of, _UNSETTLED)
    return Position(again, (), second_pass=again is not None)


def _first(ids: Sequence[str], place: int, state_of: StateOf, states: tuple[State, ...]) -> str | None:
    for index in range(place, len(ids)):
        if state_of(ids[index]) in states:
            return ids[index]
    return None
