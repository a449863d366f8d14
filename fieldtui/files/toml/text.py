"""TOML read safely: bounded before it is parsed, digits kept, and the line of every value known.

The standard parser has no bounds of its own: deep nesting ends in a recursion error, a deep
dotted key costs seconds, and nothing says where in the file a value stood. So a small scanner
goes first. It bounds the text, and builds the line index on the way; what it lets through the
standard parser judges in full.

Source: TOML v1.0.0, the grammar of keys, strings, arrays and tables.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time
from decimal import Decimal, InvalidOperation
from typing import Any

from fieldtui.core.text import visible
from fieldtui.errors import BadInputError, Problem
from fieldtui.files.toml.scan import MAX_TOKEN, QUOTES, Path, Scanner, refusal

MAX_BYTES = 3 * 1024 * 1024  # a route of 10,000 points has half of it
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BOM = b"\xef\xbb\xbf"
_AT_LINE = re.compile(r"\(at line ([0-9]+), column [0-9]+\)")

_ESCAPES = "write the text in 'single quotes', or double the backslash"
# What the standard parser says, by a piece of it, and what a person is told instead.
_IN_PLAIN_WORDS = (
    ("Cannot declare", "this table is given a second time", "take one of the two out"),
    ("Cannot overwrite", "this key is given a second time", "take one of the two out"),
    ("Duplicate inline", "this key is given a second time", "take one of the two out"),
    ("Cannot mutate", "this table is complete and cannot be added to", "write its keys in one place"),
    ("Cannot redefine", "this table is complete and cannot be added to", "write its keys in one place"),
    ("llegal character", "a control character stands in the text", "take it out"),
    ("invalid character", "a control character stands in the text", "take it out"),
    ("Unescaped", "a backslash in the text is not followed by a known letter", _ESCAPES),
    ("hex value", "a backslash in the text is not followed by a known letter", _ESCAPES),
    ("Escaped character", "a backslash in the text names no character", _ESCAPES),
    ("date", "this is not a valid date or time", "write a date as 2027-03-31"),
    # the scanner has seen to commas and brackets, so what is left over belongs to a value
    ("Expected newline", "this value cannot be read", QUOTES),
    ("Unclosed", "this value cannot be read", QUOTES),
    ("Invalid value", "this value cannot be read", QUOTES),
)


@dataclass(frozen=True, slots=True)
class TomlText:
    """A parsed file: ``data`` with numbers as int and Decimal, and where each value stood."""

    file: str
    data: dict[str, Any]
    lines: Mapping[Path, int] = field(repr=False)

    def line_of(self, path: Path) -> int | None:
        """The line, from 1, of the longest known beginning of ``path``; None where none is known."""
        for length in range(len(path), 0, -1):
            line = self.lines.get(path[:length])
            if line is not None:
                return line
        return None


def parse_toml(data: bytes, file: str) -> TomlText:
    """Read a TOML file's bytes; ``file`` is the name used in problems.

    A leading byte order mark is passed over: some editors put it there, and it carries nothing.

    Raises:
        BadInputError: with the one problem that stopped the reading, or every date and time
            without an offset.
    """
    text = _decoded(data, file)
    lines = Scanner(text, file).scan()
    try:
        parsed = tomllib.loads(text, parse_float=_exact)
    except tomllib.TOMLDecodeError as error:
        raise refusal(file, *_plain_words(str(error), text)) from None
    except (ValueError, RecursionError):
        raise refusal(file, None, "this cannot be read as TOML", "simplify the file") from None
    found = TomlText(file, parsed, lines)
    problems = [
        Problem(
            what="a time of day without its offset from UTC",
            remedy="write it in full, such as 2026-05-01T09:30:00Z",
            file=file,
            line=found.line_of(path),
            field=field_name(path),
        )
        for path in _naive_times(parsed, ())
    ]
    if problems:
        first = problems[0]
        raise BadInputError(first.what, where=first.where, remedy=first.remedy, problems=problems)
    return found


def field_name(path: Path) -> str:
    """``("points", 12, "limit")`` as ``points[12].limit``; doubtful characters made visible."""
    name = ""
    for part in path:
        if isinstance(part, int):
            name += f"[{part}]"
        else:
            shown = visible(part) if len(part) <= MAX_TOKEN else visible(part[:MAX_TOKEN]) + "…"
            shown = shown if _BARE_KEY.fullmatch(shown) else f'"{shown}"'
            name += f".{shown}" if name else shown
    return name


def _decoded(data: bytes, file: str) -> str:
    if len(data) > MAX_BYTES:
        raise refusal(file, None, f"larger than {MAX_BYTES} bytes", "is it the right file?")
    data = data.removeprefix(_BOM)
    try:
        return data.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise refusal(file, line, "this is not UTF-8 text", "save the file as UTF-8") from None


def _exact(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:  # an exponent beyond all bounds
        return Decimal("Infinity")


def _naive_times(value: object, path: Path) -> Iterator[Path]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _naive_times(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _naive_times(inner, (*path, index))
    elif isinstance(value, time) or (isinstance(value, datetime) and value.tzinfo is None):
        yield path


def _plain_words(message: str, text: str) -> tuple[int, str, str]:
    found = _AT_LINE.search(message)
    line = int(found[1]) if found else text.count("\n") + 1
    for piece, what, remedy in _IN_PLAIN_WORDS:
        if piece in message:
            return line, what, remedy
    return line, "this is not valid TOML", "compare the line with its neighbours"
