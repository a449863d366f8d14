"""The capture sheet in all its forms, written side by side."""

from __future__ import annotations

from pathlib import Path

from fieldtui.errors import NotSavedError, WrongUseError
from fieldtui.files.disk import Disk, reason
from fieldtui.report.capture_csv import format_capture_csv
from fieldtui.report.capture_html import format_capture_html
from fieldtui.report.capture_sheet import CaptureSheet
from fieldtui.report.capture_text import format_capture_text


def write_capture_sheet(disk: Disk, sheet: CaptureSheet, folder: Path, *, force: bool) -> tuple[Path, ...]:
    """Write ``NAME-sheet`` as .html, .txt and .csv into ``folder``; the files written.

    Raises:
        WrongUseError: one of them is there already, perhaps keyed into, and ``force`` is not given.
        NotSavedError: the folder cannot be written to.
    """
    stem = f"{sheet.route.name}-sheet"
    files = {
        folder / f"{stem}.html": format_capture_html(sheet).encode(),
        folder / f"{stem}.txt": format_capture_text(sheet).encode(),
        folder / f"{stem}.csv": format_capture_csv(sheet),
    }
    for path in files:
        if not force and disk.path_identity(path) is not None:
            remedy = "name another folder with --out DIR, or replace it with --force"
            raise WrongUseError(
                "The sheet is there already, and may be keyed into", where=str(path), remedy=remedy
            )
    try:
        if not disk.is_folder(folder):
            disk.make_folder(folder)
        for path, data in files.items():
            disk.write_whole(path, data)
    except OSError as error:
        raise NotSavedError(
            f"The sheet could not be written: {reason(error)}",
            where=str(folder),
            remedy="name another folder with --out DIR",
        ) from error
    return tuple(files)
