"""Where the walk stands: the point being probed, and where it goes from there.

The walk goes forward through the points not yet taken. A redo, a jump or an inserted point is a
detour: the walk afterwards returns to where it was. When nothing lies ahead any more, a second
pass begins that leads through everything still open or skipped, round and round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

from fieldtui.core.quick import quick_maker


class State(Enum):
    """What became of a point. The value is the word in files and on screens."""

    OPEN = "open"
    PASSED = "passed"
    FAILED = "failed"
    SKIPPED = "skipped"
    WAIVED = "waived"
    INACCESSIBLE = "inaccessible"
    RECORDED = "recorded"  # record only: read, and nothing to judge

    # A member is the only one of its kind; by its name, as enum does it, takes five times as long.
    __hash__ = object.__hash__


_OPEN, _SKIPPED = State.OPEN, State.SKIPPED  # each look into the class takes its time
_FRESH = (_OPEN,)
UNSETTLED = (_OPEN, _SKIPPED)


@dataclass(frozen=True, slots=True)
class Position:
    """``here`` is the point being probed, None when no point is left to take."""

    here: str | None = None
    back: tuple[str | None, ...] = ()  # where detours return to, innermost last
    second_pass: bool = False


FINISHED = Position()
_position_of = quick_maker(Position)  # of all three, by position; one a reading


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


@dataclass(frozen=True, slots=True)
class Waiting:
    """Where on the walk a point is open, and where one is skipped: one bit a place, the first place lowest.

    It says where to go next in one step, however many points lie settled on the way.
    """

    open: int = 0
    skipped: int = 0

    @classmethod
    def of(cls, order: WalkOrder, state_of: StateOf) -> Waiting:
        """What waits along ``order``."""
        states = [state_of(point) for point in order.ids]
        return cls(_bits(states, State.OPEN), _bits(states, State.SKIPPED))

    @property
    def has_any(self) -> bool:
        """Whether anything waits at all."""
        return bool(self.open or self.skipped)

    def with_state(self, place: int, state: State) -> Waiting:
        """What waits once the point at ``place`` is in ``state``."""
        bit = 1 << place
        is_open, is_skipped = state is _OPEN, state is _SKIPPED
        # Turned over, and not masked with ~bit: that is negative, and on a long route ten times as slow.
        return _waiting_of(
            self.open if bool(self.open & bit) is is_open else self.open ^ bit,
            self.skipped if bool(self.skipped & bit) is is_skipped else self.skipped ^ bit,
        )

    def first(self, place: int, *, second_pass: bool) -> int | None:
        """The first place from ``place`` on that the walk stops at, None where there is none."""
        ahead = (self.open | self.skipped if second_pass else self.open) >> place
        if ahead & 1:  # as on most steps of most walks
            return place
        return place + (ahead & -ahead).bit_length() - 1 if ahead else None

    def stops_at(self, place: int, *, second_pass: bool) -> bool:
        """Whether the walk stops at ``place``."""
        return self.first(place, second_pass=second_pass) == place


_waiting_of = quick_maker(Waiting)  # one for each point that is settled


def _bits(states: Sequence[State], wanted: State) -> int:
    return int("".join("1" if state is wanted else "0" for state in reversed(states)) or "0", 2)


IsAsked = Callable[[str], bool]  # whether a point is to be taken again although it was read before


def detour(position: Position, point: str) -> Position:
    """Go to ``point`` and keep in mind where the walk was."""
    if point == position.here:
        return position
    return replace(position, here=point, back=(*position.back, position.here))


def leave(position: Position, order: WalkOrder, waiting: Waiting, is_asked: IsAsked) -> Position:
    """The position after the point being probed is done with: back from a detour, or onward.

    A detour returns to where it began. Where that was settled in the meantime, nothing calls the
    walk there, and it goes back one detour further.
    """
    start = position.here
    back = position.back
    second = position.second_pass
    while back:
        *rest, start = back
        back = tuple(rest)
        if start is not None and (
            is_asked(start) or waiting.stops_at(order.place[start], second_pass=second)
        ):
            return _position_of(start, back, second)
    return forward(start, order, waiting, second)


def settle(position: Position, order: WalkOrder, waiting: Waiting) -> Position:
    """A finished walk takes up again whatever has come open since (after a void, say)."""
    if position.here is not None:
        return position
    return forward(None, order, waiting, position.second_pass)


def wanted(position: Position) -> tuple[State, ...]:
    """The states of a point that the walk stops at."""
    return UNSETTLED if position.second_pass else _FRESH


def way_ahead(
    position: Position, order: WalkOrder, waiting: Waiting, is_asked: IsAsked
) -> Iterator[Position]:
    """Every position from here on to the end of the walk, if each reading is good."""
    done: set[str] = set()
    while position.here is not None:
        done.add(position.here)
        waiting = waiting.with_state(order.place[position.here], State.PASSED)
        position = leave(position, order, waiting, lambda point: point not in done and is_asked(point))
        if position.here is not None:
            yield position


def forward(start: str | None, order: WalkOrder, waiting: Waiting, second_pass: bool) -> Position:
    """The position onward from ``start``, or from the beginning of the walk where that is None."""
    if not waiting.has_any:
        return FINISHED
    ahead = waiting.first(order.place[start] + 1 if start is not None else 0, second_pass=second_pass)
    if ahead is None:
        ahead, second_pass = waiting.first(0, second_pass=True), True
    return FINISHED if ahead is None else _position_of(order.ids[ahead], (), second_pass)
