"""The report's table of the trail: every row and every cell but the chain's links."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

from fieldtui.core.trail.events import Event
from fieldtui.desk.reading import ReadSession
from fieldtui.report.tables.points import CHUNK, clock_of, day_of
from fieldtui.report.tables.table import Row, Table, chunked, columns, lines
from fieldtui.report.told import cell_text, memory_words
from fieldtui.report.unproven import UNPROVEN

_TRAIL = columns(
    "Row:slim", "Time:short", "Kind:short", "Point:name", "Record:slim", "Memory:short", "Value:short",
    "Verdict:short", "Reference, reason, note:wide", "By:name",
)  # fmt: skip
_TOLD = ("ref", "reason", "definition", "note")  # fields that stand together, each under its name
_OF_ALL = ("time", "by")
_IN_CELLS = frozenset({"point", "record", "run", "number", "reading", "verdict", *_TOLD, *_OF_ALL})


def trail_tables(session: ReadSession) -> Iterator[Table]:
    """Every row of the trail in order, a table for each day (UTC)."""
    rows = (
        (day_of(event.time), _event(row, event, is_unproven=session.is_unproven(row)))
        for row, event in enumerate(session.events, 1)
    )
    for day, gathered in chunked(rows, CHUNK):
        first, last = gathered[0].cells[0][0], gathered[-1].cells[0][0]
        yield Table(f"Rows {first} to {last}, {day} (UTC)", _TRAIL, gathered)


def _event(row: int, event: Event, *, is_unproven: bool) -> Row:
    # A kind of event that comes with a field of a new name is still shown in full.
    values = {each.name: getattr(event, each.name) for each in fields(event)}
    further = [name for name in values if name not in _IN_CELLS]
    told = [
        f"{name}: {cell_text(values[name])}" for name in (*_TOLD, *further) if cell_text(values.get(name))
    ]
    return Row(
        (
            (str(row),),
            (clock_of(event.time),),
            lines(event.kind, UNPROVEN if is_unproven else ""),
            lines(cell_text(values.get("point"))),
            lines(cell_text(values.get("record"))),
            lines(memory_words(values.get("run"), values.get("number"))),
            lines(cell_text(values.get("reading"))),
            lines(cell_text(values.get("verdict"))),
            tuple(told),
            lines(event.by),
        )
    )
