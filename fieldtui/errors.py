"""Everything that can go wrong, as one tree.

::

    FieldtuiError                 what, where, remedy, exit code
    ├── WrongUseError           (2)    a command or key was used in a way that cannot work
    │   └── MemoryFullError            the meter's memory takes no reading more
    ├── BadInputError           (2)    a file or value is not acceptable; carries every Problem at once
    ├── SessionInUseError       (2)    another program writes this session
    ├── SessionClosedError      (2)    a closed session takes no more events
    ├── SessionDamagedError     (1)    the files were edited or damaged; read-only from here on
    ├── CopyFailedError         (1)    the second copy is behind; the session itself is safe
    └── NotSavedError           (2)    an event did not reach the disk
        ├── DiskFullError              room ran out; the session stays usable
        └── MediumFailedError          the descriptor is finished; go on in a new session

A :class:`Problem` is not an exception: it is one finding about data, a value to be listed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One finding about data: where it stands, what is wrong, what to do."""

    what: str
    remedy: str = ""
    file: str = ""
    line: int | None = None  # counted from 1
    field: str = ""  # a path such as ``points[12].limit``
    severity: Severity = "error"

    def at(self, file: str, line: int | None = None) -> Problem:
        """The same finding, placed in a file."""
        return replace(self, file=file, line=line if line is not None else self.line)

    @property
    def where(self) -> str:
        place = self.file
        if self.line is not None:
            place = f"{place}:{self.line}" if place else f"line {self.line}"
        return ", ".join(part for part in (place, self.field) if part)

    def as_json(self) -> dict[str, str | int | None]:
        return {
            "file": self.file,
            "line": self.line,
            "field": self.field,
            "severity": self.severity,
            "what": self.what,
            "remedy": self.remedy,
        }


class FieldtuiError(Exception):
    """Root of the tree. ``what`` is one line, ``where`` is one line, ``remedy`` is one line.

    ``problems`` holds every finding about data that stands behind it; most errors have none.
    """

    exit_code = 2

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        remedy: str = "",
        problems: Sequence[Problem] = (),
    ) -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy
        self.problems = tuple(problems)

    @property
    def further(self) -> tuple[Problem, ...]:
        """The problems that ``what``, ``where`` and ``remedy`` do not tell already: to be listed below."""
        told = next(
            (
                problem
                for problem in self.problems
                if problem.where == self.where and self.what.endswith(problem.what)
            ),
            None,
        )
        return tuple(problem for problem in self.problems if problem is not told)


class WrongUseError(FieldtuiError):
    """A command, key or call was used in a way that cannot work."""


class MemoryFullError(WrongUseError):
    """The meter's memory has no number left for a reading; the next memory run has to begin first."""


class BadInputError(FieldtuiError):
    """A file or a keyed value is not acceptable. Carries every problem found."""


class SessionInUseError(FieldtuiError):
    """Another program holds the session as its writer."""


class SessionClosedError(FieldtuiError):
    """The session was closed and takes no more events."""


class SessionDamagedError(FieldtuiError):
    """The session's files were edited or damaged and must not be written to."""

    exit_code = 1


class CopyFailedError(FieldtuiError):
    exit_code = 1


class NotSavedError(FieldtuiError):
    """An event did not reach the disk. What was keyed must stay on the screen."""


class DiskFullError(NotSavedError):
    """No room; the file was cut back to its last whole row and the session stays usable."""


class MediumFailedError(NotSavedError):
    """The file can no longer be trusted to take rows; go on in a new session elsewhere."""
