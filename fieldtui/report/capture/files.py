"""The capture sheet in all its forms, written side by side."""

from __future__ import annotations

from pathlib import Path

from fieldtui.errors import WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.whole import write_whole_files
from fieldtui.report.capture.csv import format_capture_csv
from fieldtui.report.capture.html import format_capture_html
from fieldtui.report.capture.sheet import CaptureSheet
from fieldtui.report.capture.text import format_capture_text


def write_capture_sheet(disk: Disk, sheet: CaptureSheet, folder: Path, *, force: bool) -> tuple[Path, ...]:
    """Write ``NAME-sheet`` as .html, .txt and .csv into ``folder``; the files written.

    Raises:
        WrongUseError: one of them is there already, perhaps keyed into, and ``force`` is not given.
        NotSavedError: the folder cannot be written to.
    """
    stem = f"{sheet.route.name}-sheet"
    files = {
        f"{stem}.html": format_capture_html(sheet).encode(),
        f"{stem}.txt": format_capture_text(sheet).encode(),
        f"{stem}.csv": format_capture_csv(sheet),
    }
    for name in files:
        if not force and disk.path_identity(folder / name) is not None:
            remedy = "name another folder with --out DIR, or replace it with --force"
            raise WrongUseError(
                "The sheet is there already, and may be keyed into", where=str(folder / name), remedy=remedy
            )
    return write_whole_files(disk, folder, files, "The sheet")
