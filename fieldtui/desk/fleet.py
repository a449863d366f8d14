"""The trends over whole folders of sessions, thousands of them, by published queries on their plain files.

The answer is the one that reading them one by one gives. What the queries cannot answer for, such as a
trail that does not hold, readings that were moved, or takes of several readings, is read one by one after
all. The verdict is the one said at the time, and of a row only the chain and what is used here is checked:
``verify`` looks at everything.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from fieldtui.core.between.history import Seen
from fieldtui.core.between.trend import Trend
from fieldtui.core.plan.session import Session
from fieldtui.desk.comparing import Gathered, RouteTrends, route_trends
from fieldtui.desk.copies import Copy, copy_of, is_better, left_out_words
from fieldtui.desk.fleet_points import (
    CannotFollowError,
    result_only_source,
    seen_in_results,
    seen_in_trail,
    settled_rows,
)
from fieldtui.desk.reading import read_session
from fieldtui.desk.results_alone import why_it_contradicts_itself
from fieldtui.desk.sources import NONE_STATED, Source, points_of, source_of, source_of_facts
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import (
    MAX_SESSION,
    MAX_TRAIL,
    SESSION_NAME,
    TRAIL_NAME,
    read_session_files,
)
from fieldtui.files.fleet.engine import FleetTables, Loaded, PointRow, SessionRow, SettledRow, require_engine
from fieldtui.files.fleet.folders import (
    MAX_RESULTS,
    RESULTS_NAME,
    find_session_folders,
    is_plain_path,
    why_no_results,
)
from fieldtui.files.session.snapshots import SnapshotReader
from fieldtui.files.trail.rows import HEADER


@dataclass(frozen=True, slots=True)
class FleetPoint:
    """One point over its surveys: counted by query, its slope fitted since the last rework."""

    counts: PointRow
    trend: Trend


@dataclass(frozen=True, slots=True)
class FleetRoute:
    """The points along one route of one asset."""

    trends: RouteTrends
    points: tuple[FleetPoint, ...]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Everything that was found, and what was not used."""

    routes: tuple[FleetRoute, ...]
    sessions: int
    read_singly: Mapping[str, int]  # why sessions were not left to the queries, and how many
    left_out: tuple[str, ...]


@dataclass(slots=True)
class _Survey:
    """One session on its way through."""

    folder: Path
    facts: Session | None  # None where only its results are there
    row: SessionRow
    rows: int = 0  # lines of its trail after the first
    why_single: str = ""
    source: Source | None = None
    seen: list[Seen] = field(default_factory=list)


def follow_fleet(disk: Disk, roots: Sequence[Path], *, point: str = "") -> Fleet:
    """The trends over every session at or below the folders, practice left out where real ones are there.

    With ``point`` only that point, and the routes that it is on.

    Raises:
        WrongUseError: DuckDB is not installed.
        BadInputError: a root is itself a session, and it cannot be read; there is no session at all, or
            none with a reading of ``point``.
    """
    require_engine()
    left_out: list[str] = []
    snapshots = SnapshotReader()
    surveys = _find_surveys(disk, roots, snapshots, left_out)
    if not surveys:
        raise BadInputError(
            "There is no session in this folder",
            where=", ".join(str(root) for root in roots),
            remedy="give a folder that holds sessions, however deep",
        )
    with FleetTables([survey.row for survey in surveys]) as tables:
        loaded = tables.load()
        settled: dict[str, list[SettledRow]] = {}
        for row in tables.candidates():
            settled.setdefault(row.session, []).append(row)
        for survey in surveys:
            try:
                if _fill(survey, loaded, settled.get(survey.row.session, [])):
                    _read_singly(disk, survey, snapshots)
            except (BadInputError, CannotFollowError) as error:
                if isinstance(error, BadInputError) and survey.folder in roots:
                    raise
                survey.source = None
                left_out.append(f"{survey.folder}: {error}")
        singles = [survey for survey in surveys if survey.why_single]
        tables.leave_out([survey.row.session for survey in singles])
        tables.settle([row for survey in singles for row in settled_rows(survey.row.session, survey.seen)])
        counts = {(row.asset, row.route, row.point): row for row in tables.points()}
    used = [survey for survey in surveys if survey.source is not None]
    routes = tuple(_routes(used, counts, point))
    if point and not routes:
        raise BadInputError(
            f"No session here has a reading of point {point}", remedy="check the id, or leave --point out"
        )
    why = Counter(survey.why_single for survey in used if survey.why_single)
    return Fleet(routes, len(used), dict(why.most_common()), tuple(left_out))


