"""One event as one line of the trail, and back.

The dataclasses of ``core.events`` are the schema: field names are column names, field types say
how a cell is read and written. ``reading`` fills ``value`` and ``unit``; a definition stands in
the note column. A line never holds a newline inside a cell, so that a torn line cannot swallow
the next one.

Sources: RFC 4180 (quoting); ISO 8601 (time); CWE-1236 (cells a spreadsheet would run).
"""

from __future__ import annotations

import csv
import re
import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from datetime import UTC, datetime
from enum import Enum
from functools import lru_cache
from typing import Any, NamedTuple, Union, get_args, get_origin, get_type_hints

from fieldtui.core.measurement import voltage
from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, parse_number
from fieldtui.core.text import MAX_LENGTH, neutral, plain, refusal
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import KINDS, Event
from fieldtui.errors import BadInputError, Problem

COLUMNS = (
    "row", "time", "kind", "record", "point", "run", "number", "value",
    "unit", "verdict", "ref", "reason", "note", "by", "chain",
)  # fmt: skip
HEADER = ",".join(COLUMNS).encode() + b"\n"
MAX_LINE = 4096  # bytes, newline included

_ROW, _TIME, _KIND, _CHAIN = (COLUMNS.index(name) for name in ("row", "time", "kind", "chain"))
_IN_COLUMN = {"definition": "note"}  # fields that stand in a column of another name
FORMULA_STARTS = frozenset("=+-@＝＋－＠'")
_TIME_FORM = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z", re.ASCII)


