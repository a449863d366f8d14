"""What reading a trail gives: its events, how far it is proven, and what could not be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from fieldtui.core.trail.events import Event, ReadingTaken
from fieldtui.errors import Problem
from fieldtui.files.trail.rows import MAX_LINE

_KIND_WITHIN = 64  # bytes of a row; number, time and kind stand in them
_READING = ReadingTaken.kind.encode()


class Unread(NamedTuple):
    """What stands behind the place up to which a trail could be read row by row."""

    rows: int = 0
    readings: int = 0  # of these rows, as far as their ``kind`` can be told
    is_all: bool = True  # False where the reading had to stop: there may be more

    def and_line(self, raw: bytes, separator: str) -> Unread:
        """One line more, newline included; one that is too long is where the reading stops."""
        kind = raw[:_KIND_WITHIN].replace(b'"', b"").split(separator.encode(), 3)[2:3]
        is_all = self.is_all and len(raw) <= MAX_LINE
        return Unread(self.rows + 1, self.readings + (kind == [_READING]), is_all)


NONE_UNREAD = Unread()


@dataclass(frozen=True, slots=True)
class Scan:
    """What a trail holds and how far it can be trusted.

    ``events[n]`` is the event of row ``n + 1``; the list ends where a row cannot be read or the
    numbering breaks (a row that stands twice breaks nothing), and it may hold rows beyond ``rows``
    whose cells were changed. What it does not hold is counted in ``unread``.
    """

    events: list[Event]
    rows: int  # good rows from the first on
    last_link: str  # the link of the last good row
    good_end: int  # bytes up to the end of the last good row
    torn: bytes  # what an interrupted save left after it
    problems: tuple[Problem, ...]
    unproven_from: int = 0  # the first row that is not known to be as it was written; 0 where all are
    unread: Unread = NONE_UNREAD

    @property
    def intact(self) -> bool:
        """True where nothing was edited or damaged; an interrupted save is no damage."""
        return not self.problems

    @property
    def is_content_intact(self) -> bool:
        """True where every cell is as it was written, though maybe saved again in another form."""
        return all(problem.severity == "warning" for problem in self.problems)
