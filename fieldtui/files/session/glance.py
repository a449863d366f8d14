"""A session at a glance: its first and its last rows, and of ``session.toml`` what names it.

For lists of many sessions. What lies between the first row and the last ones is neither read nor
verified, and the chain not followed. Whatever does not look as this program writes it makes no
glance: then the session is to be read whole, which finds the words for what is wrong.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from fieldtui.core.text import refusal
from fieldtui.core.trail.events import KINDS, Closed, ReadingTaken, Reopened, Started
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import MAX_SESSION, MAX_TRAIL, SESSION_NAME, TRAIL_NAME
from fieldtui.files.trail.rows import COLUMNS, HEADER, MAX_LINE, RowError, parse_time, parse_whole, split_line

_TAIL = 2 * MAX_LINE  # bytes; one whole row at the least, some eighty of the usual length
_ROW, _TIME, _KIND, _RECORD, _POINT, _REF = map(
    COLUMNS.index, ("row", "time", "kind", "record", "point", "ref")
)


@dataclass(frozen=True, slots=True)
class Glance:
    """What the ends of a session's files say; not verified."""

    id: str
    title: str  # of its route
    points: int  # on the route, without inserted ones
    is_practice: bool
    is_from_paper: bool
    readings: int
    is_closed: bool
    last_time: datetime  # of the last row, UTC
    last_point: str  # of the last reading, empty before the first


def glance_at(disk: Disk, folder: Path) -> Glance | None:
    """The session in ``folder`` at a glance, None where it has to be read whole."""
    try:
        toml = disk.read_file(folder / SESSION_NAME, MAX_SESSION)
        facts = _facts(toml)
        rows = _end_rows(disk, folder / TRAIL_NAME, sha256(toml).hexdigest())
        last = rows[-1]
        reading = _last_of(rows, ReadingTaken.kind)
        if reading is None and rows[0][_ROW] != "1":
            return None  # the last reading lies further back
        ending = _last_of(rows, Closed.kind, Reopened.kind)
        return Glance(
            **facts,
            readings=parse_whole(reading[_RECORD]) if reading is not None else 0,
            is_closed=ending is not None and ending[_KIND] == Closed.kind,
            last_time=parse_time(last[_TIME]),
            last_point=_clean(reading[_POINT]) if reading is not None else "",
        )
    except (BadInputError, OSError, ValueError, KeyError, IndexError):
        return None


def _facts(toml: bytes) -> dict[str, Any]:
    """Of a session.toml as it was written: the keys before the first table, the route's title and size."""
    text = "\n" + toml.decode()
    if '"""' in text or "'''" in text:
        raise ValueError("a text of several lines could look like tables")
    top = tomllib.loads(text.partition("\n[")[0])
    route = tomllib.loads(text.partition("\n[route]\n")[2].partition("\n[")[0])
    points = text.count("\n[[route.points]]\n")
    is_practice, paper = top["practice"], top["transcribed_from"]
    is_known = top["format"] == 1 and isinstance(is_practice, bool) and isinstance(paper, str)
    if not is_known or not points:
        raise ValueError("not as this program writes it")
    return {
        "id": _clean(top["id"]),
        "title": _clean(route["title"]),
        "points": points,
        "is_practice": is_practice,
        "is_from_paper": bool(paper),
    }


def _end_rows(disk: Disk, path: Path, digest: str) -> list[list[str]]:
    """The last whole rows of a trail whose first row carries ``digest``; in order, as far as they show."""
    fd = disk.open_read(path)
    try:
        found = disk.identity(fd)
        if not found.is_regular or found.size > MAX_TRAIL:
            raise ValueError("no trail that can be read")
        head = disk.read_at(fd, len(HEADER) + MAX_LINE, 0)
        start = max(len(HEADER), found.size - _TAIL)
        tail = disk.read_at(fd, found.size - start, start)
    finally:
        disk.close_quietly(fd)
    first = split_line(head.removeprefix(HEADER).partition(b"\n")[0].decode())
    if not head.startswith(HEADER) or (first[_KIND], first[_REF]) != (Started.kind, digest):
        raise ValueError("not the trail of this session")
    lines = tail.split(b"\n")[:-1]  # after the last newline is nothing, or a row not finished
    if start > len(HEADER):
        del lines[0]
    rows = [split_line(line.decode()) for line in lines]
    last = parse_whole(rows[-1][_ROW])
    numbers = [str(number) for number in range(last - len(rows) + 1, last + 1)]
    if any(len(row) != len(COLUMNS) or row[_KIND] not in KINDS for row in rows) or numbers != [
        row[_ROW] for row in rows
    ]:
        raise RowError("a row is out of form")
    return rows


def _last_of(rows: Sequence[Sequence[str]], *kinds: str) -> Sequence[str] | None:
    return next((row for row in reversed(rows) if row[_KIND] in kinds), None)


def _clean(text: Any) -> str:
    """``text``, which any session that can be read may hold."""
    if not isinstance(text, str) or refusal(text) is not None:
        raise ValueError("no text that may stand in a session")
    return text
