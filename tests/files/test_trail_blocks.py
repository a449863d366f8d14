"""The short way through a trail gives what the careful one gives, finding by finding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import KINDS, Answer, AttemptFailed, Briefed, Event, Paused, Started
from fieldtui.files.trail import blocks as trail_blocks
from fieldtui.files.trail import row_decoders
from fieldtui.files.trail import scan as trail_scan
from fieldtui.files.trail.blocks import blocks
from fieldtui.files.trail.row_decoders import decode_columns
from fieldtui.files.trail.rows import (
    COLUMNS,
    FORMS,
    HEADER,
    MAX_LINE,
    RowError,
    format_line,
    format_row,
    parse_row,
    split_line,
)
from fieldtui.files.trail.scan import Scan, scan_trail
from tests.files.test_trail_rows import events, of_kind

FIRST = "0123456789abcdef" * 2
DIGEST = "d" * 64
START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)

Row = list[str]


def rows_of(told: Sequence[Event]) -> list[Row]:
    """The cells of a trail that tells these events after its start, a second apart."""
    whole = [Started(time=START, by="rec", ref=DIGEST), *told]
    timed = [replace(each, time=START + timedelta(seconds=n)) for n, each in enumerate(whole)]
    return [split_line(format_row(n, each, FIRST)[0][:-1].decode()) for n, each in enumerate(timed, 1)]


def columns_of(rows: Sequence[Row]) -> list[tuple[str, ...]]:
    return [*zip(*rows, strict=True)]


def sealed(rows: Sequence[Row]) -> list[bytes]:
    """The lines of a trail whose chain is right, whatever its cells say."""
    lines, link = [HEADER], FIRST
    for cells in rows:
        link = chain.link(link, cells[:-1])
        lines.append(format_line([*cells[:-1], link]))
    return lines


def scan(data: bytes) -> Scan:
    return scan_trail(data, first_link=FIRST, digest=DIGEST)


def careful(data: bytes) -> Scan:
    """The scan that looks at every line by itself."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(trail_scan, "read_block", lambda *_: None)
        return scan(data)


def assert_alike(data: bytes) -> Scan:
    found = scan(data)
    assert found == careful(data)
    assert [type(each) for each in found.events] == [type(each) for each in careful(data).events]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(trail_blocks, "BLOCK", 300)  # a few lines at a time
        assert scan(data) == found
    return found


cells = st.one_of(
    st.sampled_from(
        [
            *("", "0", "00", "1", "01", "-1", "+1", " 1", "1 ", "1_0", "1.0", "999999999", "1000000000"),
            *("\u0661", "\u00b2", "1.50", ".5", "1.", "mohm", "Mohm", "pass", "fail", "reading", "teleport"),
            *("=1+1", "'=1+1", "''", "'", "-", "'-", "\uff1d1", "'\uff1d1"),
            *('say "so"', "a,b", '"', "\u00b5\u03a9"),
            *("2026-05-04T08:30:00.000Z", "2026-05-04T08:30:99.000Z", "2026-02-30T08:30:00.000Z"),
            *("2026-05-04T08:30:00.000+00:00", "2026-W19-1T08:30:00.000Z", "2026-05-04 08:30:00.000Z"),
            *("\x1f", "\r", "\0", "a\x0bb", "\u202e", "x" * 500, "x" * 501, "x" * 502, "\u0301" * 5),
        ]
    ),
    st.text(st.characters(codec="utf-8", exclude_characters="\n"), max_size=8),
)
WAYS = ["put in", "take out", "twice", "gone", "swapped", "quoted", "crlf", "cut"]
told = st.lists(events, max_size=12)


@given(told)
def test_good_rows_are_read_the_short_way(told: list[Event]) -> None:
    data = b"".join(sealed(rows_of(told)))
    assert assert_alike(data).intact
    rest = data[sum(map(len, sealed(rows_of(told))[:2])) :]
    if rest:  # it was not the careful way that had to read them
        start = sealed(rows_of(told))[1]
        last = split_line(start[:-1].decode())
        assert trail_blocks.read_block(rest, 2, last[-1], last[1]) is not None


