"""A list of points out of a spreadsheet: a CSV file with columns of any name.

The first line that is not empty names the columns. Cells are kept as texts; what each column
means is for :mod:`fieldtui.files.route.columns` to guess or for the person to say.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass

from fieldtui.core.text import normal, plain, refusal
from fieldtui.errors import Problem
from fieldtui.files.csv_lines import CsvLines

MAX_ROWS = 10_000
_MAX_COLUMNS = 100
_MAX_NAME = 80  # characters of a column's name


@dataclass(frozen=True, slots=True)
class PointTable:
    """The table as it stands in the file. ``rows`` are line numbers from 1 and cells by column."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]
    decimal_comma: bool  # semicolons or tabs between cells leave the comma free for decimals
    problems: tuple[Problem, ...]
    delimiter: str = ","

    def cells(self, column: str) -> list[str]:
        """What stands in a column, empty cells left out."""
        return [cells[column] for _, cells in self.rows if cells[column]]

    def example(self, column: str) -> str:
        """The first cell of a column that is not empty."""
        return next(iter(self.cells(column)), "")


class _FreeLines(CsvLines):
    """A CSV file whose header says which columns there are."""

    def __init__(self, file: str) -> None:
        super().__init__(file, (), ())
        self.reads_utf16 = True  # what some spreadsheets call Unicode text

    def _header(self, cells: Sequence[str], line: int) -> list[str]:
        names = [normal(cell) for cell in cells]
        if self._is_title(names):
            what = "the names of the columns were expected on this line, and it has one cell only"
            self.find(line, "", what, "take out what stands above the line that names the columns")
            return []
        while names and not names[-1]:
            names.pop()
        if len(names) > _MAX_COLUMNS:
            self.find(line, "", f"{len(names)} columns; at most {_MAX_COLUMNS} are read", "take some out")
            names = names[:_MAX_COLUMNS]
        for position, name in enumerate(names, start=1):
            if why := refusal(name, max_length=_MAX_NAME):
                self.find(line, "", f"the name of column {position}: {why}", "take it out, or shorten it")
            elif not name:
                self.find(line, "", f"column {position} has no name", "give it one, or take it out")
            elif names.index(name) < position - 1:
                self.find(line, name, "this column stands twice", "give each a name of its own")
        self.columns = names
        return names if not self.problems else []

    def _is_title(self, names: Sequence[str]) -> bool:
        """Whether this line is a title above the list: one cell, and several below it."""
        if sum(map(bool, names)) > 1:
            return False
        try:
            below = [cells for sign in ",;\t" for cells in csv.reader([self.following], delimiter=sign)]
        except csv.Error:
            return False
        return any(sum(bool(cell.strip()) for cell in cells) > 1 for cells in below)


def parse_point_table(data: bytes, file: str) -> PointTable:
    """Read a spreadsheet's CSV. Never raises: what is wrong is in ``problems``."""
    lines = _FreeLines(file)
    rows: list[tuple[int, dict[str, str]]] = []
    for line, named in lines.rows(data):
        rows.append((line, {column: normal(plain(cell)) for column, cell in named.items()}))
        if len(rows) > MAX_ROWS:
            lines.find(line, "", f"more than {MAX_ROWS} points", "split the list into several routes")
            break
    if not rows and not lines.problems:
        lines.find(1, "", "the list has no points below its header", "write one line for each point")
    return PointTable(
        file=file,
        columns=tuple(lines.columns),
        rows=tuple(rows),
        decimal_comma=lines.delimiter != ",",
        problems=tuple(lines.problems),
        delimiter=lines.delimiter,
    )
