"""What a reviewer remarks on a session, and how such a remark stands to the record as it is now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What a remark is about: any of point, record and row; none of them for the whole session."""

    point: str = ""
    record: int | None = None
    row: int | None = None

    @property
    def words(self) -> str:
        """``point SW-07, record 12, row 31``, or ``the whole session``."""
        parts = [
            f"point {self.point}" if self.point else "",
            f"record {self.record}" if self.record is not None else "",
            f"row {self.row}" if self.row is not None else "",
        ]
        return ", ".join(part for part in parts if part) or "the whole session"


WHOLE = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One remark. It is never changed: one that no longer holds is withdrawn by a further entry."""

    number: int  # its place in its file, from 1
    time: datetime  # UTC
    by: str
    text: str  # of a withdrawal: why
    seal: str  # the chain's last link when it was made, 32 hex digits
    rows: int  # rows of the trail at that time
    about: Place = WHOLE
    withdraws: int | None = None  # the number of the remark, in the same file, that no longer holds


class Since(Enum):
    """What became of the record since a remark was made. The value is for a person."""

    SAME = "the record is as it was then"
    WENT_ON = "rows were added to the record since"
    OTHER = "the record is NOT the one remarked on: it was cut or changed since"


def since(remark: Remark, links: Sequence[str]) -> Since:
    """How the record stands to the one that was remarked on; ``links[n]`` is the link of row ``n + 1``."""
    if not 0 < remark.rows <= len(links) or links[remark.rows - 1] != remark.seal:
        return Since.OTHER
    return Since.SAME if remark.rows == len(links) else Since.WENT_ON


def withdrawals(remarks: Iterable[Remark]) -> Mapping[int, Remark]:
    """The remarks of one file that were withdrawn, by number, each with the entry that did it."""
    return {remark.withdraws: remark for remark in remarks if remark.withdraws is not None}
