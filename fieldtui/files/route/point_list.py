"""From the rows of a spreadsheet to the tables of a route file, every problem with its line.

Nothing that judges is made up: a limit that cannot be understood is a problem, and so is a figure
without a unit in a list of several units. A comparator that is not written is taken as ``<=`` and said
so. Ids and sections are only brought into the form that ids have.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit
from fieldtui.core.plan.route import Limit
from fieldtui.core.text import quoted
from fieldtui.errors import Problem
from fieldtui.files.route.columns import Taken, header_doubt
from fieldtui.files.route.decimal_signs import decimal_signs
from fieldtui.files.route.point_row import (
    Row,
    conductor_of,
    expected_of,
    limit_in,
    limit_table,
    rest_of,
    retest_of,
    unit_of,
)
from fieldtui.files.route.point_table import PointTable
from fieldtui.files.route.written_limits import parse_written_limit, parse_written_unit
from fieldtui.files.toml.fields import MAX_ID

_NOT_ID = re.compile(r"[^A-Za-z0-9._-]+")
_IN_POINT = re.compile(r"points\[(?P<index>[0-9]+)\]\.?(?P<field>.*)")
_COPIED = (
    "where", "a", "b", "criterion", "rule", "method", "decision", "family", "condition", "prepare", "restore",
    "caution",
)  # fmt: skip
_FIGURES = ("limit", "max", "min", "retest", "expected", "expected_low", "expected_high")
_NUMBERS = ("mm2", "length_mm", "current_ma", "guard", "x", "y", "z")
_COUNTED = {
    "carried": "empty section cells, taken as the section above (merged cells)",
    "sectionless": 'points without a section, put in "All points"',
    "bare": "limits without a comparator, taken as at most (<=)",
    "like_limit": "limits after rework without a comparator, compared as the limit is",
    "unitless": "lines with a figure without a unit, taken as {unit}, the only unit in the list",
}
_SHOWN = 3  # changed ids named in a note


@dataclass(slots=True)
class PointList:
    """What the rows became. ``lines`` are the file's lines of the points, in their order."""

    sections: list[dict[str, Any]] = field(default_factory=list)
    points: list[dict[str, Any]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    repeated: dict[int, str] = field(default_factory=dict)  # of ids that stand twice, by the later line
    unit: Unit | None = None  # of the route: as said, or the one that most rows name
    notes: list[str] = field(default_factory=list)  # what was taken as what, for the person to see
    problems: list[Problem] = field(default_factory=list)


def read_points(
    table: PointTable, taken: Sequence[Taken], unit: Unit | None, criteria: Mapping[str, Limit]
) -> PointList:
    """Understand every row. Never raises: what is wrong is in ``problems``.

    Args:
        table: the rows.
        taken: which column is what.
        unit: the route's unit; None to take the one that most rows name.
        criteria: limits by the id of the criterion, which a limit cell may name.
    """
    reader = _Reader(table, taken, criteria)
    reader.check_columns()
    reader.choose_unit(unit)
    for line, cells in table.rows:
        reader.take(line, cells)
    reader.say_what_was_done()
    return reader.found


def place_problems(problems: Iterable[Problem], found: PointList, file: str) -> list[Problem]:
    """Problems of the route's tables; those of its points at the lines of the list they came from."""
    return [_placed(problem, found, file) for problem in problems]


def _placed(problem: Problem, found: PointList, file: str) -> Problem:
    at = _IN_POINT.fullmatch(problem.field)
    if at is None:
        return problem
    line = found.lines[int(at["index"])]
    # A check of the route tells of an id that stands twice by the route's lines.
    what = found.repeated.get(line, problem.what) if at["field"] == "id" else problem.what
    return Problem(what, problem.remedy, file, line, at["field"], problem.severity)


class _Reader:
    """Reads one table, row by row."""

    def __init__(self, table: PointTable, taken: Sequence[Taken], criteria: Mapping[str, Limit]) -> None:
        self.found = PointList(problems=list(table.problems))
        self._table = table
        self._columns = {each.field: each for each in taken}
        self._criteria = criteria
        self._section_ids: dict[str, str] = {}  # by what the cell says
        self._sections: set[str] = set()  # ids that are taken
        self._numbers: dict[str, int] = {}  # the last one put behind each id that several cells come to
        self._first: dict[str, int] = {}  # the line in which each id stands first
        self._changed: dict[str, str] = {}  # ids as written and as taken
        self._mixed = ""  # units of the list in words, where there are several and none was said
        self._is_guessed = False  # whether the route's unit comes from the rows
        self._above = ("", "")  # section and its title, of the nearest row above that has them
        sections = [
            self._columns[name].column for name in ("section", "section_title") if name in self._columns
        ]
        self._carries = bool(table.rows) and any(table.rows[0][1][column] for column in sections)
        self._counts = Counter[str]()  # of what was taken as something that does not stand there
        figures = [self._columns[name].column for name in (*_FIGURES, *_NUMBERS) if name in self._columns]
        cells = (cells[column] for _, cells in table.rows for column in figures)
        self._signs = decimal_signs(cells, table.delimiter)

    def check_columns(self) -> None:
        """Note each column whose name says a unit that could be two."""
        for name, each in self._columns.items():
            if name in _FIGURES and (why := header_doubt(each.column)):
                what = f"the name of the column: {why}"
                self.found.problems.append(Problem(what, "rename it", self._table.file, None, each.column))

    def choose_unit(self, said: Unit | None) -> None:
        """The route's unit: as said, or the one that most rows name in their unit cell or their limit.

        Where the rows name several and none was said, a bare figure has none.
        """
        if said is not None:
            self.found.unit = said
            return
        votes: Counter[Unit] = Counter()
        seen: set[Unit] = set()
        for _, cells in self._table.rows:
            votes.update(self._units_named(cells, ("unit", "limit", "max", "min")))
            seen.update(self._units_named(cells, ("retest", "expected", "expected_low", "expected_high")))
        self.found.unit = votes.most_common(1)[0][0] if votes else None
        named = [unit.value for unit in Unit if unit in seen or unit in votes]
        self._mixed = f"{', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else ""
        self._is_guessed = len(named) == 1

    def take(self, line: int, cells: Mapping[str, str]) -> None:
        """One more point."""
        filled = {name: cells[each.column] for name, each in self._columns.items() if cells[each.column]}
        row = Row(
            file=self._table.file,
            line=line,
            cells=filled,
            columns=self._columns,
            signs=self._signs,
            criteria=self._criteria,
            problems=self.found.problems,
            mixed=self._mixed,
            is_guessed=self._is_guessed,
        )
        bare = self._unit_of(row)  # of figures without a unit
        row.own = bare if row.get("unit") else None
        limit = limit_in(row, bare)
        # Without a word on it, the crew keys in the unit that the limit is in.
        unit = bare if row.get("unit") else unit_of(row, limit) or bare
        identity = self._id(row)
        if identity and (first := self._first.setdefault(identity, line)) != line:
            self.found.repeated[line] = f'point id "{identity}" is already used in line {first}'
        point: dict[str, Any] = {
            "id": identity,
            "section": self._section(row),
            "title": row.get("title") or row.get("a") or row.get("where") or identity,
        }
        if unit is not None and unit is not self.found.unit:
            point["unit"] = unit.value
        point |= {name: filled[name] for name in _COPIED if name in filled}
        if "pair" in filled:
            point["pair"] = self._as_id(row, "pair")
        point |= {} if limit is None else limit_table("limit", limit, unit)
        if unit is not bare:
            row.beside, bare = unit, None
        point |= retest_of(row, bare, unit, limit) | expected_of(row, bare, unit)
        point |= conductor_of(row) | rest_of(row)
        self._counts.update(bare=row.bare, like_limit=row.like_limit, unitless=row.unitless)
        self.found.points.append(point)
        self.found.lines.append(line)

    def say_what_was_done(self) -> None:
        """Note whatever was taken as something that does not stand in the list."""
        found, notes, counts = self.found, self.found.notes, self._counts
        if not self._table.columns:
            return  # nothing was read: what no column holds is not known
        if "id" not in self._columns:
            notes.append("no column holds ids: the points are numbered P-001, P-002 and so on")
        if "title" not in self._columns:
            notes.append("no column holds titles: a, where or the id stand for them")
        if "section" not in self._columns and "section_title" not in self._columns:
            notes.append("no column holds sections: all points are in one")
        if self._changed:
            shown = ", ".join(f"{old} is {new}" for old, new in list(self._changed.items())[:_SHOWN])
            more = len(self._changed) - _SHOWN
            notes.append(f"brought into the form that ids have: {shown}{f', and {more} more' * (more > 0)}")
        for name, what in _COUNTED.items():
            if counts[name]:
                unit = found.unit.value if found.unit is not None else ""
                notes.append(f"{what.format(unit=unit)}: {counts[name]}")
        if found.unit is not None and found.points:
            notes.append(f"the unit of the route is {found.unit.value}")

    def _id(self, row: Row) -> str:
        if "id" not in self._columns:
            return f"P-{len(self.found.points) + 1:03}"
        if not row.get("id"):
            row.find("id", "the point has no id", "give it one, or take the line out")
        return self._as_id(row, "id")

    def _section(self, row: Row) -> str:
        said = self._section_said(row)
        if said not in self._section_ids:
            name = "section" if row.get("section") else "section_title"
            section = wanted = self._as_id(row, name) if said else "all"
            number = self._numbers.get(wanted, 1)
            while section in self._sections:
                number += 1
                section = f"{wanted[: MAX_ID - 5]}-{number}"
            self._numbers[wanted] = number
            self._sections.add(section)
            self._section_ids[said] = section
            title = row.get("section_title") or said or "All points"
            self.found.sections.append({"id": section, "title": title})
        return self._section_ids[said]

    def _section_said(self, row: Row) -> str:
        """The section in words; that of the line above where the cells of several lines were merged."""
        section, title = row.get("section"), row.get("section_title")
        above, above_title = self._above
        if self._carries and not section and title in ("", above_title) and (above or not title):
            self._counts["carried"] += 1
            return above or above_title
        if section or title:
            self._above = (section, title)
        elif self._columns.keys() & {"section", "section_title"}:
            self._counts["sectionless"] += 1
        return section or title

    def _as_id(self, row: Row, name: str) -> str:
        text = row.get(name)
        changed = _NOT_ID.sub("-", text).strip("-")
        if text and not changed:
            row.find(name, f"{quoted(text)} cannot be made an id", "use letters, digits, - _ and .")
        elif changed != text:
            self._changed.setdefault(text, changed)
        return changed

    def _unit_of(self, row: Row) -> Unit | None:
        text = row.get("unit")
        if not text:
            return None if self._mixed else self.found.unit
        try:
            return parse_written_unit(text)
        except NotAResistanceError as error:
            row.find("unit", str(error), f"write one of {', '.join(unit.value for unit in Unit)}")
            return self.found.unit

    def _units_named(self, cells: Mapping[str, str], names: Sequence[str]) -> Iterator[Unit]:
        """The units in the cells of these fields, or in the names of their columns."""
        for name in names:
            each = self._columns.get(name)
            text = cells[each.column] if each is not None else ""
            if each is None or not text:
                continue
            try:
                if name == "unit":
                    yield parse_written_unit(text)
                    continue
                found = parse_written_limit(text, each.unit, decimal_comma=self._signs.comma).limit
            except NotAResistanceError:
                continue  # told when the row is taken
            bound = found.maximum or found.minimum
            if bound is not None:
                yield bound.unit
