"""Is a session's record whole and unchanged, and does it say what its own limits give?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldtui.desk.reading import read_session
from fieldtui.errors import BadInputError, Problem
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found. ``ok`` only where nothing was."""

    ok: bool
    rows: int
    readings: int
    seal: str
    problems: tuple[Problem, ...]

    def as_json(self) -> dict[str, object]:
        return {
            "ok": self.ok,
            "rows": self.rows,
            "readings": self.readings,
            "seal": self.seal,
            "problems": [problem.as_json() for problem in self.problems],
        }


def verify_session(disk: Disk, folder: Path) -> Verified:
    """Check the chain, the rows and every verdict of a session.

    Raises:
        BadInputError: there is no session in ``folder`` at all.
    """
    try:
        session = read_session(disk, folder)
    except BadInputError as error:
        if not any(disk.is_file(folder / name) for name in (SESSION_NAME, TRAIL_NAME)):
            raise
        # A session is there, and one of its files is missing or cannot be read: that is the finding.
        found = error.problems or (Problem(error.what, error.remedy, file=error.where),)
        return Verified(ok=False, rows=0, readings=0, seal="", problems=tuple(found))
    problems = session.problems
    return Verified(
        ok=not problems,
        rows=session.rows,
        readings=len(session.survey.records),
        seal=session.seal,
        problems=problems,
    )