@given(told, st.data())
@settings(max_examples=300)
def test_a_row_wrong_in_itself_is_found_the_same(told: list[Event], data: st.DataObject) -> None:
    """Its chain is right: only what the cells say gives it away."""
    rows = rows_of(told)
    for _ in range(data.draw(st.integers(1, 2))):
        row = data.draw(st.integers(0, len(rows) - 1))
        rows[row][data.draw(st.integers(0, len(COLUMNS) - 2))] = data.draw(cells)
    assert_alike(b"".join(sealed(rows)))


@given(told, st.data())
@settings(max_examples=300)
def test_a_line_changed_is_found_the_same(told: list[Event], data: st.DataObject) -> None:
    lines = sealed(rows_of(told))
    place = data.draw(st.integers(0, len(lines) - 1))
    other = data.draw(st.integers(0, len(lines) - 1))
    line = lines[place]
    at = data.draw(st.integers(0, len(line)))
    match data.draw(st.sampled_from(WAYS)):
        case "put in":
            lines[place] = line[:at] + data.draw(st.binary(min_size=1, max_size=3)) + line[at:]
        case "take out":
            lines[place] = line[:at] + line[at + 1 :]
        case "twice":
            lines.insert(other, line)
        case "gone":
            del lines[place]
        case "swapped":
            lines[place], lines[other] = lines[other], line
        case "quoted":
            lines[place] = b",".join(b'"' + cell + b'"' for cell in line[:-1].split(b",")) + b"\n"
        case "crlf":
            lines[place] = line[:-1] + b"\r\n"
        case "cut":
            lines[place:] = [line[:at]]
    assert_alike(b"".join(lines))


@given(st.binary(max_size=200))
def test_any_bytes_behind_good_rows_are_found_the_same(data: bytes) -> None:
    assert_alike(b"".join(sealed(rows_of([]))) + data)


def test_one_line_in_another_form_does_not_stop_the_reading() -> None:
    rows = rows_of([Paused(time=START, by="rec", note="a, b") for _ in range(2000)])
    lines = sealed(rows)
    lines[1000] = lines[1000].replace(b",pause,", b',"pause",')
    found = assert_alike(b"".join(lines))
    assert [problem.line for problem in found.problems] == [1001]
    assert found.rows == 2001


# --- the decoders -------------------------------------------------------------------------------


@pytest.mark.parametrize("build", KINDS.values(), ids=KINDS.keys())
@settings(max_examples=25)
@given(st.data())
def test_columns_are_decoded_as_rows_are(build: type[Event], data: st.DataObject) -> None:
    """Every kind, with one cell of one row anything at all: the same events, or a refusal for a refusal."""
    rows = rows_of(data.draw(st.lists(of_kind(build), min_size=1, max_size=4)))[1:]
    row = data.draw(st.integers(0, len(rows) - 1))
    column = data.draw(st.integers(2, len(COLUMNS) - 2))  # the time is looked at before
    if data.draw(st.booleans()):
        rows[row][column] = data.draw(cells.filter(lambda cell: cell.isprintable() and len(cell) <= 500))
    try:
        one_by_one: list[Event] | None = [parse_row(each, is_plain=True) for each in rows]
    except RowError:
        one_by_one = None
    try:
        at_once: list[Event] | None = decode_columns(columns_of(rows))
    except (ValueError, KeyError):
        at_once = None
    assert at_once == one_by_one
    if at_once is not None and one_by_one is not None:
        for quick, usual in zip(at_once, one_by_one, strict=True):
            assert type(quick) is type(usual)
            digits = [getattr(getattr(each, "reading", None), "digits", None) for each in (quick, usual)]
            assert digits[0] == digits[1]


def test_every_kind_leaves_a_column_empty() -> None:
    """The decoders count on it."""
    assert all(form.unused for form in FORMS.values())


