"""A workspace: routes, the crew's common tables, and the sessions taken along the routes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fieldtui.core.ohms import Resistance
from fieldtui.core.standing import Result
from fieldtui.core.tables import Tables
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.errors import BadInputError, FieldtuiError, Problem
from fieldtui.files.disk import Disk, reason
from fieldtui.files.durable import unfinished_sessions
from fieldtui.files.route_file import RouteFile, check_route, load_route
from fieldtui.files.starter import starter_folder
from fieldtui.files.tables import load_tables

__all__ = [
    "History",
    "RouteEntry",
    "RouteFile",  # screens name it, and do not reach for files
    "SessionEntry",
    "Workspace",
    "find_workspace",
    "slug",
]

_NEVER = datetime.min.replace(tzinfo=UTC)
_SURVEYS = 8  # earlier surveys that are read; older ones say little about today
MAX_TOML = 4 * 1024 * 1024  # bytes; a route of 10,000 points fits


@dataclass(frozen=True, slots=True)
class RouteEntry:
    """A route as the start screen lists it; ``trouble`` is the first problem of one that is unusable."""

    name: str
    path: Path
    title: str
    points: int
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class SessionEntry:
    """A session as the start screen lists it."""

    folder: Path
    id: str
    title: str
    settled: int
    points: int
    readings: int
    is_closed: bool
    trouble: str = ""
    is_practice: bool = False
    is_from_paper: bool = False
    last_time: datetime | None = None  # of its last row, UTC
    here: str = ""  # the point the walk stands at


@dataclass(frozen=True, slots=True)
class History:
    """As-left results of earlier surveys by point id, oldest survey first."""

    surveys: tuple[Mapping[str, Result], ...] = ()

    @property
    def previous(self) -> Mapping[str, Result]:
        """Those of the latest survey."""
        return self.surveys[-1] if self.surveys else {}

    def readings(self) -> dict[str, list[Resistance]]:
        """Every earlier value of each point, oldest first."""
        values: dict[str, list[Resistance]] = {}
        for survey in self.surveys:
            for point, result in survey.items():
                values.setdefault(point, []).append(result.value)
        return values


class Workspace:
    """The folder a crew works in. Only reads; sessions are begun in ``opening``."""

    def __init__(self, root: Path, disk: Disk, sessions_folder: Path | None = None) -> None:
        self.root = root
        self.disk = disk
        self.sessions_folder = sessions_folder or root / "sessions"

    # --- routes and tables ----------------------------------------------------------------

    def tables(self) -> Tables:
        """The crew's common tables; the starter tables where the workspace has none."""
        folder = self.root / "shared"
        if not self.disk.is_folder(folder):
            folder = starter_folder(self.disk) / "shared"
        return load_tables(lambda name: self._read_if_there(folder / name))

    def load_route(self, ref: str) -> RouteFile:
        """The route called ``ref``: a path to a file, or a name in ``routes/``.

        Raises:
            BadInputError: with every problem of the file.
        """
        path = self.find_route(ref)
        return load_route(self._read(path), str(path), path.stem, self.tables().criteria)

    def check_route(self, ref: str) -> list[Problem]:
        """Everything that is wrong with a route."""
        path = self.find_route(ref)
        return check_route(self._read(path), str(path), path.stem, self.tables().criteria)

    def find_route(self, ref: str) -> Path:
        """The path of a route given by path or by name."""
        direct = Path(ref)
        places = [direct, self.root / "routes" / f"{ref}.toml", self.root / "routes" / ref]
        places.append(starter_folder(self.disk) / "routes" / f"{ref}.toml")
        for place in places:
            if self.disk.is_file(place):
                return place
        raise BadInputError(
            f"There is no route {ref}",
            where=str(self.root / "routes"),
            remedy="give the path of a route file, or the name of one in routes/",
        )

    def routes(self) -> list[RouteEntry]:
        """The routes of the workspace, by name."""
        folder = self.root / "routes"
        names = (name for name in self.names_in(folder) if name.endswith(".toml"))
        return [self._route_entry(folder / name) for name in names]

    def _route_entry(self, path: Path) -> RouteEntry:
        try:
            route = self.load_route(str(path)).route
        except FieldtuiError as error:
            return RouteEntry(path.stem, path, path.stem, 0, trouble=_first_words(error))
        return RouteEntry(path.stem, path, route.title, len(route.points))

    # --- sessions -------------------------------------------------------------------------

    def sessions(self) -> list[SessionEntry]:
        """The sessions of the workspace, newest first; unreadable ones say why."""
        return [self._session_entry(folder) for folder in reversed(self._session_folders())]

    def unfinished(self) -> list[str]:
        """The names of session folders whose making never finished."""
        if not self.disk.is_folder(self.sessions_folder):
            return []
        return [folder.name for folder in unfinished_sessions(self.disk, self.sessions_folder)]

    def left_open_last(self) -> SessionEntry | None:
        """The open session whose last row is the latest; one keyed from paper only where no other is open."""
        still_open = [each for each in self.sessions() if not each.is_closed and each.last_time is not None]
        walked = [each for each in still_open if not each.is_from_paper]
        return max(walked or still_open, key=lambda each: each.last_time or _NEVER, default=None)

    def history(self, route: str, before: str) -> History:
        """What earlier sessions along the route named ``route`` gave, the latest ones.

        ``before`` is the id of the session that asks; ids begin with the date, so they sort by time.
        """
        found: list[Mapping[str, Result]] = []
        try:
            folders = self._session_folders()
        except BadInputError:
            return History()  # nothing to compare with is no reason not to walk
        for folder in reversed(folders):
            if folder.name >= before or f"_{slug(route)}_" not in folder.name or len(found) == _SURVEYS:
                continue
            try:
                session = read_session(self.disk, folder)
            except FieldtuiError:
                continue  # a damaged earlier session is shown where sessions are listed
            if session.facts.route.name == route and session.survey.records:
                standings = session.survey.standings.items()
                found.append({point: each.as_left for point, each in standings if each.as_left is not None})
        return History(tuple(reversed(found)))

    def _session_folders(self) -> list[Path]:
        folders = [self.sessions_folder / name for name in self.names_in(self.sessions_folder)]
        return [each for each in folders if self.disk.is_file(each / "session.toml")]

    def _session_entry(self, folder: Path) -> SessionEntry:
        try:
            session = read_session(self.disk, folder)
        except FieldtuiError as error:
            return SessionEntry(folder, folder.name, folder.name, 0, 0, 0, False, _first_words(error))
        return _entry_of(session)

    def names_in(self, folder: Path) -> list[str]:
        """The names in a folder, sorted; none where there is no folder.

        Raises:
            BadInputError: it cannot be read.
        """
        if not self.disk.is_folder(folder):
            return []
        try:
            return self.disk.list_folder(folder)
        except OSError as error:
            raise BadInputError(
                f"The folder cannot be read: {reason(error)}",
                where=str(folder),
                remedy="check the disk, and who may read it",
            ) from None

    def _read(self, path: Path) -> bytes:
        return self.disk.read_file(path, MAX_TOML)

    def _read_if_there(self, path: Path) -> bytes | None:
        return self._read(path) if self.disk.is_file(path) else None


