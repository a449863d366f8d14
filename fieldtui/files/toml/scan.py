"""One pass over TOML text before it is parsed: bounds it and notes where every value stands.

Only the grammar needed to find keys, strings, lists and tables is known here; what the scanner
lets through the standard parser judges in full. Source: TOML v1.0.0.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from typing import NoReturn

from fieldtui.errors import BadInputError, Problem

MAX_DEPTH = 16  # keys and list places from the top of the file to a value
# What the standard parser takes longer for than for a value; a route of 10,000 points has 110,000 of them.
MAX_VALUES = 130_000
HEADER_VALUES = 2  # what a table's header counts
ESCAPED_VALUES = 3  # what a key with a backslash counts
MAX_STEPS = 460_000  # keys and list places from the top, over all values; such a session has 410,000
MAX_TOKEN = 64  # characters of a number or date

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*+)*+")
_SPACE = re.compile(r"[ \t]*+")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]++")
_BASIC = re.compile(r'"[^"\\\n]*+(?:\\[^\n][^"\\\n]*+)*+"')
_LITERAL = re.compile(r"'[^'\n]*+'")
_LONG = {
    '"""': re.compile(r'(?:[^\\"]++|\\.|"(?!""))*+"""', re.DOTALL),
    "'''": re.compile(r"(?:[^']++|'(?!''))*+'''"),
}
_SCALAR = re.compile(r"""[0-9]{4}-[0-9]{2}-[0-9]{2}[ ][0-9][^\s,\]}\#]*+|[^\s,\[\]{}\#"'=]++""")
QUOTES = "text needs quotes, a number a digit on both sides of the point, true and false small letters"


def refusal(file: str, line: int | None, what: str, remedy: str) -> BadInputError:
    """The error that carries one problem of a file as a whole."""
    problem = Problem(what=what, remedy=remedy, file=file, line=line)
    return BadInputError(what, where=problem.where, remedy=remedy, problems=[problem])


