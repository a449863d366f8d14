"""Is a session's record whole and unchanged, and does it say what its own limits give?"""

from __future__ import annotations

import errno
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.text import counted
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Reopened
from fieldtui.desk.reading import ReadSession, read_session, seal_problems
from fieldtui.errors import BadInputError, Problem, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME

_NOTHING_TO_READ = frozenset({errno.ENOENT, errno.ENOTDIR, errno.ELOOP})  # missing, or a link
_SIGNED = "seal"  # the field that a trail which went on after the paper is named by
TORN_REMEDY = (
    "Another program is saving it at this moment, or a crash in the middle of a save left it, or this copy "
    "was cut off: a cut copy looks the same. It cannot be told whether the row had been shown as recorded. "
    "Hold the number of rows and the seal against the job card (fieldtui verify --seal --rows), or the trail "
    "against the second copy. Resuming the session sets the unfinished row aside."
)
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
            WrongUseError: the seal cannot be one, or is not whole; the rows cannot be counted so.
        """
        plain = "".join((seal or "").split()).lower()
        if seal is not None and (len(plain) != chain.LENGTH or _NO_SEAL.search(plain)):
            raise WrongUseError(
                f"This is not a whole seal: {chain.LENGTH} of the digits 0 to 9 and a to f make one",
                remedy='copy all of its groups from the paper, in quotes: --seal "0123 4567 …"',
            )
        if rows is not None and rows < 1:
            raise WrongUseError(
                f"This is no number of rows: {rows}; a session has one at least",
                remedy="copy the number that stands beside the seal on the paper: --rows 214",
            )
        return cls(plain, rows)


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found. ``ok`` only where nothing was."""

    ok: bool
    rows: int  # that are proven: before the first that is not known to be as it was written
    readings: int  # in these rows
    seal: str  # of the last row that follows the chain
    problems: tuple[Problem, ...]
    rows_found: int = 0  # all that stand in the trail
    readings_found: int = 0
    seal_row: int = 0
    is_whole: bool = False  # every row is there and proven: the seal may be copied on to paper
    is_sound: bool = False  # nothing is wrong with it by itself, whatever the paper says
    is_torn: bool = False  # its last row is not finished
    without_facts: bool = False  # its rows may be there, and its session.toml says nothing of them
    signed: str = ""  # where the trail is as on the paper up to its row, and went on: what came then

    @property
    def words(self) -> str:
        """The answer in one line."""
        rows, readings = counted(self.rows_found, "row"), counted(self.readings_found, "reading")
        if self.ok:
            return f"intact: {rows}, {readings}"
        if self.signed and all(problem.field == _SIGNED for problem in self.problems):
            return f"{self.signed}: {rows}, {readings}"
        if self.is_sound:
            return f"NOT as on the paper: {rows}, {readings}; the chain itself holds"
        if self.without_facts:
            return f"NOT intact: without its {SESSION_NAME} no row of its {TRAIL_NAME} is proven"
        if not self.rows_found:
            return "NOT intact: no row of it can be read"
        torn = ", and a last row that is not finished" if self.is_torn else ""
        return f"NOT intact: {self.rows} of {rows} proven, with {self.readings} of {readings}{torn}"

    def as_json(self) -> dict[str, object]:
        return {
            "ok": self.ok,
            "rows": self.rows,
            "readings": self.readings,
            "rows_found": self.rows_found,
            "readings_found": self.readings_found,
            "seal": self.seal,
            "problems": [problem.as_json() for problem in self.problems],
        }


def verify_session(disk: Disk, folder: Path, paper: Paper | None = None) -> Verified:
    """Check the chain, the rows and every verdict of a session, and hold it against the paper if given.

    Raises:
        BadInputError: there is no session in ``folder`` at all, or the system does not let its files be
            read, which says nothing of them.
    """
    paper = paper or Paper()
    try:
        session = read_session(disk, folder)
    except BadInputError as error:
        is_there = any(disk.is_file(folder / name) for name in (SESSION_NAME, TRAIL_NAME))
        if not is_there or _is_refused(error):
            raise
        # A session is there, and one of its files is missing or makes no sense: that is the finding.
        problems = error.problems or (Problem(error.what, error.remedy, file=error.where),)
        without_facts = Path(problems[0].file).name == SESSION_NAME and disk.is_file(folder / TRAIL_NAME)
        problems = (*problems, *_differences(paper, ()))
        return Verified(False, 0, 0, "", problems, without_facts=without_facts)
    signed = _signed(paper, session)
    compared = [signed] if signed is not None else _differences(paper, session.links)
    own = own_problems(session)
    problems = (*own, *compared)
    return Verified(
        ok=not problems,
        rows=session.proven_rows,
        readings=len(session.proven_survey.records),
        seal=session.seal,
        problems=problems,
        rows_found=session.rows_found,
        readings_found=session.readings_found,
        seal_row=session.rows,
        is_whole=session.is_whole,
        is_sound=not own,
        is_torn=bool(session.torn),
        signed=signed.what.removesuffix(".") if signed is not None else "",
    )


