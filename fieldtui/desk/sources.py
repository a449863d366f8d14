"""Which sessions are meant, and what of each matters when it is held against others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from fieldtui.core.between.history import NONE_STATED, Seen, seen_points, stated_accuracy
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.session import Session
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import meter_at
from fieldtui.desk.opening import find_session, known_session
from fieldtui.desk.reading import ReadSession, trail_words, unproven_points
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError
from fieldtui.files.disk import reason
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME

__all__ = [
    "NONE_STATED",
    "Accuracies",
    "Source",
    "find_folders",
    "is_folder_of_sessions",
    "points_of",
    "source_of",
    "source_of_facts",
]

# Accuracies by meter id, in place of those that the sessions state.
Accuracies = Mapping[str, Accuracy]


@dataclass(frozen=True, slots=True)
class Source:
    """A session, as far as it matters when it is held against others."""

    id: str
    folder: Path
    started: datetime
    route: str
    title: str
    asset: str
    revision: str
    meter: str
    has_accuracy: bool
    is_closed: bool
    is_intact: bool
    is_practice: bool
    follows: str
    first_link: str = ""  # tells sessions of one id apart
    part: tuple[str, ...] = ()  # sections, where it has part of the route only
    elsewhere: Mapping[str, str] = field(default_factory=dict)  # points left to another session: title by id
    is_whole: bool = True  # every row of its trail is there and proven
    has_trail: bool = True  # else only its results.csv is there, which nothing proves
    trail_words: str = ""  # where its trail is not whole: how far it was used


def find_folders(workspace: Workspace, refs: Iterable[str]) -> list[Path]:
    """The session folders behind names, paths and folders of sessions; each once, in their order.

    Raises:
        BadInputError: there is no such folder, or no session in it.
    """
    found: dict[Path, Path] = {}
    for ref in refs:
        for folder in _folders_of(workspace, ref):
            found.setdefault(folder.resolve(), folder)
    return list(found.values())


def is_folder_of_sessions(workspace: Workspace, ref: str) -> bool:
    """Whether a name or path leads to a folder that is not a session itself."""
    folder = find_session(workspace.disk, workspace, ref)
    is_session = any(workspace.disk.is_file(folder / name) for name in (SESSION_NAME, TRAIL_NAME))
    return workspace.disk.is_folder(folder) and not is_session


def _folders_of(workspace: Workspace, ref: str) -> list[Path]:
    disk = workspace.disk
    folder = known_session(workspace, ref)
    if disk.is_file(folder / SESSION_NAME):
        return [folder]
    try:
        inside = [folder / name for name in disk.list_folder(folder)]
    except OSError as error:
        raise BadInputError(f"The folder could not be read: {reason(error)}", where=str(folder)) from error
    sessions = [each for each in inside if disk.is_file(each / SESSION_NAME)]
    if not sessions:
        raise BadInputError(
            "There is no session in this folder",
            where=str(folder),
            remedy="give a session's folder, or the folder that holds several of them",
        )
    return sessions


def points_of(session: ReadSession, accuracies: Accuracies) -> Iterator[Seen]:
    """What a session says of each of its points, in the rows that are proven; and where others say more."""
    unproven = unproven_points(session)
    if not unproven:
        yield from seen_points(session.proven_survey, accuracies)
        return
    behind = {seen.point: seen.reading for seen in seen_points(session.survey, accuracies)}
    for seen in seen_points(session.proven_survey, accuracies):
        is_so = seen.point in unproven
        yield replace(seen, is_unproven=True, behind_break=behind[seen.point]) if is_so else seen


def _meters(session: ReadSession) -> list[Instrument]:
    """The meters that readings were taken with, in their order; the first where there is no reading."""
    survey = session.proven_survey
    used = {meter_at(survey.meters, record.row) for record in survey.records.values()}
    return [survey.meters[place].instrument for place in sorted(used or {0})]


def source_of(session: ReadSession, accuracies: Accuracies) -> Source:
    """The session, as far as it matters here."""
    meters = _meters(session)
    source = source_of_facts(
        session.facts,
        session.folder,
        has_accuracy=all(stated_accuracy(each, accuracies) is not None for each in meters),
        is_closed=session.proven_survey.closed,
        is_intact=session.is_intact and not session.unproven_from,
    )
    titles = ", then ".join(dict.fromkeys(each.title for each in meters))
    return replace(source, meter=titles, is_whole=session.is_whole, trail_words=trail_words(session))


def source_of_facts(
    facts: Session, folder: Path, *, has_accuracy: bool, is_closed: bool, is_intact: bool
) -> Source:
    """The same, of a session whose trail was looked at in another way."""
    return Source(
        id=facts.id,
        folder=folder,
        started=facts.started,
        route=facts.route.name,
        title=facts.route.title,
        asset=facts.route.asset,
        revision=facts.route.revision,
        meter=facts.instrument.title,
        has_accuracy=has_accuracy,
        is_closed=is_closed,
        is_intact=is_intact,
        is_practice=facts.practice,
        follows=facts.follows,
        first_link=facts.first_link,
        part=facts.part,
        elsewhere=facts.elsewhere,
    )
