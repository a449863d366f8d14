"""Where the commands find things: the disk, the clock, the workspace, a session."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldtui.desk.clock import SystemClock
    from fieldtui.desk.reading import ReadSession
    from fieldtui.desk.workspace import Workspace
    from fieldtui.files.disk import Disk


def make_disk() -> Disk:
    from fieldtui.files.disk import Disk

    return Disk()


def make_clock() -> SystemClock:
    from fieldtui.desk.clock import SystemClock

    return SystemClock()


def open_workspace(route: str = "", out: str | None = None) -> Workspace:
    """The workspace of this folder, or of a route file that lies in another one."""
    from fieldtui.desk.workspace import find_workspace

    return find_workspace(Path.cwd(), make_disk(), route, Path(out) if out else None)


def session_folder(ref: str) -> Path:
    from fieldtui.desk.opening import find_session

    workspace = open_workspace()
    return find_session(workspace.disk, workspace, ref)


def read_ref(ref: str) -> ReadSession:
    from fieldtui.desk.reading import read_session

    return read_session(make_disk(), session_folder(ref))
