"""Where the demo scenario, the starter routes and the starter tables are kept.

In an installed package they travel inside it; in a checkout they are the folders beside it.
"""

from __future__ import annotations

from pathlib import Path

from fieldtui.files.disk import Disk

_PACKAGE = Path(__file__).resolve().parent.parent


def starter_folder(disk: Disk) -> Path:
    """The folder that holds ``demo``, ``routes`` and ``shared``."""
    inside = _PACKAGE / "_starter"
    return inside if disk.is_folder(inside) else _PACKAGE.parent
