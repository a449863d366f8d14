"""A session opened to be read: no lock, no write, nothing created, bytes and times left alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.chain import seal_groups
from fieldtui.core.events import Event
from fieldtui.core.session import Session
from fieldtui.core.survey import Survey, fold
from fieldtui.errors import Problem
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, read_session_files
from fieldtui.files.session_file import parse_session


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


def read_session(disk: Disk, folder: Path) -> ReadSession:
    """Read a session and judge it anew from its own snapshot.

    Raises:
        BadInputError: there is no session here, or its ``session.toml`` cannot be understood.
    """
    files = read_session_files(disk, folder)
    facts = parse_session(files.session_toml, str(folder / SESSION_NAME))
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
    )