class RowError(ValueError):
    """A row cannot be read as an event; ``column`` names the cell at fault."""

    def __init__(self, what: str, column: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.column = column


# --- cells by type: each type one way to text and one way back -----------------------------


def format_time(time: datetime) -> str:
    """UTC, ISO 8601, milliseconds, Z. Anything finer than a millisecond is cut off."""
    if time.tzinfo is None:
        raise RowError("the time lacks its zone", "time")
    return time.astimezone(UTC).isoformat(timespec="milliseconds").removesuffix("+00:00") + "Z"


def parse_time(cell: str) -> datetime:
    """The time behind a cell written by :func:`format_time`."""
    if _TIME_FORM.fullmatch(cell) is None:
        raise RowError(f"{cell!r} is not a time such as 2026-05-04T08:30:00.000Z", "time")
    try:
        return datetime.fromisoformat(cell)
    except ValueError:
        raise RowError(f"{cell!r} is not a day and hour that exist", "time") from None


def parse_whole(cell: str) -> int:
    # Digits only, no sign, no leading nought; isdigit alone would let other scripts' digits in.
    if not (cell.isdigit() and cell.isascii()) or len(cell) > 9 or (cell[0] == "0" and cell != "0"):
        raise RowError(f"{cell!r} is not a whole number")
    return int(cell)


def _format_whole(number: int) -> str:
    if not 0 <= number <= 999_999_999:
        raise RowError(f"{number} is not a whole number of at most nine digits")
    return str(number)


def parse_text(cell: str) -> str:
    if cell and cell[0] in FORMULA_STARTS:
        text = plain(cell)
        if text is cell or neutral(text) != cell:
            raise RowError("the text starts like a formula and lacks its apostrophe")
        return text
    return cell


def _format_text(text: str) -> str:
    why = refusal(text)
    if why is not None:
        raise RowError(why)
    return neutral(text)


def _word_parser(words: type[Enum]) -> Callable[[str], Enum]:
    table: dict[str, Enum] = {word.value: word for word in words}

    def parse(cell: str) -> Enum:
        word = table.get(cell)
        if word is None:
            raise RowError(f"{cell!r} is not one of {', '.join(table)}")
        return word

    return parse


def _format_word(word: Enum) -> str:
    return str(word.value)


_UNITS = {unit.value: unit for unit in Unit}


@lru_cache(maxsize=4096)  # crews read the same few hundred values again and again
def parse_reading(value: str, unit: str) -> Resistance:
    known = _UNITS.get(unit)
    try:
        if known is None:
            return _parse_voltage(value, unit)
        number = parse_number(value)
    except NotAResistanceError as error:
        raise RowError(str(error), "value") from None
    if value[0] == ".":
        raise RowError(f"{value!r} lacks the nought before the point", "value")
    return Resistance(number, known)


def _parse_voltage(value: str, unit: str) -> Resistance:
    found = voltage.parse_cells(value, unit)
    if found is None:
        raise RowError(f"{unit!r} is not one of {', '.join(_UNITS)}", "unit")
    if found.cells != (value, unit):
        raise RowError(f"{value!r} in {unit!r} is not spelled as this program does", "value")
    return found


def _format_reading(reading: Resistance) -> tuple[str, str]:
    value, unit = reading.cells
    try:
        parse_number(value.removeprefix("-") if isinstance(reading, voltage.VoltageReading) else value)
    except NotAResistanceError as error:
        raise RowError(str(error), "value") from None
    return value, unit


# --- the table, computed once from the dataclasses -----------------------------------------


class CellField(NamedTuple):
    """One field of an event and the column it stands in; a tuple, for it is unpacked for each cell."""

    name: str
    column: int
    parse: Callable[[str], Any]
    format: Callable[[Any], str]
    is_optional: bool  # an empty cell means None
    is_blank_default: bool  # an empty cell means what the field holds when left out


@dataclass(frozen=True, slots=True)
class RowForm:
    """How events of one kind stand in a row."""

    build: type[Event]
    fields: tuple[CellField, ...]
    has_reading: bool
    needs_reading: bool
    unused: tuple[int, ...]  # columns that must be empty


_BY_TYPE: Mapping[type, tuple[Callable[[str], Any], Callable[[Any], str]]] = {
    datetime: (parse_time, format_time),
    int: (parse_whole, _format_whole),
    str: (parse_text, _format_text),
}


def _bare(hint: Any) -> tuple[type, bool]:
    """A field's type without its ``| None``, and whether it had one."""
    if get_origin(hint) in (Union, types.UnionType):
        kept = [part for part in get_args(hint) if part is not type(None)]
        return kept[0], True
    return hint, False


def _form(build: type[Event]) -> RowForm:
    hints = get_type_hints(build)
    found: dict[int, CellField] = {}
    has_reading = needs_reading = False
    for field in fields(build):
        kind, is_optional = _bare(hints[field.name])
        if kind is Resistance:
            has_reading, needs_reading = True, field.default is MISSING
            continue
        parse, write = (_word_parser(kind), _format_word) if issubclass(kind, Enum) else _BY_TYPE[kind]
        column = COLUMNS.index(_IN_COLUMN.get(field.name, field.name))
        is_blank_default = is_optional or field.default == ""
        found[column] = CellField(field.name, column, parse, write, is_optional, is_blank_default)
    used = {_ROW, _KIND, _CHAIN, *found}
    if has_reading:
        used |= {COLUMNS.index("value"), COLUMNS.index("unit")}
    unused = tuple(column for column in range(len(COLUMNS)) if column not in used)
    return RowForm(build, tuple(found.values()), has_reading, needs_reading, unused)


FORMS: Mapping[str, RowForm] = {kind: _form(build) for kind, build in KINDS.items()}
_VALUE, _UNIT = COLUMNS.index("value"), COLUMNS.index("unit")
_has_definition = {kind: "definition" in {f.name for f in fields(build)} for kind, build in KINDS.items()}


# --- rows ----------------------------------------------------------------------------------


def format_row(row: int, event: Event, previous_link: str) -> tuple[bytes, str]:
    """The line of row ``row``, newline included, and its link.

    Raises:
        BadInputError: a field holds something that may not stand in the trail.
    """
    cells = [""] * len(COLUMNS)
    cells[_ROW] = str(row)
    cells[_KIND] = event.kind
    problems = _fill(cells, event)
    link = chain.link(previous_link, cells[:_CHAIN]) if not problems else ""
    cells[_CHAIN] = link
    line = format_line(cells)
    if not problems and len(line) > MAX_LINE:
        problems.append(
            Problem(f"The row has {len(line)} bytes; at most {MAX_LINE} are allowed.", "Shorten the texts.")
        )
    if problems:
        raise BadInputError(
            f"This {event.kind} cannot be put on record: {problems[0].what}",
            where=problems[0].field,
            remedy=problems[0].remedy,
            problems=problems,
        )
    return line, link


def _fill(cells: list[str], event: Event) -> list[Problem]:
    form = FORMS[event.kind]
    problems: list[Problem] = []
    for field in form.fields:
        value = getattr(event, field.name)
        if value is None and field.is_optional:
            continue
        try:
            cells[field.column] = cell = field.format(value)
            if field.is_optional and not cell:
                raise RowError("an empty text cannot be told from none")
        except RowError as error:
            problems.append(Problem(error.what, "Key it again without this.", field=field.name))
    reading: Resistance | None = getattr(event, "reading", None)
    if reading is not None:
        try:
            cells[_VALUE], cells[_UNIT] = _format_reading(reading)
        except RowError as error:
            problems.append(Problem(error.what, "Key the value again.", field="value"))
    if _has_definition[event.kind] and event.note:
        problems.append(
            Problem("a definition leaves no room for a note", "Put it in the reason.", field="note")
        )
    return problems


def format_line(cells: Sequence[str]) -> bytes:
    """Cells as one line of CSV, quoted only where it must be."""
    quoted = ['"' + cell.replace('"', '""') + '"' if "," in cell or '"' in cell else cell for cell in cells]
    return ",".join(quoted).encode(errors="surrogatepass") + b"\n"


def time_in(line: bytes) -> str:
    """The time as it stands in a line of :func:`format_row`: never quoted, nor is what stands before it."""
    return line.split(b",", _TIME + 1)[_TIME].decode()


def split_line(line: str, delimiter: str = ",") -> list[str]:
    """The cells of one line, its line end taken off.

    Raises:
        RowError: a quotation mark is not closed, or text follows a closed one.
    """
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error:
        raise RowError("a quotation mark is missing or too many") from None


def parse_row(cells: Sequence[str], *, is_plain: bool = False) -> Event:
    """The event of a row.

    Args:
        cells: one for each of :data:`COLUMNS`.
        is_plain: every cell is known to be printable ASCII and short, so that the text policy
            need not look again.

    Raises:
        RowError: what is wrong, and in which column.
    """
    form = FORMS.get(cells[_KIND])
    if form is None:
        raise RowError(
            f"kind {cells[_KIND]!r} is not known; a newer program may have written this row", "kind"
        )
    if not is_plain:
        require_clean(cells)
    for column in form.unused:
        if cells[column]:
            raise RowError(f"a row of kind {cells[_KIND]} has nothing in this column", COLUMNS[column])
    values: dict[str, Any] = {}
    for name, column, parse, _, _, is_blank_default in form.fields:
        cell = cells[column]
        if cell or not is_blank_default:
            try:
                values[name] = parse(cell)
            except RowError as error:
                raise RowError(error.what, COLUMNS[column]) from None
    if form.has_reading and (form.needs_reading or cells[_VALUE] or cells[_UNIT]):
        values["reading"] = parse_reading(cells[_VALUE], cells[_UNIT])
    return form.build(**values)


def require_clean(cells: Sequence[str]) -> None:
    for name, cell in zip(COLUMNS, cells, strict=True):
        # One more than at entry: the apostrophe that keeps a spreadsheet from running the cell.
        why = refusal(cell, max_length=MAX_LENGTH + 1)
        if why is not None:
            raise RowError(why, name)
