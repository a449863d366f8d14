"""Is a session's record whole and unchanged, and does it say what its own limits give?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.trail import chain
from fieldtui.desk.reading import ReadSession, read_session, seal_problems
from fieldtui.errors import BadInputError, Problem, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME

_NO_SEAL = re.compile(r"[^0-9a-f]")


@dataclass(frozen=True, slots=True)
class Paper:
    """What the signed job card says. Only this shows rows cut off at the end, or a chain made anew."""

    seal: str = ""  # 32 hex digits; empty where it is not compared
    rows: int | None = None

    @classmethod
    def copied(cls, seal: str | None, rows: int | None) -> Paper:
        """As keyed: spaces in the seal and capital letters do not count.

        Raises:
            WrongUseError: the seal cannot be one, or is not whole.
        """
        plain = "".join((seal or "").split()).lower()
        if seal is not None and (len(plain) != chain.LENGTH or _NO_SEAL.search(plain)):
            raise WrongUseError(
                f"This is not a whole seal: {chain.LENGTH} of the digits 0 to 9 and a to f make one",
                remedy='copy all of its groups from the paper, in quotes: --seal "0123 4567 …"',
            )
        return cls(plain, rows)


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


def verify_session(disk: Disk, folder: Path, paper: Paper | None = None) -> Verified:
    """Check the chain, the rows and every verdict of a session, and hold it against the paper if given.

    Raises:
        BadInputError: there is no session in ``folder`` at all.
    """
    rows, readings, seal = 0, 0, ""
    try:
        session = read_session(disk, folder)
    except BadInputError as error:
        if not any(disk.is_file(folder / name) for name in (SESSION_NAME, TRAIL_NAME)):
            raise
        # A session is there, and one of its files is missing or cannot be read: that is the finding.
        problems = error.problems or (Problem(error.what, error.remedy, file=error.where),)
    else:
        rows, readings, seal = session.rows, len(session.survey.records), session.seal
        problems = (*session.problems, *seal_problems(session), *_unfinished(session))
    problems = (*problems, *_differences(paper or Paper(), rows, seal))
    return Verified(ok=not problems, rows=rows, readings=readings, seal=seal, problems=problems)


def _unfinished(session: ReadSession) -> list[Problem]:
    """A last row that was never finished. Its bytes are no damage, but the record is not whole either."""
    if not session.torn:
        return []
    return [
        Problem(
            f"After row {session.rows} stand {len(session.torn)} bytes of a row that is not finished.",
            "Likely cause: it is being saved at this moment, or a save was cut off. "
            "Resuming the session sets them aside. Hold the number of rows against the paper.",
            file=TRAIL_NAME,
            severity="warning",
        )
    ]


def _differences(paper: Paper, rows: int, seal: str) -> list[Problem]:
    """What the paper says otherwise than the record."""
    found: list[Problem] = []
    if paper.rows is not None and paper.rows != rows:
        gap = abs(paper.rows - rows)
        cause = (
            f"{gap} missing at the end: cut off, or this is an older copy"
            if paper.rows > rows
            else f"{gap} more than when the paper was signed: another session, or it went on afterwards"
        )
        found.append(
            Problem(
                f"The number of rows differs: {paper.rows} on paper, {rows} good ones in the trail.",
                f"Likely cause: {cause}. Read the paper again; look for another copy of the session.",
                file=TRAIL_NAME,
            )
        )
    if paper.seal and paper.seal != seal.replace(" ", ""):
        cause = "the number of rows" if found else "a slip in copying, another session, or a record made anew"
        found.append(
            Problem(
                f"The seal differs: {chain.seal_groups(paper.seal)} on paper, {seal or 'none'} in the trail.",
                f"Likely cause: {cause}. Read the paper again; look for another copy of the session.",
                file=TRAIL_NAME,
            )
        )
    return found
