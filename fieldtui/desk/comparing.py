"""Sessions held against each other: two compared, several merged, many followed over time.

Only reads, through the same door as review and verify; nothing is written anywhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from fieldtui.core.between.comparison import Difference, compare
from fieldtui.core.between.coverage import Covered, cover
from fieldtui.core.between.history import Seen
from fieldtui.core.between.trend import Trend, find_trends
from fieldtui.desk.copies import Copy, copy_of, is_better, left_out_words
from fieldtui.desk.opening import find_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.sources import NONE_STATED, Accuracies, Source, find_folders, points_of, source_of
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, FieldtuiError, WrongUseError
from fieldtui.files.session.snapshots import SnapshotReader


@dataclass(frozen=True, slots=True)
class Compared:
    """Two sessions, point by point."""

    old: Source
    new: Source
    notes: tuple[str, ...]
    differences: tuple[Difference, ...]

    @property
    def has_findings(self) -> bool:
        """Also where a trail is not whole: what it lacks cannot be compared."""
        is_whole = self.old.is_whole and self.new.is_whole
        return not is_whole or any(difference.is_finding for difference in self.differences)


@dataclass(frozen=True, slots=True)
class Merged:
    """Several sessions of one route as one coverage."""

    sources: tuple[Source, ...]
    notes: tuple[str, ...]
    points: tuple[Covered, ...]
    unclaimed: tuple[tuple[str, str], ...] = ()  # points left to another session that none has: id, title

    @property
    def has_findings(self) -> bool:
        if self.unclaimed or not all(source.is_whole for source in self.sources):
            return True
        return any(p.conflicts or not p.is_settled for p in self.points)


@dataclass(frozen=True, slots=True)
class RouteTrends:
    """The trends along one route of one asset."""

    sources: tuple[Source, ...]  # oldest first
    notes: tuple[str, ...]
    trends: tuple[Trend, ...]


@dataclass(frozen=True, slots=True)
class Followed:
    """Trends by route, and the sessions that could not be read, each with why."""

    routes: tuple[RouteTrends, ...]
    left_out: tuple[str, ...]


# --- two compared -------------------------------------------------------------------------


def compare_sessions(old: ReadSession, new: ReadSession, accuracies: Accuracies = NONE_STATED) -> Compared:
    """Hold two sessions against each other, point by point."""
    was, now = source_of(old, accuracies), source_of(new, accuracies)
    left = new.facts.elsewhere
    differences = [
        each
        for each in compare(points_of(old, accuracies), points_of(new, accuracies))
        if each.new is not None or each.point not in left
    ]
    notes = [*_pair_notes(was, now), *_part_notes(was), *_part_notes(now)]
    return Compared(was, now, tuple(notes), tuple(differences))


def _part_notes(source: Source) -> Iterator[str]:
    if source.part:
        yield (
            f"{source.id} is part of the route: {', '.join(source.part)}; "
            f"{len(source.elsewhere)} of its points were left to another session"
        )


def _pair_notes(old: Source, new: Source) -> Iterator[str]:
    if old.started > new.started:
        yield "OLD was started after NEW: perhaps they are the wrong way round"
    if old.route != new.route:
        yield f"two routes: {old.route} and {new.route}; points are matched by id alone"
    if old.asset != new.asset:
        yield f"two assets: {old.asset} and {new.asset}"
    if old.revision != new.revision:
        yield f"the route's revision changed from {old.revision or 'none'} to {new.revision or 'none'}"
    if old.is_practice != new.is_practice:
        yield f"{(old if old.is_practice else new).id} is a practice: its readings are invented"
    silent = [name for name, source in (("OLD", old), ("NEW", new)) if not source.has_accuracy]
    if silent:
        meters = " and ".join(silent)
        yield f"no uncertainty stated by the meter of {meters}: judged by its display steps only"
    is_one = old.id == new.id  # two copies of one session
    for name, source in (("OLD", old), ("NEW", new)):
        yield from _state_notes(replace(source, id=name) if is_one else source)


def _intact_notes(source: Source) -> Iterator[str]:
    if not source.has_trail:
        yield (
            f"{source.id} is a results.csv alone: no chain proves it, and failures and reworks before its "
            "last values are not in it"
        )
    if source.trail_words:
        yield f"the trail of {source.id} is {source.trail_words}"


def _state_notes(source: Source) -> Iterator[str]:
    yield from _intact_notes(source)
    if not source.is_closed:
        yield f"{source.id} is not closed"
    if source.follows:
        yield f"{source.id} carries on {source.follows}, where its earlier points are"


# --- several merged -----------------------------------------------------------------------


def merge_sessions(sessions: Sequence[ReadSession], accuracies: Accuracies = NONE_STATED) -> Merged:
    """Put several sessions of one route together.

    Raises:
        WrongUseError: they are not of one route and asset, or one is there twice.
    """
    sources = tuple(_told_apart([source_of(session, accuracies) for session in sessions]))
    first = sources[0]
    if len({source.id for source in sources}) < len(sources):
        raise WrongUseError(
            "A session is there twice",
            where=", ".join(str(source.folder) for source in sources),
            remedy="name each session once, and no copy beside it",
        )
    for source in sources:
        if (source.route, source.asset) != (first.route, first.asset):
            raise WrongUseError(
                "Sessions of different routes cannot be merged",
                where=f"{first.id}: {_along(first)}; {source.id}: {_along(source)}",
                remedy="name sessions of one route and one asset, or use: fieldtui compare OLD NEW",
            )
    points = cover(
        {source.id: points_of(session, accuracies) for source, session in zip(sources, sessions, strict=True)}
    )
    left = {point: title for source in sources for point, title in source.elsewhere.items()}
    unclaimed = [(point, title) for point, title in left.items() if point not in {p.point for p in points}]
    return Merged(sources, tuple(_group_notes(sources)), tuple(points), tuple(unclaimed))


def _told_apart(sources: Sequence[Source]) -> Iterator[Source]:
    """Two laptops that began on one day may give one id to two sessions: their folders tell them apart."""
    links: dict[str, set[str]] = {}
    for source in sources:
        links.setdefault(source.id, set()).add(source.first_link)
    for source in sources:
        is_shared = len(links[source.id]) > 1
        yield replace(source, id=f"{source.id} in {source.folder.parent.name}") if is_shared else source


def _group_notes(sources: Sequence[Source]) -> Iterator[str]:
    revisions = list(dict.fromkeys(source.revision or "none" for source in sources))
    if len(revisions) > 1:
        yield f"revisions of the route differ: {', '.join(revisions)}"
    practices = [source.id for source in sources if source.is_practice]
    if practices and len(practices) < len(sources):
        yield f"practice, readings are invented: {', '.join(practices)}"
    for source in sources:
        yield from _part_notes(source)
        yield from _intact_notes(source)


def _along(source: Source) -> str:
    return f"{source.route} on {source.asset}" if source.asset else source.route


# --- many followed ------------------------------------------------------------------------


@dataclass(slots=True)
class Gathered:
    """The surveys along one route of one asset, while they are collected."""

    sources: list[Source] = field(default_factory=list)
    surveys: list[tuple[str, list[Seen]]] = field(default_factory=list)


def follow_sessions(
    workspace: Workspace, refs: Sequence[str], *, point: str = "", accuracies: Accuracies = NONE_STATED
) -> Followed:
    """The trends over sessions named one by one or by the folder that holds them.

    A session that is named and cannot be read is an error; one met in a folder is left out and told.
    Practice sessions are left out where real ones are there too. With ``point`` only that point.

    Raises:
        BadInputError: a named session cannot be read, or no session has a reading of ``point``.
    """
    groups: dict[tuple[str, str, bool], Gathered] = {}
    left_out: list[str] = []
    for each in _each_once(_read_each(workspace, refs, left_out), accuracies, left_out):
        group = groups.setdefault((each.source.route, each.source.asset, each.source.is_practice), Gathered())
        group.sources.append(each.source)
        points = [seen for seen in each.points if not point or seen.point == point]
        group.surveys.append((each.source.id, points))
    if any(not practice for *_, practice in groups):
        for key in [key for key in groups if key[-1]]:
            left_out += [
                f"{source.id}: practice, readings are invented" for source in groups.pop(key).sources
            ]
    routes = tuple(route_trends(group) for group in groups.values())
    if point and not any(each.trends for each in routes):
        raise BadInputError(f"No session has a reading of {point}", remedy="point ids are as in the route")
    return Followed(tuple(each for each in routes if each.trends or not point), tuple(left_out))


@dataclass(frozen=True, slots=True)
class _Kept:
    """What is kept of a session that was read."""

    copy: Copy
    source: Source
    points: list[Seen]


def _each_once(
    sessions: Iterable[ReadSession], accuracies: Accuracies, left_out: list[str]
) -> Iterable[_Kept]:
    """The best copy of every session; the others are told with what is wrong with them."""
    kept: dict[tuple[str, str], _Kept] = {}  # by id and first link: two laptops may give one id
    others: list[tuple[tuple[str, str], Copy]] = []
    for session in sessions:
        names = (session.facts.id, session.facts.first_link)
        copy, known = copy_of(session), kept.get(names)
        if known is not None and not is_better(copy, known.copy):
            others.append((names, copy))
            continue
        if known is not None:
            others.append((names, known.copy))
        points = list(points_of(session, accuracies))
        kept[names] = _Kept(copy, source_of(session, accuracies), points)
    left_out += [left_out_words(copy, kept[names].copy) for names, copy in others]
    return kept.values()


def _read_each(workspace: Workspace, refs: Sequence[str], left_out: list[str]) -> Iterator[ReadSession]:
    snapshots = SnapshotReader()
    named = {find_session(workspace.disk, workspace, ref) for ref in refs}
    for folder in find_folders(workspace, refs):
        try:
            yield read_session(workspace.disk, folder, snapshots)
        except FieldtuiError as error:
            if folder in named:
                raise
            left_out.append(f"{folder}: {error.what}")


def route_trends(group: Gathered) -> RouteTrends:
    """The trends of what was collected."""
    sources = sorted(group.sources, key=lambda source: (source.started, source.id))
    return RouteTrends(tuple(sources), tuple(_group_notes(sources)), tuple(find_trends(group.surveys)))
