"""The lines of a trail as they stand, before anything is said of their cells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from fieldtui.files.trail.rows import COLUMNS


class Line(NamedTuple):
    """One line as it stands, newline included where it has one."""

    raw: bytes
    number: int  # counted from 1
    end: int  # offset after its last byte


def up_to(lines: Iterator[Line], size: int) -> list[Line]:
    """The next lines until more than ``size`` bytes are taken."""
    taken: list[Line] = []
    while size >= 0 and (line := next(lines, None)) is not None:
        taken.append(line)
        size -= len(line.raw)
    return taken


def is_whole_row(raw: bytes) -> bool:
    """Whether a line has the shape of a row, or of two run together, be its cells right or wrong.

    Quotation marks are not looked at, nor whether it is UTF-8: either may be what was changed.
    """
    return raw.endswith(b"\n") and b"\0" not in raw and raw.count(b",") >= len(COLUMNS) - 1
