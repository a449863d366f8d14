"""What can happen to the meter: checks on its standard, new leads, and readings let stand all the same."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.trail.event import Answer, Event


class CheckTime(Enum):
    """When the meter was held against its check standard."""

    BEFORE = "before"
    INTERVAL = "interval"
    AFTER = "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardRead(Event):
    """The check standard was read: ``verdict`` good or bad, ``ref`` which check it was.

    ``number`` is set where the meter filed it in its memory like any other reading.
    """

    kind = "standard"
    reading: Resistance
    verdict: Answer
    ref: CheckTime
    run: int | None = None
    number: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadChanged(Event):
    """Another lead, or other probe tips: what was known of the old ones says nothing of these."""

    kind = "lead"
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterTaken(Event):
    """Readings are taken with another meter from here on: the one with the id ``ref``."""

    kind = "meter"
    ref: str
    reason: str
    definition: str  # see meters.py; stands in the note column


@dataclass(frozen=True, slots=True, kw_only=True)
class Released(Event):
    """Record ``ref`` stands all the same: in doubt for a failed check of the meter, or to be taken again."""

    kind = "release"
    ref: int
    reason: str
