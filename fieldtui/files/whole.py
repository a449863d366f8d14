"""Files that are written whole or not at all, where nobody's record depends on them: reports, sheets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fieldtui.errors import NotSavedError
from fieldtui.files.disk import Disk, reason


def write_whole_files(disk: Disk, folder: Path, files: Mapping[str, bytes], what: str) -> tuple[Path, ...]:
    """Write each of ``files`` (by name) into ``folder``, which is made where it is missing.

    Raises:
        NotSavedError: the folder cannot be written to; ``what`` names what was to be written.
    """
    try:
        if not disk.is_folder(folder):
            disk.make_folder(folder)
        for name, data in files.items():
            disk.write_whole(folder / name, data)
    except OSError as error:
        raise NotSavedError(
            f"{what} could not be written: {reason(error)}",
            where=str(folder),
            remedy="name another folder with --out DIR",
        ) from error
    return tuple(folder / name for name in files)
