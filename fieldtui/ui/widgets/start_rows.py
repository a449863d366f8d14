"""What the start screen lists: open sessions, routes, closed sessions, and what else lies there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from fieldtui.core.text import counted

if TYPE_CHECKING:
    from fieldtui.desk.workspace import RouteEntry, SessionEntry, Workspace

_NAMED = 3  # unfinished folders named before "and N more"


class Leads(Enum):
    """Where Enter on a row leads; the value is the word for it."""

    RESUME = "resume"
    WALK = "walk"
    REVIEW = "review"


@dataclass(frozen=True, slots=True)
class Choice:
    """A row that can be chosen: its title, and in words what it is."""

    path: Path
    leads: Leads
    title: str
    words: str
    trouble: str = ""
    name: str = ""  # of a session: its folder's


@dataclass(frozen=True, slots=True)
class Group:
    """Choices under a heading."""

    title: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Listing:
    """Everything on the start screen."""

    groups: tuple[Group, ...]
    note: str = ""  # about folders that are no sessions, or could not be read


def list_workspace(workspace: Workspace) -> Listing:
    """The workspace as the start screen shows it; groups without a choice are left out."""
    try:
        sessions, routes = workspace.sessions(), workspace.routes()
        notes = (_unfinished_note(workspace.unfinished()), *workspace.warnings())
        note = "   ! ".join(filter(None, notes))
    except OSError as error:
        why = error.strerror or "the system does not say why"
        return Listing((), f"{workspace.root} cannot be read: {why}")
    groups = (
        Group("Open sessions: Enter resumes", tuple(_session(e) for e in sessions if _is_open(e))),
        Group("Routes: Enter begins a walk", tuple(_route(e) for e in routes)),
        Group("Closed sessions: Enter reviews", tuple(_session(e) for e in sessions if e.is_closed)),
        Group("Sessions that cannot be read", tuple(_session(e) for e in sessions if _is_unreadable(e))),
    )
    return Listing(tuple(group for group in groups if group.choices), note)


def _is_open(entry: SessionEntry) -> bool:
    return not entry.is_closed and not _is_unreadable(entry)


def _is_unreadable(entry: SessionEntry) -> bool:
    return bool(entry.trouble) and not entry.points


def _session(entry: SessionEntry) -> Choice:
    if _is_unreadable(entry):
        return Choice(entry.folder, Leads.REVIEW, entry.id, "session", entry.trouble)
    parts = [
        *_state(entry),
        counted(entry.readings, "reading"),
        f"last {entry.last_time:%Y-%m-%d %H:%M} UTC" if entry.last_time is not None else "",
        "from paper" if entry.is_from_paper else "",
        "practice" if entry.is_practice else "",
    ]
    words = ", ".join(part for part in parts if part)
    leads = Leads.REVIEW if entry.is_closed else Leads.RESUME
    return Choice(entry.folder, leads, entry.title, words, entry.trouble, entry.id)


def _state(entry: SessionEntry) -> list[str]:
    """How far it is; of a session that was only looked at, what its last rows say."""
    if entry.settled is None:
        read = f"last read {entry.here}" if entry.here else ""
        state = "closed" if entry.is_closed else "open"
        return [state, counted(entry.points, "point"), read, "not verified"]
    settled = f"{entry.settled} of {entry.points} settled"
    if entry.is_closed:
        return ["closed", settled]
    return [f"open at {entry.here}" if entry.here else "open, nothing left to take", settled]


def _route(entry: RouteEntry) -> Choice:
    words = "not usable" if entry.trouble else counted(entry.points, "point")
    return Choice(entry.path, Leads.WALK, entry.title, f"{words}   {entry.name}", entry.trouble)


def _unfinished_note(names: Sequence[str]) -> str:
    if not names:
        return ""
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    what = "is a folder" if len(names) == 1 else "are folders"
    return (
        f"{', '.join(names[:_NAMED])}{more} {what} in sessions/ without session.toml: "
        "begun but never finished, no reading is in there. Look, then clear away by hand."
    )
