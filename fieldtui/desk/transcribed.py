"""What a paper sheet became, and what in it wants a second look."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import events as ev
from fieldtui.files.sheet import SheetLine

# The notes that keying a sheet leaves in the trail; reports look for them.
NO_TIMES = "times: of the keying; the sheet has none"
_LOOK_AT = re.compile(r"look at record ([1-9][0-9]{0,8}): (.+)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A record worth a second look, and why."""

    record: int
    why: str
    likely: str = ""

    @property
    def words(self) -> str:
        """As ``transcribe`` says it and as the trail keeps it."""
        return f"look at record {self.record}: {self.why}"

    def as_json(self) -> dict[str, int | str]:
        return {"record": self.record, "why": self.why, "likely": self.likely}


@dataclass(frozen=True, slots=True)
class SheetAlarm:
    """Record and prober, or record and meter, out of step.

    ``shift`` is how many points the prober was ahead of the record, or how many numbers the meter
    was; None for a section walked from its far end. ``began_at`` is the likeliest record.
    """

    record: int  # the last one when it showed
    shift: int | None
    probability: float
    began_at: int
    cause: str

    def as_json(self) -> dict[str, int | float | str | None]:
        return {
            "record": self.record,
            "shift": self.shift,
            "probability": round(self.probability, 4),
            "began_at": self.began_at,
            "cause": self.cause,
        }


@dataclass(frozen=True, slots=True)
class Transcribed:
    """What a sheet became."""

    folder: Path
    survey: Survey
    suspects: tuple[Suspect, ...]
    alarms: tuple[SheetAlarm, ...] = ()
    has_times: bool = True  # else those of the trail are the ones of the keying


def reason_and_note(line: SheetLine, *, is_doubtful: bool) -> tuple[str, str]:
    """A reading's two texts as they go on record.

    Its reason says why a doubtful value was confirmed. What stands in that column of the sheet beside
    a value that nobody would doubt is a remark, and goes before the note.
    """
    note = "; ".join(text for text in (line.reason, line.note) if text)
    if is_doubtful or len(note) > MAX_LENGTH:
        return line.reason, line.note
    return "", note


def doubts_noted(events: Sequence[ev.Event]) -> Iterator[tuple[int, Suspect]]:
    """What was doubtful when a sheet was keyed, each with the row in which the trail says so."""
    for row, event in enumerate(events, 1):
        if isinstance(event, ev.Noted) and (found := _LOOK_AT.fullmatch(event.note)) is not None:
            yield row, Suspect(int(found[1]), found[2])


def has_no_times(events: Sequence[ev.Event]) -> bool:
    """Whether the sheet had no times, so that those of the trail are the ones of the keying."""
    return any(isinstance(event, ev.Noted) and event.note == NO_TIMES for event in events)
