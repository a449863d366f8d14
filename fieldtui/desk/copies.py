"""Several copies of one session: which of them is used, and what is said of the others.

Most proven rows first, so that a damaged copy never stands in the way of a good one, whatever its
name; of equal ones the one that nothing is wrong with, then the one met first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldtui.desk.reading import ReadSession


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a session, as far as it matters beside another."""

    id: str
    folder: Path
    proven: int  # rows
    found: int  # rows, those that are not proven too
    is_intact: bool  # nothing is wrong with its file, an unfinished row included
    links: Sequence[str]  # of the rows that follow the chain


def copy_of(session: ReadSession) -> Copy:
    """What there is to know of a session to hold a copy of it against."""
    return Copy(
        id=session.facts.id,
        folder=session.folder,
        proven=session.proven_rows,
        found=session.rows_found,
        is_intact=session.is_intact and session.is_whole,
        links=session.links,
    )


def is_better(one: Copy, other: Copy) -> bool:
    """Whether ``one`` is to be used rather than ``other``, which was met first."""
    return (one.proven, one.is_intact) > (other.proven, other.is_intact)


def left_out_words(left: Copy, used: Copy) -> str:
    """That a copy was left out, which one is used instead, and what makes them differ."""
    why = _difference(left, used)
    said = f"{left.folder}: a second copy of {left.id}"
    return f"{said}, {why}; {used.folder} is used" if why else said


def _difference(left: Copy, used: Copy) -> str:
    shared = min(left.proven, used.proven)
    fork = next((row for row in range(1, shared + 1) if left.links[row - 1] != used.links[row - 1]), 0)
    if fork:
        return f"and the two differ from row {fork} on, though the chain of both holds: look at both"
    if left.proven < left.found:
        return f"NOT intact: {left.proven} of {left.found} rows are proven"
    if left.proven < used.proven:
        return f"{used.proven - left.proven} of {used.proven} rows shorter"
    if not left.is_intact:
        return "its file saved again in another form or its last row unfinished"
    return ""
