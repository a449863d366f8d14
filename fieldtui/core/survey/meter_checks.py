"""Checks of the meter on its check standard, and the runs of records that a failed one puts in doubt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MeterCheck:
    """The check standard was read in ``row``, after record ``after`` (0 before the first)."""

    row: int
    after: int
    is_good: bool


@dataclass(frozen=True, slots=True)
class Doubted:
    """Records ``first`` to ``last``, and why they are in doubt."""

    first: int
    last: int
    why: str


def doubted_runs(checks: Sequence[MeterCheck], last_record: int) -> Iterator[Doubted]:
    """Every run of records that is not between two good checks because one failed."""
    before: MeterCheck | None = None
    for check in checks:
        since = before.after if before is not None else 0
        if before is not None and not before.is_good:
            yield Doubted(since + 1, check.after, "taken after a failed check of the meter")
        elif not check.is_good:
            good = f"the last good one was before record {since + 1}" if before else "there was no good one"
            yield Doubted(since + 1, check.after, f"the meter failed its check in row {check.row}; {good}")
        before = check
    if before is not None and not before.is_good:
        yield Doubted(before.after + 1, last_record, "taken after a failed check of the meter")