def find_workspace(here: Path, disk: Disk, route: str = "", sessions_folder: Path | None = None) -> Workspace:
    """The workspace ``here``, or the one that a route file given by path lies in."""
    if not disk.is_folder(here / "shared") and disk.is_file(Path(route)):
        beside = Path(route).resolve().parent.parent
        if disk.is_folder(beside / "shared"):
            return Workspace(beside, disk, sessions_folder or here / "sessions")
    return Workspace(here, disk, sessions_folder)


def _entry_of(session: ReadSession) -> SessionEntry:
    survey = session.survey
    return SessionEntry(
        folder=session.folder,
        id=session.facts.id,
        title=session.facts.route.title,
        settled=survey.settled,
        points=len(survey.points),
        readings=len(survey.records),
        is_closed=survey.closed,
        trouble=session.problems[0].what if session.problems else "",
        is_practice=session.facts.practice,
        is_from_paper=bool(session.facts.transcribed_from),
        last_time=survey.last_time,
        here=survey.position.here or "",
    )


def _first_words(error: FieldtuiError) -> str:
    return error.problems[0].what if error.problems else error.what


def slug(text: str, length: int = 40) -> str:
    """A text as part of a folder's name: lower-case letters, digits and hyphens, legal everywhere."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "-", plain).strip("-")[:length].strip("-") or "x"
