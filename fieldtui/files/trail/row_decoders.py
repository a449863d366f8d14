"""Rows of good trails turned into events, many at a time and column by column.

What ``parse_row`` does for one row is done here for all rows of a kind that stand in one block.
A decoder says only that some row cannot be read; ``parse_row`` then says which and why.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields
from datetime import datetime
from functools import cache
from itertools import repeat
from operator import itemgetter
from typing import Any

from fieldtui.core.quick import quick_makers
from fieldtui.core.trail.events import Event
from fieldtui.files.trail.rows import (
    COLUMNS,
    FORMS,
    CellField,
    RowError,
    parse_reading,
    parse_whole,
)

Column = Sequence[str]
ColumnOf = Callable[[int], Column]
ColumnParser = Callable[[Column], Iterable[Any]]
Decoder = Callable[[ColumnOf], list[Event]]

_TIME, _KIND, _VALUE, _UNIT = map(COLUMNS.index, ("time", "kind", "value", "unit"))
_MOST = 16_384  # cells whose value is kept, of each column of each kind


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


def decode_columns(columns: Sequence[Column]) -> list[Event]:
    """The events of rows whose times are known to be in form, in their order.

    Args:
        columns: one for each of ``COLUMNS``, all of the same length, at least one row.

    Raises:
        ValueError: a cell is out of form (a RowError), or there is no such day.
        KeyError: a kind is not known.
    """
    kinds = columns[_KIND]
    places: defaultdict[str, list[int]] = defaultdict(list)
    for place, kind in enumerate(kinds):
        places[kind].append(place)
    if len(places) == 1:
        return _decoder_of(kinds[0])(columns.__getitem__)
    found = {kind: iter(_decoder_of(kind)(_rows_at(columns, there))) for kind, there in places.items()}
    return [*map(next, map(found.__getitem__, kinds))]


def _rows_at(columns: Sequence[Column], places: Sequence[int]) -> ColumnOf:
    """Some of the rows; a column of them is put together when it is asked for."""
    if len(places) == 1:  # itemgetter would give its cell, and no column
        return lambda column: columns[column][places[0] : places[0] + 1]
    pick: Callable[[Column], Column] = itemgetter(*places)
    return lambda column: pick(columns[column])


@cache
def _decoder_of(kind: str) -> Decoder:
    """The decoder of one kind, made when the first such row is met: few trails have all kinds."""
    form = FORMS[kind]
    timeless = [each for each in form.fields if each.name != "time"]
    defaults = {each.name: each.default for each in fields(form.build)}
    parsers = [(each.column, _column_parser(each, defaults[each.name])) for each in timeless]
    readings = _Known(
        lambda cells: parse_reading(*cells) if form.needs_reading or any(cells) else None,
    )
    names = ["time", *(each.name for each in timeless), *(["reading"] if form.has_reading else [])]
    make = quick_makers(form.build, names)

    def decode(column_of: ColumnOf) -> list[Event]:
        if any(any(column_of(unused)) for unused in form.unused):
            raise RowError("a cell is not empty")
        values = [parse(column_of(column)) for column, parse in parsers]
        if form.has_reading:
            values.append(map(readings.__getitem__, zip(column_of(_VALUE), column_of(_UNIT), strict=True)))
        return make(map(datetime.fromisoformat, column_of(_TIME)), *values)

    return decode


def _column_parser(each: CellField, default: Any) -> ColumnParser:
    """What turns a column of cells into values, of the kind that the field's own parser makes."""

    def parse(cell: str) -> Any:
        return default if each.is_blank_default and not cell else each.parse(cell)

    def wholes(column: Column) -> Iterable[Any]:
        first, last = parse(column[0]), parse(column[-1])
        if column.count(column[0]) == len(column):
            return repeat(first, len(column))
        counted = range(first or 0, (last or 0) + 1)  # as record numbers and those of the memory are
        if len(counted) == len(column) and [*map(str, counted)] == [*column]:
            return counted
        return [*map(parse, column)]

    known = _Known(parse)  # also makes equal cells one object, which whoever looks them up again likes
    return wholes if each.parse is parse_whole else lambda column: map(known.__getitem__, column)
