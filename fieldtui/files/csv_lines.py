"""A CSV file made by people: sheets, memory lists. Bounded, checked, every problem with its line.

A byte order mark, any line end, semicolons or tabs between cells, and a first line ``sep=;`` are
taken as they come, since spreadsheets write them.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit, parse_unit
from fieldtui.core.text import normal, quoted, refusal
from fieldtui.errors import Problem

MAX_PROBLEMS = 5000  # of one file; more than these nobody reads, and a hostile file has millions
MORE_PROBLEMS = "there are more problems than are listed here"
MAX_BYTES = 16 * 1024 * 1024
_MAX_LINE = 65_536  # characters
_MAX_DIGITS = 6  # of a record or memory number
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
_SAYS_DELIMITER = re.compile(
    r'"?sep=(?P<sign>.)"?\s*[,;\t]*\s*', re.IGNORECASE
)  # the first line, to a spreadsheet
_LINE_END = re.compile(r"\r\n|\n|\r")  # and none of the others that str.splitlines knows


@dataclass(slots=True)
class CsvLines:
    """One file: the columns it may have, those it must have, and what is wrong with it."""

    file: str
    columns: Sequence[str]
    wanted: Sequence[str]
    problems: list[Problem] = field(default_factory=list)
    delimiter: str = field(default=",", init=False)  # between cells, known once the header is read
    reads_utf16: bool = field(default=False, init=False)  # with its mark, beside UTF-8
    following: str = field(default="", init=False)  # the line below the header

    def find(self, line: int, column: str, what: str, remedy: str) -> None:
        """Note a problem of one line; of those beyond :data:`MAX_PROBLEMS` only that there are more."""
        if len(self.problems) < MAX_PROBLEMS:
            self.problems.append(Problem(what, remedy, self.file, line, column))
        elif len(self.problems) == MAX_PROBLEMS:
            self.problems.append(Problem(MORE_PROBLEMS, "put these right first", self.file, line))

    def rows(self, data: bytes) -> Iterator[tuple[int, dict[str, str]]]:
        """Each line as its number (from 1) and its cells by column; columns left out are empty texts.

        Never raises: what is wrong is in ``problems``, and such a line is passed over.
        """
        text = self._decoded(data)
        if text is None:
            return
        lines = _LINE_END.split(text)  # first, so that an open quote spoils its own line only
        skipped = self._choose_delimiter(lines)
        columns: list[str] = []
        for number, line in enumerate(lines[skipped:], start=skipped + 1):
            cells = self._cells(line, number)
            if self.problems and (not columns or len(self.problems) > MAX_PROBLEMS):
                return
            if not any(cell.strip() for cell in cells):
                continue
            if columns:
                named = self._named(cells, columns, number)
                if named is not None:
                    yield number, named
                continue
            self.following = next((each for each in lines[number:] if each.strip(" ,;\t")), "")
            columns = self._header(cells, number)
            if not columns:
                return
        if not columns and not self.problems:
            head = f"the line {','.join(self.columns)}" if self.columns else "a line that names the columns"
            self.find(1, "", "the file is empty", f"begin with {head}")

    def whole(self, named: dict[str, str], column: str, line: int) -> int | None:
        """A record or memory number, None where the cell is empty or wrong (and then noted)."""
        text = named[column]
        if not text:
            return None
        if not (text.isascii() and text.isdigit() and len(text) <= _MAX_DIGITS):
            self.find(line, column, f"{text[:40]!a} is not a whole number", "write digits only")
            return None
        return int(text)

    def figure(self, text: str) -> str:
        """A figure as written, with a point for a comma where the comma is not between cells."""
        return text if self.delimiter == "," else text.replace(",", ".")

    def unit(self, text: str, line: int, others: str = "") -> Unit | None:
        """A unit by its spelling or symbol, None where the cell is empty or wrong (and then noted).

        ``others`` are words on units that are taken beside these.
        """
        if not text:
            return None
        by_symbol = {unit.symbol: unit for unit in Unit}
        try:
            return by_symbol.get(text) or parse_unit(text)
        except NotAResistanceError as error:
            remedy = "m and M differ by a factor of 1 000 000 000: case matters"
            self.find(line, "unit", f"{error}{others}", remedy)
            return None

    def word(self, text: str, words: Sequence[str], column: str, line: int) -> str:
        """One of ``words``; an empty text where it is none of them (and then noted)."""
        found = text.casefold()
        if found in words:
            return found
        near = get_close_matches(found, words, n=1)
        remedy = f"did you mean {near[0]}?" if near else f"one of: {' '.join(word for word in words if word)}"
        self.find(line, column, f"unknown {column} {quoted(text)}" if text else f"no {column}", remedy)
        return ""

    def _decoded(self, data: bytes) -> str | None:
        if len(data) > MAX_BYTES:
            self.find(1, "", f"the file is larger than {MAX_BYTES} bytes", "split it")
            return None
        is_wide = self.reads_utf16 and data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        try:
            return data.decode("utf-16" if is_wide else "utf-8-sig")
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            remedy = 'save the file once more, as "CSV UTF-8" in a spreadsheet, or in UTF-8 in an editor'
            what = f"this line is not {'UTF-16' if is_wide else 'UTF-8'} text"
            self.find(line, "", what, remedy)
            return None

    def _choose_delimiter(self, lines: Sequence[str]) -> int:
        """Find out what stands between cells; how many lines end with one that only says so, such as sep=;"""
        for number, line in enumerate(lines, start=1):
            if not line.strip():
                continue
            said = _SAYS_DELIMITER.fullmatch(line)
            if said is not None:
                self.delimiter = said["sign"] if said["sign"] in _DELIMITERS else ","
                if self.delimiter != said["sign"]:
                    what = f"{quoted(said['sign'])} between cells is not known"
                    self.find(number, "", what, f"use one of: {', '.join(_DELIMITERS.values())}")
                return number
            self.delimiter = max(_DELIMITERS, key=line.count)
            break
        return 0

    def _cells(self, line: str, number: int) -> list[str]:
        """The cells of one line, none where it is no CSV (and then noted)."""
        if len(line) > _MAX_LINE:
            self.find(number, "", f"this line is longer than {_MAX_LINE} characters", "shorten it")
            return []
        try:
            return next(csv.reader([line], delimiter=self.delimiter, strict=True), [])
        except csv.Error:
            remedy = "close the quote on the same line, or leave it out"
            self.find(number, "", "the quotes on this line do not match", remedy)
            return []

    def _header(self, cells: Sequence[str], line: int) -> list[str]:
        columns = [cell.strip().casefold() for cell in cells]
        for column in dict.fromkeys(columns):
            if column not in self.columns:
                near = get_close_matches(column, self.columns, n=1)
                remedy = f"did you mean {near[0]}?" if near else f"the columns are {','.join(self.columns)}"
                self.find(line, "", f"unknown column {normal(column)[:40]!a}", remedy)
            elif columns.count(column) > 1:
                self.find(line, column, "this column stands twice", "take one out")
        for column in self.wanted:
            if column not in columns:
                self.find(
                    line, column, f"the column {column} is missing", f"begin with {','.join(self.columns)}"
                )
        return columns if not self.problems else []

    def _named(self, cells: Sequence[str], columns: Sequence[str], line: int) -> dict[str, str] | None:
        if any(cell.strip() for cell in cells[len(columns) :]):
            what = f"{len(cells)} cells; the header has {len(columns)}"
            remedy = (
                f"put quotes round a text with a {_DELIMITERS[self.delimiter]}, or name the columns above"
            )
            self.find(line, "", what, remedy)
            return None
        named = dict.fromkeys(self.columns, "")
        for column, cell in zip(columns, cells, strict=False):
            named[column] = normal(cell)
            if why := refusal(named[column]):
                self.find(line, column, why, "take it out")
        return named
