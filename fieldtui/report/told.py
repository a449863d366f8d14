"""Words on a record and on a cell of the trail, the same on the review screen and in every report."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from fieldtui.core.standing import Record


def memory_words(run: int | None, number: int | None) -> str:
    """``run 1, 17``; empty where the meter keeps none."""
    parts = [f"run {run}" if run is not None else "", str(number) if number is not None else ""]
    return ", ".join(part for part in parts if part)


def remarks_on(record: Record) -> Iterator[str]:
    """What is to be said of a reading besides its value: struck out, corrected, retest, confirmed."""
    if record.void is not None:
        yield f"void: {record.void}"
    if record.original is not None:
        yield from _was(record.original, record)
    if record.changed_by:
        yield f"changed in row {', '.join(map(str, record.changed_by))}"
    if record.retest:
        yield "retest"
    if record.take > 1:
        yield f"take {record.take}"
    if record.reason:
        yield f"doubtful, confirmed: {record.reason}"
    if record.note:
        yield record.note


def cell_text(value: object) -> str:
    """A field of an event as the trail has it."""
    match value:
        case None:
            return ""
        case Enum():
            return str(value.value)
        case _:
            return str(value)


def _was(before: Record, now: Record) -> Iterator[str]:
    if before.reading != now.reading:
        yield f"was {before.reading}"
    if before.point != now.point:
        yield f"was at {before.point}"
    if (before.run, before.number) != (now.run, now.number):
        yield f"memory was {memory_words(before.run, before.number) or 'none'}"