def own_problems(session: ReadSession) -> tuple[Problem, ...]:
    """What is wrong with a record, whatever the paper says; nothing where it is whole and unchanged."""
    return (*session.problems, *seal_problems(session), *_unfinished(session))


def last_link_words(verified: Verified) -> str:
    """The last link that holds, with its row; empty where there is none.

    Where more rows are linked than are proven, the chain hangs together and does not begin with its
    session.toml, or was made anew.
    """
    if not verified.seal_row:
        return ""
    told = f"last link that holds, row {verified.seal_row}: {verified.seal}"
    if verified.seal_row != verified.rows:
        told = f"{TRAIL_NAME} by itself, which proves nothing: {told}"
    return told


def _is_refused(error: BadInputError) -> bool:
    """Whether a file is there and the system would not hand it over."""
    cause = error.__cause__
    return isinstance(cause, OSError) and cause.errno not in _NOTHING_TO_READ


def _unfinished(session: ReadSession) -> list[Problem]:
    """A last row that was never finished. Its bytes are no damage, but the record is not whole either."""
    if not session.torn:
        return []
    return [
        Problem(
            f"After row {session.rows} stand {len(session.torn)} bytes of a row that is not finished.",
            TORN_REMEDY,
            file=TRAIL_NAME,
            severity="warning",
        )
    ]


# --- against the paper --------------------------------------------------------------------


def _signed(paper: Paper, session: ReadSession) -> Problem | None:
    """That the trail is as on the paper up to its row, and has more rows since; None where it is not so."""
    links = session.links
    if not paper.seal or paper.rows == len(links) or paper.seal not in links[:-1]:
        return None
    row = links.index(paper.seal) + 1
    if paper.rows is not None and paper.rows != row:
        return None
    first = session.events[row] if row < len(session.events) else None
    more = counted(len(links) - row, "more row")
    what = f"Unchanged up to row {row}, as on the job card; then {more}"
    if isinstance(first, Reopened):
        what += ": reopened" if len(links) == row + 1 else ", the first of them: reopened"
    return Problem(
        f"{what}.",
        f"The paper does not cover what came after row {row}: read the report, then copy the new seal and "
        "number of rows on to a job card when the session is closed.",
        file=TRAIL_NAME,
        line=row + 2,  # the header is line 1
        field=_SIGNED,
        severity="warning",
    )


def _differences(paper: Paper, links: Sequence[str]) -> list[Problem]:
    """What the paper says otherwise than the record; ``links`` are those of its good rows."""
    found: list[Problem] = []
    rows = len(links)
    fits = links.index(paper.seal) + 1 if paper.seal in links else 0  # the row whose seal is on the paper
    if paper.rows is not None and paper.rows != rows:
        gap = abs(paper.rows - rows)
        if fits:
            cause = f"a slip in copying the number, since the seal on paper is that of row {fits}"
        elif paper.rows > rows:
            cause = f"{gap} missing at the end: cut off, or this is an older copy"
        else:
            cause = f"{gap} more than when the paper was signed: another session, or it went on afterwards"
        found.append(
            Problem(
                f"The number of rows differs: {paper.rows} on paper, {rows} good ones in the trail.",
                f"Likely cause: {cause}. Read the paper again; look for another copy of the session.",
                file=TRAIL_NAME,
            )
        )
    row = paper.rows if paper.rows is not None and 0 < paper.rows < rows else rows
    seal = links[row - 1] if row else ""
    if paper.seal and not fits:
        cause = (
            "the number of rows"
            if found and row == rows
            else "a slip in copying, another session, or a record made anew"
        )
        there = f"{chain.seal_groups(seal)} in row {row} of" if seal else "none in"
        found.append(
            Problem(
                f"The seal differs: {chain.seal_groups(paper.seal)} on paper, {there} the trail.",
                f"Likely cause: {cause}. Read the paper again; look for another copy of the session.",
                file=TRAIL_NAME,
            )
        )
    return found
