"""Where the commands find things: the disk, the clock, the workspace, a session."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from fieldtui.desk.clock import SystemClock
    from fieldtui.desk.hinting import HintBook
    from fieldtui.desk.reading import ReadSession
    from fieldtui.desk.workspace import Workspace
    from fieldtui.files.disk import Disk


def make_disk() -> Disk:
    from fieldtui.files.disk import Disk

    return Disk()


def make_clock() -> SystemClock:
    from fieldtui.desk.clock import SystemClock

    return SystemClock()


def open_workspace(route: str = "", out: str | None = None, copy: str = "") -> Workspace:
    """The workspace of this folder, or of a route file that lies in another one.

    ``copy`` is where a second copy of a session that is written is kept; ``FIELDTUI_COPY`` if left out.
    """
    from fieldtui.desk.workspace import find_workspace

    workspace = find_workspace(Path.cwd(), make_disk(), route, Path(out) if out else None)
    if copy := copy or os.environ.get("FIELDTUI_COPY", ""):
        workspace.copy_to = Path(copy)
    return workspace


def hint_book(arguments: argparse.Namespace) -> Callable[[], HintBook] | None:
    """What opens the hints of the first sessions; None where they are not wanted."""
    if getattr(arguments, "no_hints", False) or os.environ.get("FIELDTUI_HINTS", "").casefold() == "off":
        return None
    return _open_hints


def _open_hints() -> HintBook:
    from fieldtui.desk.hinting import HintBook

    return HintBook(make_disk())


def session_folder(ref: str) -> Path:
    return known_session(open_workspace(), ref)


def known_session(workspace: Workspace, ref: str) -> Path:
    """See :func:`fieldtui.desk.opening.known_session`."""
    from fieldtui.desk import opening

    return opening.known_session(workspace, ref)


def read_ref(ref: str) -> ReadSession:
    from fieldtui.desk.reading import read_session

    return read_session(make_disk(), session_folder(ref))
