"""How a session comes to be open for writing: begun, resumed, or carried on from a failed medium."""

from __future__ import annotations

import re
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from fieldtui import __version__
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.brief import Brief, blocks
from fieldtui.core.survey.survey import fold
from fieldtui.core.text import refusal
from fieldtui.core.trail.events import Started
from fieldtui.desk.clock import Clock
from fieldtui.desk.naming import offered
from fieldtui.desk.quiet import collector_at_rest
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.watching import settled_records
from fieldtui.desk.workspace import MAX_TOML, Workspace, slug
from fieldtui.errors import BadInputError, SessionClosedError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, Recovery, create_session, lock_session, open_session
from fieldtui.files.route.file import RouteFile
from fieldtui.files.session.file import freeze_session, parse_session

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
    if blocked := blocks(brief, clock.wall().date(), route.route):
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
    with ExitStack() as undo:
        undo.callback(desk.leave)
        _keep_copy(workspace, desk)
        desk.begin(brief)
        undo.pop_all()
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
    session_id = free_id(workspace, route, started)
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
        criteria=tables.criteria,
        first_link=sha256(f"{session_id} {started.isoformat()}".encode()).hexdigest()[:_LINK_LENGTH],
        ambient_c=brief.ambient_c,
        conductor_c=brief.conductor_c,
        transcribed_from=origin.transcribed_from,
        practice=origin.practice,
        part=route.part,
        elsewhere=route.elsewhere,
        follows=origin.follows,
    )
    # The snapshot as read back is what judges, from the first reading on.
    data, facts = freeze_session(facts, route.raw, tables.criteria)
    row = Started(
        time=started, by=brief.crew.recorder, ref=sha256(data).hexdigest(), note=_started_note(facts)
    )
    history = workspace.history(facts.route.name, session_id)
    trail = create_session(workspace.disk, workspace.sessions_folder, session_id, data, facts.first_link, row)
    desk = Desk(
        facts,
        workspace.sessions_folder / session_id,
        trail,
        fold(facts.route, facts.instrument, [row]),
        clock,
        history,
    )
    desk.meters_on_hand = lambda: workspace.tables().instruments
    return desk


def resume_session(
    workspace: Workspace, folder: Path, clock: Clock, *, recorder: str = "", prober: str = ""
) -> Desk:
    """Open a session to go on with it, at the same point, record and memory number.

    Where ``recorder`` or ``prober`` is somebody else than before, the first row says so.

    Raises:
        BadInputError: there is no session in ``folder``.
        SessionInUseError: another program writes it.
        SessionClosedError: it is closed.
        SessionDamagedError: its files were changed; nothing was touched.
    """
    with ExitStack() as undo:
        desk, recovery = _open_desk(workspace, folder, clock, undo)
        if desk.survey.closed:
            raise SessionClosedError(
                "The session is closed and takes no more events",
                where=str(folder),
                remedy=f"look at it: fieldtui review {folder}; open it again: fieldtui reopen {folder}",
            )
        if recovery is not None:
            desk.torn_row_set_aside(recovery.file, recovery.note)
        desk.taken_up_by(recorder=recorder, prober=prober)
        desk.reopened(PROGRAM)
        _keep_copy(workspace, desk)
        undo.pop_all()
    return desk


def reopen_session(workspace: Workspace, folder: Path, clock: Clock, reason: str, by: str = "") -> Desk:
    """Open a closed session to go on with it. Its seal no longer is that of the record.

    Args:
        reason: why; it is an exception of the session from here on.
        by: who reopens it, the recorder if left out.

    Raises:
        WrongUseError: it is not closed.
        BadInputError: there is no session in ``folder``, or the reason is missing.
        SessionInUseError: another program writes it.
        SessionDamagedError: its files were changed; nothing was touched.
    """
    with ExitStack() as undo:
        desk, recovery = _open_desk(workspace, folder, clock, undo)
        desk.reopen(reason, by)
        if recovery is not None:
            desk.torn_row_set_aside(recovery.file, recovery.note)
        _keep_copy(workspace, desk)
        undo.pop_all()
    return desk


def _keep_copy(workspace: Workspace, desk: Desk) -> None:
    if workspace.copy_to is not None:
        desk.copy_to(workspace.copy_to, workspace.disk)


@collector_at_rest()
def _open_desk(
    workspace: Workspace, folder: Path, clock: Clock, undo: ExitStack
) -> tuple[Desk, Recovery | None]:
    """A session's files open for writing; ``undo`` lets them go again."""
    disk = workspace.disk
    if not disk.is_file(folder / SESSION_NAME):
        raise BadInputError(
            "There is no session here", where=str(folder), remedy="give its folder, or its name in sessions/"
        )
    lock = lock_session(disk, folder)
    undo.callback(lock.release)
    data = disk.read_file(folder / SESSION_NAME, MAX_TOML)
    facts = parse_session(data, str(folder / SESSION_NAME))
    history = workspace.history(facts.route.name, facts.id)
    trail, scan, recovery = open_session(disk, folder, lock, data, facts.first_link)
    undo.callback(trail.close)
    survey = fold(facts.route, facts.instrument, scan.events)
    desk = Desk(facts, folder, trail, survey, clock, history)
    desk.meters_on_hand = lambda: workspace.tables().instruments
    desk.settled_at = settled_records(scan.events)
    return desk, recovery


def find_session(disk: Disk, workspace: Workspace, ref: str) -> Path:
    """The folder of a session given by path or by name.

    A name or path that leads nowhere is returned as it is: the one who opens it says so.
    """
    named = workspace.sessions_folder / ref
    return named if not disk.is_folder(Path(ref)) and disk.is_folder(named) else Path(ref)


def known_session(workspace: Workspace, ref: str) -> Path:
    """The folder given by path, or by name in the workspace's sessions.

    Raises:
        BadInputError: there is no such folder; the sessions that there are, nearest first.
    """
    folder = find_session(workspace.disk, workspace, ref)
    if workspace.disk.is_folder(folder):
        return folder
    raise BadInputError(
        f"There is no session {ref}",
        where=str(workspace.sessions_folder),
        remedy=offered(ref, workspace.session_names(), "none lies there; begin one: fieldtui walk ROUTE"),
    )


def _started_note(facts: Session) -> str:
    return f"transcribed from {facts.transcribed_from}" if facts.transcribed_from else PROGRAM


def free_id(workspace: Workspace, route: RouteFile, started: datetime) -> str:
    """The id of a session to be begun: ``DATE_ASSET_ROUTE_NN`` sorts by time, is legal on every system."""
    part = f"{slug('-'.join(route.part), 24)}_" if route.part else ""  # two laptops, two ids
    stem = f"{started.date().isoformat()}_{slug(route.route.asset, 24)}_{slug(route.route.name)}_{part}"
    taken = workspace.names_in(workspace.sessions_folder)
    numbers = [int(name[len(stem) :]) for name in taken if re.fullmatch(re.escape(stem) + "[0-9]{2,4}", name)]
    return f"{stem}{max(numbers, default=0) + 1:02d}"
