"""What a paper sheet became, and what in it wants a second look."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import MAX_LENGTH
from fieldtui.files.sheet import SheetLine


@dataclass(frozen=True, slots=True)
class Suspect:
    """A record worth a second look, and why."""

    record: int
    why: str
    likely: str = ""

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


def reason_and_note(line: SheetLine, *, is_doubtful: bool) -> tuple[str, str]:
    """A reading's two texts as they go on record.

    Its reason says why a doubtful value was confirmed. What stands in that column of the sheet beside
    a value that nobody would doubt is a remark, and goes before the note.
    """
    note = "; ".join(text for text in (line.reason, line.note) if text)
    if is_doubtful or len(note) > MAX_LENGTH:
        return line.reason, line.note
    return "", note
