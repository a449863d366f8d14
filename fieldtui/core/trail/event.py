"""What every event has, and the answers that several kinds of event share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import ClassVar


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What every event has: when (UTC) and who keyed it."""

    kind: ClassVar[str]

    time: datetime
    by: str
    note: str = ""


class Answer(Enum):
    """How an item of the brief was answered."""

    GOOD = "good"
    BAD = "bad"  # the walk stays blocked
    OVERRIDE = "override"  # bad, and gone on with all the same, for a reason
