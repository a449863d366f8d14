"""A trail in blocks of whole lines, and the short way through a block in which all is well.

Nearly every block of nearly every trail is good. :func:`read_block` asks the questions of the
careful reading in ``scan`` of all its lines together, and either has every row of the block
or says nothing at all; then the careful reading goes through it line by line and says what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256
from itertools import accumulate
from typing import NamedTuple

from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Event
from fieldtui.files.trail.row_decoders import decode_columns
from fieldtui.files.trail.rows import COLUMNS, MAX_LINE, RowError, format_line, require_clean, split_line

BLOCK = 65_536  # bytes; small enough to be read twice for one bad line, large enough to be worth it

_ROW, _TIME, _CHAIN = map(COLUMNS.index, ("row", "time", "chain"))
_PRINTABLE = bytes(range(0x20, 0x7F))
_SEPARATOR = chain.SEPARATOR.encode()
_AS_CHAINED = bytes.maketrans(b",", _SEPARATOR)  # cells parted as the chain parts them
_DIGITS = bytes.maketrans(b"123456789", b"0" * 9)
_TIME_FORM = b"0000-00-00T00:00:00.000Z\n"


class Block(NamedTuple):
    """The rows of a good block."""

    events: list[Event]
    last_time: str  # as it stands in the file
    last_link: str


def blocks(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Whole lines, about a block at a time; the header and the first row come on their own.

    Only the last one may lack its line end. A line that is too long ends the reading, cut at one
    byte over.
    """
    rest = b""
    lines = 0
    for chunk in chunks:
        for start in range(0, len(chunk), BLOCK):
            rest += chunk[start : start + BLOCK]
            while lines < 2 and (end := rest.find(b"\n") + 1):
                lines += 1
                yield rest[:end]
                rest = rest[end:]
            if end := rest.rfind(b"\n") + 1:
                yield rest[:end]
                rest = rest[end:]
            if len(rest) > MAX_LINE:
                yield rest[: MAX_LINE + 1]
                return
    if rest:
        yield rest


def read_block(block: bytes, row: int, link: str, time: str) -> Block | None:
    """The rows of a block that is in order throughout, or None where anything is not.

    Args:
        block: whole lines, written in the trail's own form.
        row: the number of its first row.
        link: the link of the row before, a whole one.
        time: the time of the row before, as it stands in the file.
    """
    lines = block.split(b"\n")
    if lines.pop() or max(map(len, lines)) >= MAX_LINE:
        return None
    try:
        text = block.decode()
        rows = _cells(text)
        columns = [*zip(*rows, strict=True)]
        times = [*columns[_TIME]]
        is_good = (
            len(columns) == len(COLUMNS)
            and [*columns[_ROW]] == [*map(str, range(row, row + len(rows)))]
            and "\n".join([*times, ""]).encode().translate(_DIGITS) == _TIME_FORM * len(rows)
            and sorted(times) == times
            and times[0] >= time
            and _links(block, rows, link) == [*columns[_CHAIN]]
        )
        if not is_good:
            return None
        if block.translate(None, _PRINTABLE) != b"\n" * len(rows) or max(map(len, lines)) > MAX_LENGTH:
            for cells in rows:
                require_clean(cells)
        events = decode_columns(columns)
    except (ValueError, KeyError, IndexError):  # no UTF-8, no such day, kind or column, a RowError
        return None
    return Block(events, times[-1], rows[-1][-1])


def _cells(text: str) -> list[list[str]]:
    """The cells of each line; those of a line with quotation marks only if it is quoted as we quote."""
    lines = text.split("\n")
    lines.pop()
    return [_quoted_cells(line) if '"' in line else line.split(",") for line in lines]


def _quoted_cells(line: str) -> list[str]:
    cells = split_line(line)
    if format_line(cells) != line.encode() + b"\n":
        raise RowError("quoted in another way")
    return cells


def _links(block: bytes, rows: Sequence[Sequence[str]], link: str) -> list[str]:
    """What the links should be, each over the one that stands in the row before.

    With its commas and line ends turned into the chain's separator the file itself holds in a row
    all that each link is taken over. Only of lines with quotation marks have the cells to be put
    together anew.
    """
    lines = block.translate(_AS_CHAINED).split(b"\n")
    lines.pop()
    if b'"' in block:
        for place, line in enumerate(lines):
            if b'"' in line:
                lines[place] = _SEPARATOR.join(map(str.encode, rows[place]))
    joined = _SEPARATOR.join((link.encode(), *lines))
    ends = accumulate(map(len, lines), lambda end, length: end + length + 1, initial=0)
    size = chain.LENGTH
    return [
        sha256(joined[end : end + len(line)]).hexdigest()[:size]
        for end, line in zip(ends, lines, strict=False)
    ]
