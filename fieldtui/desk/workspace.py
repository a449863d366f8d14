"""A workspace: routes, the crew's common tables, and the sessions taken along the routes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from fieldtui.desk.naming import offered
from fieldtui.errors import BadInputError, FieldtuiError, Problem
from fieldtui.files.disk import Disk, reason
from fieldtui.files.starter import starter_folder

# The start screen is painted before a file is read: whatever reads them is imported by the method that does.
if TYPE_CHECKING:
    from fieldtui.core.measurement.ohms import Resistance
    from fieldtui.core.plan.tables import Criterion, Tables
    from fieldtui.core.survey.standing import Result
    from fieldtui.desk.reading import ReadSession
    from fieldtui.files.route.file import RouteFile as RouteFile  # for screens, which do not reach for files

__all__ = [
    "History",
    "RouteEntry",
    "SessionEntry",
    "Workspace",
    "find_workspace",
    "slug",
]

_NEVER = datetime.min.replace(tzinfo=UTC)
_READ_WHOLE = 20  # sessions of a list that are read from end to end; enough for a screen
_SURVEYS = 8  # earlier surveys that are read; older ones say little about today
_TOLD = 3  # problems of tables that a warning names
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
    settled: int | None  # None where only the ends of its files were looked at
    points: int
    readings: int
    is_closed: bool
    trouble: str = ""
    is_practice: bool = False
    is_from_paper: bool = False
    last_time: datetime | None = None  # of its last row, UTC
    here: str = ""  # the point the walk stands at; of a glance, the one last read


@dataclass(frozen=True, slots=True)
class History:
    """As-left results of earlier surveys by point id, oldest survey first."""

    surveys: tuple[Mapping[str, Result], ...] = ()
    in_doubt: frozenset[str] = frozenset()  # points whose verdict in the latest survey is, for the meter

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
        self.copy_to: Path | None = None  # where a second copy of a session that is written is kept

    # --- routes and tables ----------------------------------------------------------------

    def tables(self) -> Tables:
        """The crew's common tables; the starter tables where the workspace has none."""
        from fieldtui.files.tables.tables import load_tables

        folder = self._tables_folder()
        return load_tables(lambda name: self._read_if_there(folder / name), lambda name: str(folder / name))

    def _criteria(self) -> Mapping[str, Criterion] | None:
        """The criteria, None where their table cannot be used: :meth:`warnings` tells of it."""
        from fieldtui.files.tables.tables import load_criteria

        folder = self._tables_folder()
        try:
            return load_criteria(lambda name: self._read_if_there(folder / name))
        except BadInputError:
            return None

    def _tables_folder(self) -> Path:
        folder = self.root / "shared"
        return folder if self.disk.is_folder(folder) else starter_folder(self.disk) / "shared"

    def warnings(self) -> list[str]:
        """What to know before a walk begins here: bad or missing tables, a medium that may forget."""
        from fieldtui.files.tables.tables import missing_files

        told: list[str] = []
        try:
            self.tables()
        except BadInputError as error:
            told += [f"{each.where}: {each.what}; {each.remedy}" for each in error.problems[:_TOLD]]
            if (more := len(error.problems) - _TOLD) > 0:
                told.append(f"and {more} more in the tables: fieldtui route check tells all")
        folder = self.root / "shared"
        if self.disk.is_folder(folder):  # else the starter tables stand in for all of them
            missing = missing_files(lambda name: b"" if self.disk.is_file(folder / name) else None)
            told += [f"{folder / problem.file}: {problem.what}" for problem in missing]
        return [*told, *filter(None, [self.disk.filesystem_note(self.sessions_folder)])]

    def load_route(self, ref: str) -> RouteFile:
        """The route called ``ref``: a path to a file, or a name in ``routes/``.

        Raises:
            BadInputError: with every problem of the file.
        """
        from fieldtui.files.route.file import load_route

        path = self.find_route(ref)
        return load_route(self._read(path), str(path), path.stem, self.tables().criteria)

    def load_part(self, ref: str, sections: Sequence[str]) -> RouteFile:
        """The sections of the route ``ref`` that one of several crews walks.

        Raises:
            BadInputError: with every problem of the file, or the section that is not on the route.
        """
        from fieldtui.files.route.part import part_of_route

        return part_of_route(self.load_route(ref), sections)

    def check_route(self, ref: str) -> list[Problem]:
        """Everything that is wrong with a route."""
        from fieldtui.files.route.file import check_route

        path = self.find_route(ref)
        tables = self.tables()
        return check_route(self._read(path), str(path), path.stem, tables.criteria, tables.instruments)

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
            remedy=offered(ref, self.route_names(), "give the path of a route file: none lies in routes/"),
        )

    def routes(self) -> list[RouteEntry]:
        """The routes of the workspace, by name."""
        criteria = self._criteria()
        paths = [self.root / "routes" / f"{name}.toml" for name in self.route_names()]
        return [self._route_entry(path, criteria) for path in paths]

    def route_names(self) -> list[str]:
        """The names of the route files, sorted."""
        names = self.names_in(self.root / "routes")
        return [name.removesuffix(".toml") for name in names if name.endswith(".toml")]

    def _route_entry(self, path: Path, criteria: Mapping[str, Criterion] | None) -> RouteEntry:
        from fieldtui.files.route.file import load_route, sketch_route

        try:
            data = self._read(path)
            if criteria is None:  # no fault of the route's
                return RouteEntry(path.stem, path, *sketch_route(data, str(path), path.stem))
            route = load_route(data, str(path), path.stem, criteria).route
        except FieldtuiError as error:
            line = next((each.line for each in error.problems), None)
            trouble = _first_words(error) if line is None else f"line {line}: {_first_words(error)}"
            return RouteEntry(path.stem, path, path.stem, 0, trouble=trouble)
        return RouteEntry(path.stem, path, route.title, len(route.points))

    # --- sessions -------------------------------------------------------------------------

    def sessions(self) -> list[SessionEntry]:
        """The sessions of the workspace, newest first; unreadable ones say why.

        The newest are read whole and verified, of the others only the ends.
        """
        folders = self._session_folders()[::-1]
        whole = [self._session_entry(folder) for folder in folders[:_READ_WHOLE]]
        return whole + [self._glanced_entry(folder) for folder in folders[_READ_WHOLE:]]

    def unfinished(self) -> list[str]:
        """The names of session folders whose making never finished."""
        if not self.disk.is_folder(self.sessions_folder):
            return []
        from fieldtui.files.durable import unfinished_sessions

        return [folder.name for folder in unfinished_sessions(self.disk, self.sessions_folder)]

    def left_open_last(self) -> SessionEntry | None:
        """The open session whose last row is the latest; one keyed from paper only where no other is open."""
        entries = [self._glanced_entry(folder) for folder in self._session_folders()]
        still_open = [each for each in entries if not each.is_closed and each.last_time is not None]
        walked = [each for each in still_open if not each.is_from_paper]
        return max(walked or still_open, key=lambda each: each.last_time or _NEVER, default=None)

    def history(self, route: str, before: str) -> History:
        """What earlier sessions along the route named ``route`` gave, the latest ones.

        ``before`` is the id of the session that asks; ids begin with the date, so they sort by time.
        """
        from fieldtui.core.account.bracket import points_in_doubt

        found: list[dict[str, Result]] = []
        in_doubt: frozenset[str] = frozenset()
        day = ""  # of the last survey found, where it was shared out in parts
        for session in self.earlier_sessions(route, before):
            survey = session.proven_survey
            standings = survey.standings.items()
            results = {point: each.as_left for point, each in standings if each.as_left is not None}
            its_day = session.facts.started.date().isoformat() if session.facts.part else ""
            if its_day and its_day == day and not results.keys() & found[-1].keys():
                found[-1] |= results  # two crews, one survey
                in_doubt |= points_in_doubt(survey) if len(found) == 1 else frozenset()
                continue
            if len(found) == _SURVEYS:
                break
            found.append(results)
            in_doubt = points_in_doubt(survey) if len(found) == 1 else in_doubt
            day = its_day
        return History(tuple(reversed(found)), in_doubt)

    def earlier_sessions(self, route: str, before: str) -> Iterator[ReadSession]:
        """The sessions along a route that have readings and came before ``before``, the latest first."""
        from fieldtui.desk.reading import read_session

        try:
            folders = self._session_folders()
        except BadInputError:
            return  # nothing to compare with is no reason not to walk
        for folder in reversed(folders):
            if folder.name >= before or f"_{slug(route)}_" not in folder.name:
                continue
            try:
                session = read_session(self.disk, folder)
            except FieldtuiError:
                continue  # a damaged earlier session is shown where sessions are listed
            if session.facts.route.name == route and session.proven_survey.records:
                yield session

    def session_names(self) -> list[str]:
        """The names of the folders that hold a session, sorted."""
        return [folder.name for folder in self._session_folders()]

    def _session_folders(self) -> list[Path]:
        folders = [self.sessions_folder / name for name in self.names_in(self.sessions_folder)]
        return [each for each in folders if self.disk.is_file(each / "session.toml")]

    def _session_entry(self, folder: Path) -> SessionEntry:
        from fieldtui.desk.reading import read_session

        try:
            session = read_session(self.disk, folder)
        except FieldtuiError as error:
            return SessionEntry(folder, folder.name, folder.name, 0, 0, 0, False, _first_words(error))
        return _entry_of(session)

    def _glanced_entry(self, folder: Path) -> SessionEntry:
        """A session by the ends of its files; one that does not look as it should is read whole."""
        from fieldtui.files.session.glance import glance_at

        seen = glance_at(self.disk, folder)
        if seen is None:
            return self._session_entry(folder)
        return SessionEntry(
            folder=folder,
            id=seen.id,
            title=seen.title,
            settled=None,
            points=seen.points,
            readings=seen.readings,
            is_closed=seen.is_closed,
            is_practice=seen.is_practice,
            is_from_paper=seen.is_from_paper,
            last_time=seen.last_time,
            here=seen.last_point,
        )

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
