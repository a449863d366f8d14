"""A session opened to be read: no lock, no write, nothing created, bytes and times left alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldtui.core.plan.session import Session
from fieldtui.core.survey.standing import Standing
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail.chain import seal_groups
from fieldtui.core.trail.events import Event, Reopened
from fieldtui.desk.quiet import collector_at_rest
from fieldtui.errors import Problem
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME, read_session_files
from fieldtui.files.session.file import parse_session
from fieldtui.files.session.snapshots import SnapshotReader
from fieldtui.files.trail.links import trail_links
from fieldtui.files.trail.scanned import NONE_UNREAD, Unread


@dataclass(frozen=True, slots=True)
class ReadSession:
    """A session as its files tell it."""

    folder: Path
    facts: Session
    events: Sequence[Event]  # event n stands in row n + 1
    survey: Survey
    seal: str  # the chain's last good link, in groups
    rows: int
    is_intact: bool  # chain, order and form of the trail
    problems: tuple[Problem, ...]  # of the trail's form first, then of what it says
    torn: bytes = b""  # a last row that was never finished
    links: Sequence[str] = ()  # link n is that of row n + 1, of the good rows
    unproven_from: int = 0  # the first row that is not known to be as it was written; 0 where all are
    unread: Unread = NONE_UNREAD  # what stands behind the events
    before_break: Survey | None = None  # what the proven rows alone say, where there are others

    @property
    def is_whole(self) -> bool:
        """Whether every row is there and proven. Only then is the seal one to be copied on to paper."""
        return not self.unproven_from and not self.torn

    @property
    def proven_rows(self) -> int:
        """Rows before the first that is not known to be as it was written."""
        return self.unproven_from - 1 if self.unproven_from else self.rows

    @property
    def rows_found(self) -> int:
        """All rows that stand in the trail, those that could not be read too, an unfinished one not."""
        return len(self.events) + self.unread.rows

    @property
    def proven_survey(self) -> Survey:
        """What the rows say that are as they were written. This is what other surveys are held against."""
        return self.survey if self.before_break is None else self.before_break

    @property
    def readings_found(self) -> int:
        """Readings in all rows that stand in the trail."""
        return len(self.survey.records) + self.unread.readings

    def is_unproven(self, row: int) -> bool:
        return 0 < self.unproven_from <= row


@collector_at_rest()
def read_session(disk: Disk, folder: Path, snapshots: SnapshotReader | None = None) -> ReadSession:
    """Read a session and judge it anew from its own snapshot.

    ``snapshots`` makes reading many of one route quicker; the answer is the same.

    Raises:
        BadInputError: there is no session here, or its ``session.toml`` cannot be understood.
    """
    files = read_session_files(disk, folder)
    parse = parse_session if snapshots is None else snapshots.parse
    facts = parse(files.session_toml, str(folder / SESSION_NAME))
    scan = files.scan(facts.first_link)
    survey = fold(facts.route, facts.instrument, scan.events)
    session = ReadSession(
        folder=folder,
        facts=facts,
        events=scan.events,
        survey=survey,
        seal=seal_groups(scan.last_link),
        rows=scan.rows,
        is_intact=scan.intact,
        problems=(*scan.problems, *survey.problems),
        torn=scan.torn,
        links=trail_links(files.trail, scan.rows),
        unproven_from=scan.unproven_from,
        unread=scan.unread,
    )
    # A chain that was made anew proves nothing, though it holds.
    first = 1 if seal_problems(session) else scan.unproven_from
    if not first:
        return session
    proven = fold(facts.route, facts.instrument, scan.events[: first - 1])
    return replace(session, unproven_from=first, before_break=proven)


def unproven_points(session: ReadSession) -> frozenset[str]:
    """Points of which the proven rows alone do not say what all rows say.

    Where rows could not be read, a point without a result is one of them: its reading may stand there.
    """
    proven = session.before_break
    if proven is None:
        return frozenset()
    return frozenset(
        point
        for point, standing in session.survey.standings.items()
        if point not in proven.standings
        or _told(standing) != _told(proven.standings[point])
        or (session.unread.rows and standing.as_left is None)
    )


def _told(standing: Standing) -> tuple[object, ...]:
    return (
        standing.state,
        standing.as_found,
        standing.as_left,
        standing.asked_again,
        standing.reason,
        standing.discrepancy,
    )


def unproven_records(session: ReadSession) -> frozenset[int]:
    """Readings that are not known to stand as they were written: their row, or one that changed them."""
    proven = session.before_break
    if proven is None:
        return frozenset()
    return frozenset(
        number for number, record in session.survey.records.items() if proven.records.get(number) != record
    )


def trail_words(session: ReadSession) -> str:
    """How far the trail can be relied on, after "the trail is"; empty where nothing is to be said of it."""
    if session.unproven_from:
        proven, rows, readings = session.proven_rows, session.rows_found, session.readings_found
        if not rows:
            return "NOT intact: no row of it can be read"
        at_least = "" if session.unread.is_all else "at least "
        before = f"the {proven} before the break are" if proven > 1 else "the one before the break is"
        kept = f"{len(session.proven_survey.records)} of {at_least}{readings}"
        return (
            f"NOT intact: of {at_least}{rows} rows {before if proven else 'none is'} proven and used, "
            f"with {kept} {'reading' if readings == 1 else 'readings'}"
        )
    if session.torn:
        return f"incomplete: its last row is not finished; the {session.rows} before it are used"
    if not session.is_intact:
        return "saved again in another form; every cell is as it was written, and all of it is used"
    return ""


def seal_problems(session: ReadSession) -> list[Problem]:
    """Reopenings whose own word on the seal they broke is not the link of the row before them.

    The chain itself holds there: such a trail was put together anew from there on.
    """
    found = []
    for row, event in enumerate(session.events[: len(session.links)], 1):
        if isinstance(event, Reopened) and row > 1 and session.links[row - 2] != event.ref:
            found.append(
                Problem(
                    f"Row {row} reopens a session whose seal was {seal_groups(event.ref)}, and the row above "
                    f"it ends with {seal_groups(session.links[row - 2])}.",
                    "Likely cause: rows before it were changed or taken out and the chain was made anew. "
                    "Hold the seal of the earlier close, on the job card, against both.",
                    file=TRAIL_NAME,
                    line=row + 1,
                    field="ref",
                )
            )
    return found