def test_kinds_mixed_come_back_in_their_order() -> None:
    value = parse_resistance("1.50", Unit.MOHM)
    told: list[Event] = [
        Paused(time=START, by="a"),
        Briefed(time=START, by="b", ref="x", verdict=Answer.GOOD, reading=value),
        Paused(time=START, by="c"),
    ]
    assert [each.by for each in decode_columns(columns_of(rows_of(told)))] == ["rec", "a", "b", "c"]


@given(
    st.lists(
        st.sampled_from(["", "0", "1", "2", "3", "9", "10", "01", "999999999", "1000000000"]), min_size=1
    )
)
def test_whole_numbers_in_a_row_and_all_alike_are_those_read_one_by_one(numbers: list[str]) -> None:
    assert_decoded_alike("number", numbers)


@pytest.mark.parametrize(
    "first", ["1", "9", "98", "0", "00", "01", "+1", " 1", "\u0661", "999999998", "999999999"]
)
def test_a_column_that_counts_on_is_read_as_its_cells_are(first: str) -> None:
    assert_decoded_alike("number", [first, *(str(int(first) + n) for n in range(1, 4))])


def test_one_cell_kept_of_many_leaves_the_others_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """More cells than are kept, and the first ones again."""
    monkeypatch.setattr(row_decoders, "_MOST", 3)
    row_decoders._decoder_of.cache_clear()
    assert_decoded_alike("reason", [f"why {n}" for n in (*range(8), *range(8))])


def assert_decoded_alike(column: str, cells: Sequence[str]) -> None:
    """Attempts that differ in one column, decoded together and one by one."""
    told = [AttemptFailed(time=START, by="a", point="P", reason="r", run=1, number=1)] * len(cells)
    rows = rows_of(told)[1:]
    for row, cell in zip(rows, cells, strict=True):
        row[COLUMNS.index(column)] = cell
    try:
        one_by_one: list[Event] | None = [parse_row(row, is_plain=True) for row in rows]
    except RowError:
        one_by_one = None
    try:
        at_once: list[Event] | None = decode_columns(columns_of(rows))
    except ValueError:
        at_once = None
    assert at_once == one_by_one


# --- blocks -------------------------------------------------------------------------------------


@given(
    st.lists(st.binary(max_size=60).map(lambda raw: raw.replace(b"\n", b"") + b"\n"), max_size=30),
    st.binary(max_size=40),
    st.integers(1, 200),
)
@example([], b"", 1)
def test_blocks_are_whole_lines_and_all_of_them(lines: list[bytes], rest: bytes, size: int) -> None:
    data = b"".join(lines) + rest
    pieces = [data[at : at + size] for at in range(0, len(data), size)]
    found = list(blocks(pieces))
    assert b"".join(found) == data
    assert all(block.endswith(b"\n") for block in found[:-1])
    assert all(block.count(b"\n") <= 1 for block in found[:2])


def test_a_line_that_never_ends_is_cut_one_byte_over() -> None:
    asked = 0

    def endless() -> Iterator[bytes]:
        nonlocal asked
        while True:
            asked += 1
            yield b"x" * 1000

    assert [*map(len, blocks(endless()))] == [MAX_LINE + 1]
    assert asked <= MAX_LINE // 1000 + 2


def test_a_long_line_between_others_reads_the_same() -> None:
    lines = sealed(rows_of([Paused(time=START, by="rec") for _ in range(5)]))
    for length in (MAX_LINE - 1, MAX_LINE, 3 * MAX_LINE):
        data = b"".join([*lines[:4], b"x" * length + b"\n", *lines[4:]])
        assert_alike(data)
        pieces = [data[at : at + 97] for at in range(0, len(data), 97)]
        assert scan_trail(pieces, first_link=FIRST, digest=DIGEST) == scan(data)


@pytest.mark.parametrize("row", range(2, 9))
def test_time_that_goes_back_is_found_wherever_a_block_begins(row: int) -> None:
    rows = rows_of([Paused(time=START, by="rec") for _ in range(8)])
    rows[row][1] = "2026-05-04T08:30:00.500Z"  # after the start, before the row above
    found = assert_alike(b"".join(sealed(rows)))
    assert [problem.what for problem in found.problems] == [
        f"Row {row + 1} is timed before the row above it."
    ]
