"""Rows of good trails turned into events, many at a time and column by column.

What ``parse_row`` does for one row is done here for all rows of a kind that stand in one block.
A decoder says only that some row cannot be read; ``parse_row`` then says which and why.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields
from datetime import datetime
from itertools import repeat
from operator import itemgetter
from typing import Any

from fieldtui.core.quick import quick_maker
from fieldtui.core.trail.events import Event
from fieldtui.files.trail.rows import (
    COLUMNS,
    FORMS,
    FORMULA_STARTS,
    CellField,
    RowError,
    RowForm,
    parse_reading,
    parse_text,
    parse_whole,
)

Column = Sequence[str]
ColumnParser = Callable[[Column], Iterable[Any]]
Decoder = Callable[[Sequence[Column]], Iterable[Event]]

_TIME, _KIND, _VALUE, _UNIT = map(COLUMNS.index, ("time", "kind", "value", "unit"))
_MOST = 65_536  # readings whose value is kept
_MOST_NUMBER = 999_999_999


class _Known(dict[Any, Any]):
    """Values of cells; those not met before are parsed."""

    def __init__(self, parse: Callable[[Any], Any]) -> None:
        super().__init__()
        self._parse = parse

    def __missing__(self, cells: Any) -> Any:
        value = self._parse(cells)
        if len(self) >= _MOST:
            self.clear()
        self[cells] = value
        return value


def decode_rows(rows: Sequence[Sequence[str]]) -> list[Event]:
    """The events of rows whose times are known to be in form, in their order.

    Raises:
        ValueError: a cell is out of form (a RowError), or there is no such day.
        KeyError: a kind is not known.
    """
    places: defaultdict[str, list[int]] = defaultdict(list)
    for place, row in enumerate(rows):
        places[row[_KIND]].append(place)
    events: dict[int, Event] = {}
    for kind, there in places.items():
        columns = [*zip(*map(rows.__getitem__, there), strict=True)]
        events.update(zip(there, DECODERS[kind](columns), strict=True))
    return [*map(events.__getitem__, range(len(rows)))]


def _decoder(form: RowForm) -> Decoder:
    """The decoder of one kind."""
    timeless = [each for each in form.fields if each.name != "time"]
    defaults = {each.name: each.default for each in fields(form.build)}
    parsers = [(each.column, _column_parser(each, defaults[each.name])) for each in timeless]
    readings = _Known(lambda cells: parse_reading(*cells))
    if not form.needs_reading:
        readings["", ""] = None
    unused = itemgetter(form.unused[0], *form.unused)  # the first twice: of one alone comes no tuple
    names = ["time", *(each.name for each in timeless), *(["reading"] if form.has_reading else [])]
    make = quick_maker(form.build, names)

    def decode(columns: Sequence[Column]) -> Iterable[Event]:
        if any(map(any, unused(columns))):
            raise RowError("a cell is not empty")
        values = [parse(columns[column]) for column, parse in parsers]
        if form.has_reading:
            values.append(map(readings.__getitem__, zip(columns[_VALUE], columns[_UNIT], strict=True)))
        return map(make, map(datetime.fromisoformat, columns[_TIME]), *values)

    return decode


def _column_parser(each: CellField, default: Any) -> ColumnParser:
    """What turns a column of cells into values, of the kind that the field's own parser makes."""

    def one_by_one(column: Column) -> Iterable[Any]:
        return [default if each.is_blank_default and not cell else each.parse(cell) for cell in column]

    def texts(column: Column) -> Iterable[str]:
        return column if FORMULA_STARTS.isdisjoint(cell[:1] for cell in column) else one_by_one(column)

    def wholes(column: Column) -> Iterable[int | None]:
        if "" in column:
            return repeat(None) if each.is_blank_default and not any(column) else one_by_one(column)
        numbers = [*map(int, column)]
        is_plain = min(numbers) >= 0 and max(numbers) <= _MOST_NUMBER and [*map(str, numbers)] == [*column]
        return numbers if is_plain else one_by_one(column)

    if each.parse is parse_text and not (each.is_blank_default and default is None):
        return texts
    if each.parse is parse_whole:
        return wholes
    if each.parse is parse_text:
        return one_by_one
    words = _Known(lambda cell: default if each.is_blank_default and not cell else each.parse(cell))
    return lambda column: map(words.__getitem__, column)


DECODERS = {kind: _decoder(form) for kind, form in FORMS.items()}