# --- what is there ------------------------------------------------------------------------------


def _find_surveys(
    disk: Disk, roots: Sequence[Path], snapshots: SnapshotReader, left_out: list[str]
) -> list[_Survey]:
    each_once = _EachOnce(disk, snapshots)
    met: set[Path] = set()  # a session may be named beside the folder that it lies in
    for root in roots:
        found = find_session_folders(disk, root)
        left_out += found.left_out
        for folder in found.sessions:
            if (place := folder.resolve()) in met:
                continue
            met.add(place)
            try:
                survey = _survey_of(disk, folder, snapshots)
            except BadInputError as error:
                if folder == root:  # it was named, and not met in a folder
                    raise
                left_out.append(f"{folder}: {error.what}")
                continue
            each_once.add(survey)
        each_once.others += _surveys_of_results(disk, found.results, each_once.surveys, left_out)
    left_out += each_once.left_out
    return _without_practice(each_once.surveys, left_out)


class _EachOnce:
    """Surveys met one after the other, of each the best copy. Copies are read only where they differ."""

    def __init__(self, disk: Disk, snapshots: SnapshotReader) -> None:
        self._disk = disk
        self._snapshots = snapshots
        self._by_names: dict[tuple[str, str], _Survey] = {}  # id and first link: two laptops may give one id
        self._copies: dict[Path, Copy | None] = {}
        self._left: list[tuple[tuple[str, str], _Survey]] = []
        self.others: list[_Survey] = []  # of which nothing but results is there

    @property
    def surveys(self) -> list[_Survey]:
        return [*self._by_names.values(), *self.others]

    def add(self, survey: _Survey) -> None:
        assert survey.facts is not None
        names = (survey.facts.id, survey.facts.first_link)
        known = self._by_names.setdefault(names, survey)
        if known is survey:
            return
        is_other = self._is_other(survey.folder, known.folder)
        one, other = (self._copy(survey), self._copy(known)) if is_other else (None, None)
        if one is not None and (other is None or is_better(one, other)):
            self._by_names[names], survey = survey, known
        self._left.append((names, survey))

    @property
    def left_out(self) -> Iterator[str]:
        """Every copy that is not used, and why."""
        for names, survey in self._left:
            used = self._by_names[names]
            is_other = self._is_other(survey.folder, used.folder)
            left, taken = (self._copy(survey), self._copy(used)) if is_other else (None, None)
            if left is not None and taken is not None:
                yield left_out_words(left, taken)
            else:
                yield f"{survey.folder}: a second copy of {names[0]}"

    def _is_other(self, one: Path, other: Path) -> bool:
        """Whether the files of two copies differ at all."""
        files = [read_session_files(self._disk, folder) for folder in (one, other)]
        return files[0] != files[1]

    def _copy(self, survey: _Survey) -> Copy | None:
        """What there is to know of a copy; None where it cannot be read."""
        folder = survey.folder
        if folder not in self._copies:
            try:
                self._copies[folder] = copy_of(read_session(self._disk, folder, self._snapshots))
            except BadInputError:
                self._copies[folder] = None
        return self._copies[folder]


def _survey_of(disk: Disk, folder: Path, snapshots: SnapshotReader) -> _Survey:
    data = disk.read_file(folder / SESSION_NAME, MAX_SESSION)
    trail = disk.read_file(folder / TRAIL_NAME, MAX_TRAIL)
    facts = snapshots.parse(data, str(folder / SESSION_NAME))
    path = (folder / TRAIL_NAME).absolute().as_posix()
    why = _why_single(facts, trail, path)
    row = SessionRow(
        session=str(folder),
        asset=facts.route.asset,
        route=facts.route.name,
        first_link=facts.first_link,
        digest=sha256(data).hexdigest(),
        trail="" if why else path,
    )
    return _Survey(folder, facts, row, trail.count(b"\n") - 1, why)


