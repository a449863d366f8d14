"""Where the demo scenario, the starter routes and the starter tables are kept, and how a practice
workspace is laid out from them.

In an installed package they travel inside it; in a checkout they are the folders beside it.
"""

from __future__ import annotations

from pathlib import Path

from fieldtui.files.disk import Disk

_PACKAGE = Path(__file__).resolve().parent.parent
_MAX_BYTES = 16 * 1024 * 1024


def starter_folder(disk: Disk) -> Path:
    """The folder that holds ``demo``, ``routes`` and ``shared``."""
    inside = _PACKAGE / "_starter"
    return inside if disk.is_folder(inside) else _PACKAGE.parent


def lay_out_practice(disk: Disk, target: Path, *, with_sessions: bool = True) -> None:
    """Make ``target`` a workspace of the demo scenario: its routes, tables and earlier sessions.

    The demo's own tables take the place of the common ones of the same name.

    Raises:
        OSError: the folder cannot be written to.
    """
    starter = starter_folder(disk)
    demo = starter / "demo"
    parts = [
        (starter / "routes", "routes"),
        (demo / "routes", "routes"),
        (starter / "shared", "shared"),
        (demo / "shared", "shared"),
    ]
    if with_sessions:
        parts.append((demo / "sessions", "sessions"))
    for source, name in parts:
        _copy(disk, source, target / name)


def _copy(disk: Disk, source: Path, target: Path) -> None:
    if not disk.is_folder(target):
        disk.make_folder(target)
    for name in disk.list_folder(source):
        if disk.is_folder(source / name):
            _copy(disk, source / name, target / name)
        elif disk.is_file(source / name):
            disk.write_whole(target / name, disk.read_file(source / name, _MAX_BYTES))
