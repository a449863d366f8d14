"""Where it is kept which hints a person has seen: a small file of their own, never in a session.

It is nobody's record. Where it cannot be read the hints begin anew; where it cannot be written
nothing is said, and they come once more.
"""

from __future__ import annotations

import json
from pathlib import Path

from fieldtui.core.teaching.hints import MOST_TIMES, Hints, Moment
from fieldtui.errors import FieldtuiError
from fieldtui.files.disk import Disk

NAME = "hints.json"
_MAX_BYTES = 64 * 1024


def state_folder() -> Path:
    """The user's folder for what a program keeps between runs, as the system has it.

    ``$XDG_STATE_HOME`` on Linux (XDG Base Directory Specification); platformdirs knows the others.
    """
    from platformdirs import user_state_path

    return user_state_path("fieldtui", appauthor=False)


def load_hints(disk: Disk, folder: Path) -> Hints:
    """What was seen so far; nothing, where the file is not there or is no such file."""
    try:
        found = json.loads(disk.read_file(folder / NAME, _MAX_BYTES))
    except (FieldtuiError, OSError, ValueError, RecursionError):
        return Hints()
    if not isinstance(found, dict):
        return Hints()
    by_name = {moment.value: moment for moment in Moment}
    seen, done = found.get("seen"), found.get("done")
    counts = seen.items() if isinstance(seen, dict) else ()
    names = done if isinstance(done, list) else []
    return Hints(
        seen={
            by_name[name]: min(count, MOST_TIMES)
            for name, count in counts
            if name in by_name and type(count) is int and count > 0
        },
        done=frozenset(by_name[name] for name in names if isinstance(name, str) and name in by_name),
    )


def save_hints(disk: Disk, folder: Path, hints: Hints) -> bool:
    """Keep what was seen; False where it could not be written, which harms nothing."""
    document = {
        "format": 1,
        "seen": {moment.value: count for moment, count in hints.seen.items()},
        "done": sorted(moment.value for moment in hints.done),
    }
    try:
        for each in (*reversed(folder.parents), folder):
            if not disk.is_folder(each):
                disk.make_folder(each)
        disk.write_whole(folder / NAME, json.dumps(document, indent=1).encode() + b"\n")
    except (FieldtuiError, OSError):
        return False
    return True
