"""Several sessions of one route put together: what is settled, by whom, and where they conflict.

Nothing is decided here: where two sessions settled a point both stand, and the worse state counts
until a person has looked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

from fieldtui.core.between.history import Seen
from fieldtui.core.survey.position import State

# Of two states the one further left counts.
_WORST_FIRST = (
    State.FAILED,
    State.INACCESSIBLE,
    State.WAIVED,
    State.RECORDED,
    State.PASSED,
    State.SKIPPED,
    State.OPEN,
)
UNSETTLED = frozenset({State.OPEN, State.SKIPPED})


class Conflict(Enum):
    """Why a point of several sessions wants a person's look; the value is the word on screens."""

    STATES = "settled differently"
    TWICE = "settled more than once"
    PLACES = "not the same two places"


@dataclass(frozen=True, slots=True)
class Part:
    """What one session says of a point."""

    session: str
    seen: Seen


@dataclass(frozen=True, slots=True)
class Covered:
    """One point over all sessions."""

    point: str
    state: State
    parts: tuple[Part, ...]  # of every session whose route has it
    conflicts: tuple[Conflict, ...] = ()

    @property
    def settled_by(self) -> tuple[Part, ...]:
        return tuple(part for part in self.parts if part.seen.state not in UNSETTLED)

    @property
    def is_settled(self) -> bool:
        return self.state not in UNSETTLED


def cover(sessions: Mapping[str, Iterable[Seen]]) -> list[Covered]:
    """Every point of any session (by session id), in the order in which the sessions name them."""
    parts: dict[str, list[Part]] = {}
    for session, points in sessions.items():
        for seen in points:
            parts.setdefault(seen.point, []).append(Part(session, seen))
    return [_covered(point, tuple(each)) for point, each in parts.items()]


def _covered(point: str, parts: tuple[Part, ...]) -> Covered:
    states = {part.seen.state for part in parts}
    worst = next(state for state in _WORST_FIRST if state in states)
    return Covered(point, worst, parts, tuple(_conflicts(parts)))


def _conflicts(parts: tuple[Part, ...]) -> Iterable[Conflict]:
    settled = [part.seen.state for part in parts if part.seen.state not in UNSETTLED]
    if len(set(settled)) > 1:
        yield Conflict.STATES
    elif len(settled) > 1:
        yield Conflict.TWICE
    if len({(part.seen.a, part.seen.b) for part in parts}) > 1:
        yield Conflict.PLACES