def _why_single(facts: Session, trail: bytes, path: str) -> str:
    """Why the queries are not even asked about a session; empty where they are."""
    if any(point.repeats != 1 or point.method != "single" for point in facts.route.points):
        return "several readings make one value"
    if not is_plain_path(path):
        return "its path holds signs that have a meaning for the engine"
    if not trail.startswith(HEADER) or not trail.endswith(b"\n") or b"\r" in trail or b"\0" in trail:
        return "its trail is unfinished or was saved in another form"
    try:
        trail.decode()
    except UnicodeDecodeError:
        return "its trail is unfinished or was saved in another form"
    lines = trail.split(b"\n")[1:-1]  # the queries do not see in which order rows stand
    is_in_order = all(line.startswith(b"%d," % row) for row, line in enumerate(lines, 1))
    return "" if is_in_order else "its rows are not in order"


def _surveys_of_results(
    disk: Disk, folders: Sequence[Path], known: Sequence[_Survey], left_out: list[str]
) -> list[_Survey]:
    """Folders with a results.csv alone: what they are of stands in the folder's name."""
    found: list[_Survey] = []
    routes = {(survey.row.asset, survey.row.route) for survey in known}
    ids = {survey.folder.name if survey.facts is None else survey.facts.id for survey in known}
    for folder in folders:
        source = result_only_source(folder, routes)
        why = ""
        if folder.name in ids:
            why = f"a second copy of {folder.name}"
        elif source is None:
            why = "a results.csv alone, and the folder is not called DATE_ASSET_ROUTE_NN"
        else:
            why = why_no_results(disk, folder / RESULTS_NAME) or why_it_contradicts_itself(
                disk.read_file(folder / RESULTS_NAME, MAX_RESULTS).decode()
            )
        if why or source is None:
            left_out.append(f"{folder}: {why}")
            continue
        ids.add(folder.name)
        path = (folder / RESULTS_NAME).absolute().as_posix()
        row = SessionRow(str(folder), source.asset, source.route, "", "", results=path)
        found.append(_Survey(folder, None, row, source=source))
    return found


def _without_practice(surveys: list[_Survey], left_out: list[str]) -> list[_Survey]:
    """Invented readings do not mix with real ones."""
    real = [survey for survey in surveys if survey.facts is None or not survey.facts.practice]
    if not real or len(real) == len(surveys):
        return surveys
    left_out += [
        f"{each.folder}: a practice, its readings are invented" for each in surveys if each not in real
    ]
    return real


# --- what each survey left ------------------------------------------------------------------------


def _fill(survey: _Survey, loaded: Loaded, settled: Sequence[SettledRow]) -> bool:
    """Put in place what the queries say of a survey's points; whether it has to be read singly instead.

    Raises:
        CannotFollowError: of a results.csv alone, which nothing else can be asked about.
    """
    if survey.facts is None:
        survey.seen = [seen_in_results(row) for row in settled]
        return False
    survey.why_single = survey.why_single or _why_not_followed(survey, loaded)
    if not survey.why_single:
        try:
            survey.seen = seen_in_trail(survey.facts, settled)
        except CannotFollowError as error:
            survey.why_single = str(error)
    if survey.why_single:
        return True
    survey.source = source_of_facts(
        survey.facts,
        survey.folder,
        has_accuracy=survey.facts.instrument.accuracy is not None,
        is_closed=loaded.states[survey.row.session][1],
        is_intact=True,
    )
    return False


def _why_not_followed(survey: _Survey, loaded: Loaded) -> str:
    session = survey.row.session
    rows, _ = loaded.states.get(session, (0, False))
    if session in loaded.broken or rows != survey.rows or not rows:
        return "its chain does not hold"
    return loaded.not_followed[session][1] if session in loaded.not_followed else ""


def _read_singly(disk: Disk, survey: _Survey, snapshots: SnapshotReader) -> None:
    session = read_session(disk, survey.folder, snapshots)
    survey.source = source_of(session, NONE_STATED)
    survey.seen = list(points_of(session, NONE_STATED))


# --- put together -----------------------------------------------------------------------------------


def _routes(
    surveys: Sequence[_Survey], counts: Mapping[tuple[str, str, str], PointRow], point: str
) -> list[FleetRoute]:
    groups: dict[tuple[str, str], Gathered] = {}
    for survey in surveys:
        assert survey.source is not None
        group = groups.setdefault((survey.row.asset, survey.row.route), Gathered())
        group.sources.append(survey.source)
        seen = [each for each in survey.seen if not point or each.point == point]
        group.surveys.append((survey.source.id, seen))
    routes = []
    for (asset, route), group in groups.items():
        trends = route_trends(group)
        points = tuple(FleetPoint(counts[asset, route, trend.point], trend) for trend in trends.trends)
        if points or not point:
            routes.append(FleetRoute(trends, points))
    return routes
