"""Session folders below a folder, however deep, without following links."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from pathlib import Path

from fieldtui.core.text import is_clean
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk, reason
from fieldtui.files.durable import SESSION_NAME, TRAIL_NAME

RESULTS_NAME = "results.csv"
RESULTS_COLUMNS = ("point", "limit", "as_left", "as_left_record", "unit", "verdict", "time")
DOUBT_COLUMN, IN_DOUBT = "in_doubt", "in doubt"  # of later results.csv, and how its cells then begin
UNPROVEN = "unproven"  # and how they end where the trail was broken
MAX_RESULTS = 16_777_216  # bytes of a results.csv
MAX_DEPTH = 32  # folders in folders; more is a loop or a mischief


@dataclass(slots=True)
class Found:
    """What lies below a folder."""

    sessions: list[Path] = field(default_factory=list)  # with a session.toml or a trail.csv
    results: list[Path] = field(default_factory=list)  # with a results.csv alone
    left_out: list[str] = field(default_factory=list)  # what could not be looked at, and why


def find_session_folders(disk: Disk, root: Path) -> Found:
    """Every session folder at or below ``root``, in the order of their paths."""
    found = Found()
    waiting = [(root, 0)]
    while waiting:
        folder, depth = waiting.pop()
        try:
            names = disk.list_folder(folder)
        except OSError as error:
            found.left_out.append(f"{folder}: {reason(error)}")
            continue
        if SESSION_NAME in names or TRAIL_NAME in names:
            found.sessions.append(folder)
            continue
        if RESULTS_NAME in names:
            found.results.append(folder)
        if depth == MAX_DEPTH:
            found.left_out.append(f"{folder}: more than {MAX_DEPTH} folders in folders")
            continue
        inside = [folder / name for name in reversed(names) if not name.startswith(".")]
        waiting += [(each, depth + 1) for each in inside if _is_real_folder(disk, each)]
    return found


def _is_real_folder(disk: Disk, path: Path) -> bool:
    try:
        identity = disk.path_identity(path)
    except OSError:
        return False
    return identity is not None and identity.is_folder


def is_plain_path(path: str) -> bool:
    """Whether a path can be given to an engine that reads ``*``, ``?``, ``[`` and ``{`` as patterns."""
    return is_clean(path) and not set(path) & set("*?[]{}\\")


def why_no_results(disk: Disk, path: Path) -> str:
    """Why a results.csv cannot be handed to the engine; empty where it can."""
    if not is_plain_path(path.as_posix()):
        return "its path holds signs that have a meaning for the engine"
    try:
        text = disk.read_file(path, MAX_RESULTS).decode()
    except BadInputError as error:
        return error.what
    except UnicodeDecodeError:
        return "its results.csv is not UTF-8 text"
    first = text.partition("\n")[0]
    missing = [name for name in RESULTS_COLUMNS if name not in first.strip().split(",")]
    if missing:
        return f"its results.csv has no column {missing[0]}"
    return _doubts_in(text)


def _doubts_in(text: str) -> str:
    """That verdicts of a results.csv are in doubt, in words; empty where none is, or none is told.

    Without the trail nobody can say more of them, and a trend would take them for sound ones.
    """
    try:
        cells = [row.get(DOUBT_COLUMN) or "" for row in csv.DictReader(io.StringIO(text, newline=""))]
    except csv.Error:
        return "its results.csv is not CSV"
    unproven = sum(cell.rpartition("; ")[2] == UNPROVEN for cell in cells)
    if unproven:
        return f"points of it are unproven, since its trail was broken: {unproven}"
    doubted = sum(cell.startswith(IN_DOUBT) for cell in cells)
    return (
        f"verdicts of it are in doubt for the meter: {doubted}; put its trail.csv beside it"
        if doubted
        else ""
    )
