"""TOML is bounded before it is parsed, and every value's line is known."""

from __future__ import annotations

import tomllib
from datetime import UTC
from decimal import Decimal
from typing import Any

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.errors import BadInputError
from fieldtui.files.toml.scan import MAX_DEPTH, MAX_VALUES
from fieldtui.files.toml.text import MAX_BYTES, field_name, parse_toml

TRICKY = '''# [[points]]
title = "a # b" # not = a [key]
"odd = key".'[x]' = 1

[[points]]
id = """
[[points]]
id = 9 \\""" ""five"""""
list = [
  1, # ]
  { deep = 'c:\\', last.one = 2 },

  "x]",
]
[points.limit]
max = 2.50
[[points]]
[[points.marks]]
text = \'\'\'
'' [[points]]\'\'\'
[[points.marks]]
"\\u0061bc" = 2026-05-01 09:30:00Z
'''


def refusal(data: bytes) -> BadInputError:
    with pytest.raises(BadInputError) as caught:
        parse_toml(data, "route.toml")
    return caught.value


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("odd = key", "[x]"), 3),
        (("points", 0), 5),
        (("points", 0, "id"), 6),
        (("points", 0, "list"), 9),
        (("points", 0, "list", 0), 10),
        (("points", 0, "list", 1, "deep"), 11),
        (("points", 0, "list", 1, "last", "one"), 11),
        (("points", 0, "list", 2), 13),
        (("points", 0, "limit", "max"), 16),
        (("points", 0, "limit", "cmp"), 15),
        (("points", 0, "unknown", "deeper"), 5),
        (("points", 1), 17),
        (("points", 1, "marks", 0, "text"), 19),
        (("points", 1, "marks", 1, "abc"), 22),
        (("nowhere",), None),
        ((), None),
    ],
)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_line_of_the_longest_known_prefix(
    path: tuple[str | int, ...], line: int | None, line_end: str
) -> None:
    text = parse_toml(TRICKY.replace("\n", line_end).encode(), "route.toml")
    assert text.line_of(path) == line


def test_numbers_keep_their_digits() -> None:
    data = parse_toml(b"a = 2.50\nb = 3\nc = 0.000100", "f").data
    assert [str(value) for value in data.values()] == ["2.50", "3", "0.000100"]
    assert isinstance(data["a"], Decimal)


def test_a_byte_order_mark_is_passed_over_and_moves_no_line() -> None:
    text = parse_toml(b"\xef\xbb\xbfa = 1\nb = 2", "f")
    assert text.data == {"a": 1, "b": 2}
    assert text.line_of(("b",)) == 2


@pytest.mark.parametrize(
    ("data", "line", "what"),
    [
        (b"a = 1\nb = \xff", 2, "not UTF-8"),
        ("a = 1".encode("utf-16"), 1, "not UTF-8"),
        (b"a = 1\na = 2", 2, "second time"),
        (b"[a]\n[b]\n[a]", 3, "second time"),
        (b"a = {b = 1}\na.c = 2", 2, "complete"),
        (b"\na = b", 2, "cannot be read"),
        (b"a = .5", 1, "cannot be read"),
        (b"a = 1.", 1, "cannot be read"),
        (b"a = [1.]", 1, "cannot be read"),
        (b"a = 2027-13-01", 1, "cannot be read"),
        (b"a = 2027-02-30", 1, "valid date"),
        (b"a = 1 2", 1, "more text"),
        (b"a", 1, "without ="),
        (b"a =\nb = 1", 1, "missing"),
        (b"\n= 1", 2, "key was expected"),
        (b"[a\n", 1, "closing bracket"),
        (b'a = "x\ny"', 1, "closing quote"),
        (b'\na = """x\n\n', 2, "closing quotes"),
        (b"a = [1,\n2\n3]", 3, "closing bracket"),
        (b"a = {b = 1", 1, "closing brace"),
        (b'a = "\\q"', 1, "backslash"),
        (b'a = "\x01"', 1, "control character"),
        (b"a = " + b"1" * 5000, 1, "more than 64 characters"),
        (b"\n" + b".".join([b"a"] * 20_000) + b" = 1", 2, f"more than {MAX_DEPTH} deep"),
        (b"[" + b".".join([b"a"] * 20_000) + b"]", 1, f"more than {MAX_DEPTH} deep"),
        (b"a = " + b"[" * 100_000, 1, f"more than {MAX_DEPTH} deep"),
        (b"a = " + b"{a = " * 100_000, 1, f"more than {MAX_DEPTH} deep"),
        (b"a = [" + b"1," * (MAX_VALUES + 1) + b"]", 1, f"more than {MAX_VALUES} values"),
        (b"#" * (MAX_BYTES + 1), None, "larger than"),
    ],
)
def test_a_refusal_says_what_and_where_in_plain_words(data: bytes, line: int | None, what: str) -> None:
    error = refusal(data)
    (problem,) = error.problems
    assert (problem.file, problem.line) == ("route.toml", line)
    assert what in problem.what
    assert problem.remedy
    assert "column" not in problem.what  # no wording of the parser's