class Scanner:
    """Reads one text, once."""

    def __init__(self, text: str, file: str) -> None:
        """``text`` with line ends as newlines; ``file`` is the name used in problems."""
        self._text = text
        self._file = file
        self._pos = 0
        self._values = 0
        self._steps = 0
        self._breaks = [found.start() for found in re.finditer("\n", text)]
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}  # tables so far in each list of tables

    def scan(self) -> dict[Path, int]:
        """The line, from 1, of every table, key and list place.

        Raises:
            BadInputError: where the text goes beyond a bound or cannot be TOML.
        """
        table: Path = ()
        self._skip(_BLANK)
        while self._pos < len(self._text):
            if self._at("["):
                table = self._header()
            else:
                self._pair(table)
            self._skip(_SPACE)
            if self._pos < len(self._text) and not self._at("\n") and not self._at("#"):
                self._fail("more text than one key and its value", "start a new line, or quote the text")
            self._skip(_BLANK)
        return self._lines

    def _header(self) -> Path:
        start = self._pos
        closing = "]]" if self._at("[[") else "]"
        self._pos += len(closing)
        keys = self._key()
        self._expect(closing, "a table's name without its closing bracket")
        path: Path = ()
        for key in keys[:-1]:
            path = (*path, key)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        path = (*path, keys[-1])
        if closing == "]]":
            index = self._counts.get(path, 0)
            self._counts[path] = index + 1
            path = (*path, index)
        self._count_value(HEADER_VALUES)
        self._note(path, start)
        return path

    def _pair(self, table: Path) -> None:
        start = self._pos
        path = (*table, *self._key())
        self._expect("=", "a key without = and a value")
        self._note(path, start)
        self._value(path)

    def _key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self._skip(_SPACE)
            parts.append(self._key_part())
            if len(parts) > MAX_DEPTH:
                self._fail_depth()
            self._skip(_SPACE)
            if not self._at("."):
                return tuple(parts)
            self._pos += 1

    def _key_part(self) -> str:
        for pattern in (_BARE_KEY, _BASIC, _LITERAL):
            if found := pattern.match(self._text, self._pos):
                self._pos = found.end()
                if "\\" in found.group():
                    self._count_value(ESCAPED_VALUES)
                return _unquoted(found.group())
        return self._fail("a key was expected here", "write key = value")

    def _value(self, path: Path) -> None:
        self._count_value()
        self._skip(_SPACE)
        for quotes in _LONG:
            if self._at(quotes):
                return self._long_string(quotes)
        if self._at('"'):
            return self._match(_BASIC, "text without its closing quote", "close it on the same line")
        if self._at("'"):
            return self._match(_LITERAL, "text without its closing quote", "close it on the same line")
        if self._at("["):
            return self._list(path)
        if self._at("{"):
            return self._inline_table(path)
        start = self._pos
        self._match(_SCALAR, "a value is missing here", QUOTES)
        if self._pos - start > MAX_TOKEN:
            self._fail(f"a number or date of more than {MAX_TOKEN} characters", "text needs quotes")
        return None

    def _list(self, path: Path) -> None:
        self._pos += 1
        index = 0
        self._skip(_BLANK)
        while not self._at("]"):
            self._note((*path, index), self._pos)
            self._value((*path, index))
            index += 1
            self._comma_or("]", "a list without its closing bracket")
        self._pos += 1

    def _inline_table(self, path: Path) -> None:
        self._pos += 1
        self._skip(_BLANK)
        while not self._at("}"):
            self._pair(path)
            self._comma_or("}", "a table without its closing brace")
        self._pos += 1

    def _comma_or(self, closing: str, what: str) -> None:
        self._skip(_BLANK)
        if self._at(","):
            self._pos += 1
            self._skip(_BLANK)
        elif not self._at(closing):
            self._fail(what, f"put a comma between values and {closing} at the end")

    def _long_string(self, quotes: str) -> None:
        found = _LONG[quotes].match(self._text, self._pos + 3)
        if found is None:
            self._fail("text without its closing quotes", f"close it with {quotes}")
        self._pos = found.end()
        while self._at(quotes[0]) and self._pos < found.end() + 2:
            self._pos += 1  # up to two quotes may stand just before the closing three

    def _note(self, path: Path, position: int) -> None:
        if len(path) > MAX_DEPTH:
            self._fail_depth()
        self._steps += len(path)
        if self._steps > MAX_STEPS:
            self._fail("too many values deep in nested tables", "split the file")
        line = bisect_right(self._breaks, position) + 1
        for length in range(1, len(path) + 1):
            self._lines.setdefault(path[:length], line)

    def _count_value(self, count: int = 1) -> None:
        self._values += count
        if self._values > MAX_VALUES:
            self._fail(f"more than {MAX_VALUES} values", "split the file")

    def _at(self, piece: str) -> bool:
        return self._text.startswith(piece, self._pos)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self._text, self._pos)
        assert found is not None  # both patterns match nothing as well
        self._pos = found.end()

    def _match(self, pattern: re.Pattern[str], what: str, remedy: str) -> None:
        found = pattern.match(self._text, self._pos)
        if found is None:
            self._fail(what, remedy)
        self._pos = found.end()

    def _expect(self, piece: str, what: str) -> None:
        if not self._at(piece):
            self._fail(what, f"put {piece} here")
        self._pos += len(piece)

    def _fail_depth(self) -> NoReturn:
        self._fail(f"nested more than {MAX_DEPTH} deep", "simplify the file")

    def _fail(self, what: str, remedy: str) -> NoReturn:
        raise refusal(self._file, bisect_right(self._breaks, self._pos - 1) + 1, what, remedy)


def _unquoted(key: str) -> str:
    if key[0] == "'":
        return key[1:-1]
    if key[0] != '"':
        return key
    if "\\" not in key:
        return key[1:-1]
    try:
        return str(tomllib.loads(f"key = {key}")["key"])
    except tomllib.TOMLDecodeError:  # the standard parser will say so, with its line
        return key
