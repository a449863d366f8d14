"""How a session comes to be open for writing: begun, resumed, or carried on from a failed medium."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from fieldtui import __version__
from fieldtui.core.brief import Brief, blocks
from fieldtui.core.events import Started
from fieldtui.core.session import Session
from fieldtui.core.survey import fold
from fieldtui.core.text import refusal
from fieldtui.desk.clock import Clock
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import MAX_TOML, Workspace, slug
from fieldtui.errors import BadInputError, SessionClosedError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, create_session, lock_session, open_session
from fieldtui.files.route_file import RouteFile
from fieldtui.files.session_file import format_session, parse_session

PROGRAM = f"fieldtui {__version__}"
_LINK_LENGTH = 32


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a session comes from when it is not simply begun on the spot."""

    transcribed_from: str = ""
    practice: bool = False
    follows: str = ""


def begin_session(
    workspace: Workspace,
    route: RouteFile,
    brief: Brief,
    clock: Clock,
    *,
    practice: bool = False,
) -> Desk:
    """Start a session along ``route``: its files, the answers of the brief, the first memory run.

    Raises:
        WrongUseError: something in the brief blocks the walk; no session was made.
        BadInputError: a text of the brief may not be recorded; no session was made.
        NotSavedError: the medium refused.
    """
    if blocked := blocks(brief, clock.wall().date()):
        raise WrongUseError(
            f"The walk cannot begin: {'; '.join(blocked.values())}",
            remedy="put it right, or override it with a reason",
        )
    for item, why in brief.overrides.items():
        if refused := refusal(why):
            raise BadInputError(
                f"The reason given for {item} cannot be recorded: {refused}", remedy="key it again without it"
            )
    desk = create_desk(workspace, route, brief, clock, origin=Origin(practice=practice))
    try:
        desk.begin(brief)
    except BaseException:
        desk.leave()
        raise
    return desk


def create_desk(
    workspace: Workspace,
    route: RouteFile,
    brief: Brief,
    clock: Clock,
    *,
    origin: Origin,
    started: datetime | None = None,
) -> Desk:
    """Make a session's files, with everything in them that is needed to judge it later."""
    tables = workspace.tables()
    started = started or clock.wall()
    started = started.replace(microsecond=started.microsecond // 1000 * 1000)
    session_id = _free_id(workspace, route, started.date().isoformat())
    facts = Session(
        id=session_id,
        program=PROGRAM,
        started=started,
        job=brief.job,
        crew=brief.crew,
        instrument=brief.instrument,
        route=route.route,
        reasons=tables.reasons,
        cautions=tables.cautions,
        first_link=sha256(f"{session_id} {started.isoformat()}".encode()).hexdigest()[:_LINK_LENGTH],
        ambient_c=brief.ambient_c,
        transcribed_from=origin.transcribed_from,
        practice=origin.practice,
        follows=origin.follows,
    )
    data = format_session(facts, route.raw, tables.criteria)
    facts = parse_session(data, SESSION_NAME)  # the snapshot is what judges, from the first reading on
    row = Started(
        time=started, by=brief.crew.recorder, ref=sha256(data).hexdigest(), note=_started_note(facts)
    )
    history = workspace.history(facts.route.name, session_id)
    trail = create_session(workspace.disk, workspace.sessions_folder, session_id, data, facts.first_link, row)
    return Desk(
        facts,
        workspace.sessions_folder / session_id,
        trail,
        fold(facts.route, facts.instrument, [row]),
        clock,
        history,
    )


def resume_session(workspace: Workspace, folder: Path, clock: Clock) -> Desk:
    """Open a session to go on with it, at the same point, record and memory number.

    Raises:
        SessionInUseError: another program writes it.
        SessionClosedError: it is closed.
        SessionDamagedError: its files were changed; nothing was touched.
    """
    disk = workspace.disk
    lock = lock_session(disk, folder)
    try:
        data = disk.read_file(folder / SESSION_NAME, MAX_TOML)
        facts = parse_session(data, str(folder / SESSION_NAME))
        history = workspace.history(facts.route.name, facts.id)
        trail, scan, recovery = open_session(disk, folder, lock, data, facts.first_link)
    except BaseException:
        lock.release()
        raise
    desk = Desk(facts, folder, trail, fold(facts.route, facts.instrument, scan.events), clock, history)
    try:
        if desk.survey.closed:
            raise SessionClosedError(
                "The session is closed and takes no more events",
                where=str(folder),
                remedy=f"look at it with: fieldtui review {folder}",
            )
        if recovery is not None:
            desk.torn_row_set_aside(recovery.file, recovery.note)
        desk.reopened(PROGRAM)
    except BaseException:
        desk.leave()
        raise
    return desk


def find_session(disk: Disk, workspace: Workspace, ref: str) -> Path:
    """The folder of a session given by path or by name.

    A name or path that leads nowhere is returned as it is: the one who opens it says so.
    """
    named = workspace.sessions_folder / ref
    return named if not disk.is_folder(Path(ref)) and disk.is_folder(named) else Path(ref)


def _started_note(facts: Session) -> str:
    return f"transcribed from {facts.transcribed_from}" if facts.transcribed_from else PROGRAM


def _free_id(workspace: Workspace, route: RouteFile, day: str) -> str:
    """``DATE_ASSET_ROUTE_NN``: sorts by time, legal on every system, free."""
    stem = f"{day}_{slug(route.route.asset, 24)}_{slug(route.route.name)}_"
    folder = workspace.sessions_folder
    taken = workspace.disk.list_folder(folder) if workspace.disk.is_folder(folder) else []
    numbers = [int(name[len(stem) :]) for name in taken if re.fullmatch(re.escape(stem) + "[0-9]{2,4}", name)]
    return f"{stem}{max(numbers, default=0) + 1:02d}"