def test_every_time_without_an_offset_is_named() -> None:
    error = refusal(b"a = 2026-05-01T09:30:00\n[b]\nc = [2026-05-01T09:30:00Z, 09:30:00]\nd = 2026-05-01")
    assert [(problem.line, problem.field) for problem in error.problems] == [(1, "a"), (3, "b.c[1]")]


def test_depth_just_allowed() -> None:
    text = parse_toml(b"a = " + b"[" * (MAX_DEPTH - 1) + b"]" * (MAX_DEPTH - 1), "f")
    assert len(text.data) == 1
    assert "deep" in refusal(b"a = " + b"[" * MAX_DEPTH + b"1" + b"]" * MAX_DEPTH).what


def test_field_name_shows_doubtful_characters() -> None:
    assert field_name(("points", 12, "limit", "max")) == "points[12].limit.max"
    assert field_name(("a b", "c\x1b")) == '"a b"."c\\u{1b}"'
    assert len(field_name(("x" * 10_000,))) < 100


KEYS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(10**9), 10**9),
        st.decimals(-1000, 1000, places=3),
        st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
        st.datetimes(timezones=st.just(UTC)),
    ),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


def places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(value, dict):
        return [place for key, inner in value.items() for place in places(inner, (*path, key))]
    if isinstance(value, list):
        return [place for index, inner in enumerate(value) for place in places(inner, (*path, index))]
    return [path]


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=5), st.booleans())
def test_whatever_a_writer_writes_is_read_and_every_value_has_its_line(
    document: dict[str, Any], long_text: bool
) -> None:
    written = tomli_w.dumps(document, multiline_strings=long_text)
    text = parse_toml(written.encode(), "f")
    assert text.data == tomllib.loads(written, parse_float=Decimal)
    lines = written.replace("\r\n", "\n").split("\n")
    for place in places(text.data):
        assert place in text.lines
        line = lines[text.lines[place] - 1]
        last = place[-1]
        if isinstance(last, str) and last.isascii() and last.isalnum():
            assert last in line


@settings(max_examples=300, deadline=None)
@given(st.text(st.sampled_from("a=[]{}\"'\\\n #.,1\r-:TZ\x00é"), max_size=60))
def test_what_is_accepted_is_what_the_standard_parser_accepts(written: str) -> None:
    try:
        found = parse_toml(written.encode(), "f")
    except BadInputError as error:
        assert error.problems
        assert all(problem.what and problem.remedy for problem in error.problems)
    else:
        assert found.data == tomllib.loads(written, parse_float=Decimal)


@settings(max_examples=300, deadline=None)
@given(st.text(st.sampled_from("ab=[]{}\"'\\\n #.,1"), max_size=40))
def test_the_scanner_refuses_nothing_the_standard_parser_accepts(written: str) -> None:
    try:
        expected = tomllib.loads(written, parse_float=Decimal)
    except tomllib.TOMLDecodeError:
        return
    assert parse_toml(written.encode(), "f").data == expected
