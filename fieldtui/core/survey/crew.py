"""Who recorded and who probed, row by row: the crew may change in the middle of a session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldtui.core.plan.session import Crew


@dataclass(frozen=True, slots=True)
class Handover:
    """``crew`` is at work from ``row`` on, where record ``record`` was the next one to take."""

    row: int
    record: int
    crew: Crew
    reason: str


def crew_at(first: Crew, handovers: Sequence[Handover], row: int) -> Crew:
    """The crew at work in ``row``; ``first`` is the one that the session began with."""
    return next((each.crew for each in reversed(handovers) if each.row <= row), first)


def crew_now(first: Crew, handovers: Sequence[Handover]) -> Crew:
    """The crew at work after the last row."""
    return handovers[-1].crew if handovers else first
