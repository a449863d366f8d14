"""What a paper sheet became, and what in it wants a second look."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import events as ev
from fieldtui.files.sheet import SheetLine
from fieldtui.files.trail.rows import format_time

# The notes that keying a sheet leaves in the trail; reports look for them.
NO_TIMES = "times: of the keying; the sheet has none"
_OF_LINE_ABOVE = "readings have none on the sheet: they stand with the last above, or the first there is"
_AHEAD = "lies after the clock of the keying"
_TIME = "[0-9TZ:.-]+"
_TIMES = re.compile(
    rf"{re.escape(NO_TIMES)}"
    rf"|times: [0-9]+ of [0-9]+ {_OF_LINE_ABOVE}"
    rf"|times: {_TIME} on the sheet {_AHEAD}, {_TIME}",
    re.ASCII,
)
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
    times: tuple[str, ...] = ()  # what is to be known of the times, as the trail keeps it
    counted_on: int = (
        0  # readings without a memory number on the sheet: that of the line above was counted on
    )


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


def time_notes(lines: Sequence[SheetLine], now: datetime) -> Iterator[str]:
    """What a reviewer has to know of a sheet's times, keyed at ``now``, UTC."""
    times = [line.time for line in lines if line.time is not None]
    if not times:
        yield NO_TIMES
        return
    readings = [line.time for line in lines if line.action == "reading"]
    if untimed := readings.count(None):
        yield f"times: {untimed} of {len(readings)} {_OF_LINE_ABOVE}"
    if max(times) > now:
        yield f"times: {format_time(max(times))} on the sheet {_AHEAD}, {format_time(now)}"


def times_noted(events: Sequence[ev.Event]) -> Iterator[str]:
    """What was to be known of a sheet's times when it was keyed."""
    notes = (event.note for event in events if isinstance(event, ev.Noted))
    return (note for note in notes if _TIMES.fullmatch(note))


def has_no_times(events: Sequence[ev.Event]) -> bool:
    """Whether the sheet had no times, so that those of the trail are the ones of the keying."""
    return any(isinstance(event, ev.Noted) and event.note == NO_TIMES for event in events)
