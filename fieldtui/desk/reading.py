"""A session opened to be read: no lock, no write, nothing created, bytes and times left alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.plan.session import Session
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
    return ReadSession(
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
    )


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
