"""The hash chain that ties each row of a trail to the row before it.

The chain runs over the texts of the cells, not over quoting or line ends, so that a file that
was only saved again by another program can be told from one in which a cell was changed. It
shows accidental change and unskilled edits; it is no proof against forgery, for which the seal
is copied to paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256

LENGTH = 32  # hex digits kept of a SHA-256
SEPARATOR = "\x1f"  # ASCII unit separator; no cell can hold it, so the join is unambiguous
_GROUP = 4


def link(previous: str, cells: Sequence[str]) -> str:
    """The link of a row: 32 hex digits over the link before and the cells as they stand in the file."""
    joined = previous + SEPARATOR + SEPARATOR.join(cells)
    return sha256(joined.encode()).hexdigest()[:LENGTH]


def seal_groups(link: str) -> str:
    """A link in groups of four, for reading aloud and copying on to paper."""
    return " ".join(link[start : start + _GROUP] for start in range(0, len(link), _GROUP))
