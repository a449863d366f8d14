from __future__ import annotations

import csv
import io
import re
import types
from collections.abc import Sequence
from dataclasses import fields
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from enum import Enum
from typing import Any, get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.voltage import VoltUnit, voltage_reading
from fieldtui.core.text import is_clean, refusal
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import (
    KINDS,
    Amended,
    Event,
    Noted,
    Opened,
    PointInserted,
    ReadingTaken,
    Skipped,
)
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import BadInputError
from fieldtui.files.trail.rows import (
    COLUMNS,
    HEADER,
    MAX_LINE,
    RowError,
    format_line,
    format_row,
    parse_row,
    parse_time,
    split_line,
)

LINK = "0" * 32
NOW = datetime(2026, 5, 4, 8, 30, 1, 250_000, tzinfo=UTC)

# --- every kind of event, from the dataclasses alone -------------------------------------------

texts = st.one_of(
    st.sampled_from(
        ["", "=1+1", "-1", "+x", "@sum", "'", "''", "'=x", 'say "so"', "a,b", " edge ", "µΩ", "＝1"]
    ),
    st.text(st.characters(codec="utf-8"), max_size=40),
).filter(lambda text: refusal(text) is None)
times = st.integers(-30_000_000_000_000, 250_000_000_000_000).map(
    lambda milliseconds: datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=milliseconds)
)
digits = st.from_regex(r"(0|[1-9][0-9]{0,8})(\.[0-9]{1,9})?", fullmatch=True)
readings = st.one_of(
    st.builds(Resistance, digits.map(Decimal), st.sampled_from(Unit)),
    st.builds(
        voltage_reading,
        st.builds(lambda sign, text: Decimal(sign + text), st.sampled_from(["", "-"]), digits),
        st.sampled_from(VoltUnit),
        digits.map(Decimal).filter(bool),
    ),
)


def of_type(hint: Any) -> st.SearchStrategy[Any]:
    if isinstance(hint, types.UnionType):
        inner = next(part for part in get_args(hint) if part is not type(None))
        return st.none() | of_type(inner).filter(lambda value: value != "")
    if isinstance(hint, type) and issubclass(hint, Enum):
        return st.sampled_from(hint)
    return {
        datetime: times, str: texts, int: st.integers(0, 999_999_999), Resistance: readings,
    }[hint]  # fmt: skip


def of_kind(build: type[Event]) -> st.SearchStrategy[Event]:
    hints = get_type_hints(build)
    names = [field.name for field in fields(build)]
    if "definition" in names:
        names.remove("note")  # both stand in one column
    return st.builds(build, **{name: of_type(hints[name]) for name in names})


events = st.sampled_from(list(KINDS.values())).flatmap(of_kind)


@given(events, st.integers(1, 999_999_999))
def test_every_event_comes_back_as_it_went(event: Event, row: int) -> None:
    line, link = format_row(row, event, LINK)
    assert line.endswith(b"\n")
    assert line.count(b"\n") == 1
    assert b"\r" not in line
    assert len(line) <= MAX_LINE
    cells = split_line(line[:-1].decode())
    assert cells[0] == str(row)
    assert cells[-1] == link == chain.link(LINK, cells[:-1])
    assert parse_row(cells) == event
    assert format_line(cells) == line
    back = parse_row(cells)
    reading = getattr(event, "reading", None)
    if reading is not None:
        assert back.reading.digits == reading.digits  # type: ignore[attr-defined]


@given(events)
def test_a_spreadsheet_reads_the_same_cells_and_would_run_none(event: Event) -> None:
    """Python's own CSV reader stands in for the spreadsheet (RFC 4180); CWE-1236 for formulas."""
    line, _ = format_row(1, event, LINK)
    (cells,) = csv.reader(io.StringIO(line.decode(), newline=""), strict=True)
    assert cells == split_line(line[:-1].decode())
    # A voltage's minus makes a number of its cell and no formula.
    texts = [cell for cell in cells if not re.fullmatch(r"-[0-9]{1,9}(\.[0-9]{1,9})?", cell, re.ASCII)]
    assert not any(cell.startswith(tuple("=+-@＝＋－＠\t\r")) for cell in texts)


@given(events, st.integers(0, len(COLUMNS) - 1), st.text(max_size=8))
def test_any_cell_changed_is_an_event_or_a_row_error(event: Event, column: int, text: str) -> None:
    cells = split_line(format_row(1, event, LINK)[0][:-1].decode())
    cells[column] = text
    try:
        found = parse_row(cells)
    except RowError as error:
        assert error.what
        assert is_clean(repr(error.what)) or column != COLUMNS.index("kind")
    else:
        assert isinstance(found, Event)


def test_the_schema_is_the_dataclasses() -> None:
    for build in KINDS.values():
        for field in fields(build):
            name = {"reading": "value", "definition": "note"}.get(field.name, field.name)
            assert name in COLUMNS, (build, field.name)


def test_the_header_names_the_columns() -> None:
    expected = b"row,time,kind,record,point,run,number,value,unit,verdict,ref,reason,note,by,chain\n"
    assert expected == HEADER


def test_a_row_in_full() -> None:
    event = ReadingTaken(
        time=NOW, by="rec", record=7, point="SW-07", reading=Resistance(Decimal("1.50"), Unit.MOHM),
        verdict=Verdict.PASS, run=1, number=12, reason="-", note='cap "C4", off',
    )  # fmt: skip
    line, link = format_row(8, event, LINK)
    start = '8,2026-05-04T08:30:01.250Z,reading,7,SW-07,1,12,1.50,mohm,pass,,\'-,"cap ""C4"", off",rec,'
    assert line == f"{start}{link}\n".encode()


def test_a_time_of_another_zone_is_written_in_utc_and_cut_to_the_millisecond() -> None:
    east = datetime(2026, 5, 4, 10, 30, 1, 250_999, tzinfo=timezone(timedelta(hours=2)))
    line, _ = format_row(1, Opened(time=east, by="rec"), LINK)
    assert line.startswith(b"1,2026-05-04T08:30:01.250Z,open,")


# --- what may not be written ---------------------------------------------------------------------


def refused(event: Event) -> BadInputError:
    with pytest.raises(BadInputError) as caught:
        format_row(1, event, LINK)
    assert caught.value.problems
    assert caught.value.remedy
    return caught.value


@pytest.mark.parametrize("text", ["two\nlines", "two\rlines", "\x1b[31m", "a\u202eb", "\ud800", "x" * 501])
def test_text_outside_the_policy_is_refused(text: str) -> None:
    assert refused(Noted(time=NOW, by="rec", note=text)).where == "note"


def test_all_faults_are_named_at_once() -> None:
    error = refused(Skipped(time=NOW, by="\0", point="\0", reason="\n"))
    assert [problem.field for problem in error.problems] == ["by", "point", "reason"]


@pytest.mark.parametrize("number", [-1, 1_000_000_000])
def test_a_number_out_of_range_is_refused(number: int) -> None:
    assert refused(Amended(time=NOW, by="rec", ref=number, reason="x")).where == "ref"


@pytest.mark.parametrize("value", ["-1", "1234567890", "0.1234567890", "NaN", "Infinity", "1E+20"])
def test_a_value_out_of_form_is_refused(value: str) -> None:
    event = Amended(time=NOW, by="rec", ref=1, reason="x", reading=Resistance(Decimal(value), Unit.OHM))
    assert refused(event).where == "value"


def test_a_time_without_a_zone_is_refused() -> None:
    assert refused(Opened(time=NOW.replace(tzinfo=None), by="rec")).where == "time"


def test_an_optional_text_is_left_out_or_said() -> None:
    assert refused(Amended(time=NOW, by="rec", ref=1, reason="x", point="")).where == "point"


def test_a_definition_leaves_no_room_for_a_note() -> None:
    event = PointInserted(time=NOW, by="r", point="X1", ref="", reason="", definition="d", note="n")
    assert refused(event).where == "note"


def test_a_row_of_more_than_four_kibibytes_is_refused() -> None:
    long = "\U0001f6e9" * 500
    assert "4096" in refused(Skipped(time=NOW, by="rec", point=long, reason=long, note=long)).what


# --- what may not be read ------------------------------------------------------------------------


def cells_of(**changes: str) -> Sequence[str]:
    event = ReadingTaken(
        time=NOW,
        by="rec",
        record=1,
        point="P",
        reading=Resistance(Decimal("1.5"), Unit.OHM),
        verdict=Verdict.PASS,
    )
    cells = split_line(format_row(1, event, LINK)[0][:-1].decode())
    for name, cell in changes.items():
        cells[COLUMNS.index(name)] = cell
    return cells


@pytest.mark.parametrize(
    ("column", "cell", "words"),
    [
        ("kind", "teleport", "newer program"),
        ("kind", "", "newer program"),
        ("time", "2026-05-04 08:30:01", "is not a time"),
        ("time", "2026-05-04T08:30:01.250+00:00", "is not a time"),
        ("time", "２026-05-04T08:30:01.250Z", "is not a time"),
        ("time", "2026-02-30T08:30:01.250Z", "day and hour"),
        ("record", "", "is not a whole number"),
        ("record", "01", "is not a whole number"),
        ("record", "+1", "is not a whole number"),
        ("record", "1_0", "is not a whole number"),
        ("record", "１", "is not a whole number"),
        ("record", "²", "is not a whole number"),
        ("record", "1234567890", "is not a whole number"),
        ("value", "", "no value"),
        ("value", "1,5", "use a point"),
        ("value", "１.5", "not a value"),
        ("value", "1e3", "not a value"),
        ("value", ".5", "nought"),
        ("unit", "Ohm", "is not one of"),
        ("unit", "", "is not one of"),
        ("verdict", "maybe", "is not one of pass, conditional pass"),
        ("ref", "3", "nothing in this column"),
        ("note", "=1+1", "starts like a formula"),
        ("note", "'abc", "starts like a formula"),
        ("note", "\x1b]52;", "is not allowed"),
        ("by", "x" * 502, "at most"),
    ],
)
def test_a_cell_out_of_form_is_named(column: str, cell: str, words: str) -> None:
    with pytest.raises(RowError, match=words) as caught:
        parse_row(cells_of(**{column: cell}))
    assert caught.value.column == column


def test_what_a_kind_may_leave_out_may_be_empty() -> None:
    event = parse_row(cells_of(run="", number=""))
    assert isinstance(event, ReadingTaken)
    assert (event.run, event.number) == (None, None)


def test_half_a_reading_is_no_reading() -> None:
    cells = split_line(format_row(1, Amended(time=NOW, by="r", ref=1, reason="x"), LINK)[0][:-1].decode())
    cells[COLUMNS.index("unit")] = "ohm"
    with pytest.raises(RowError) as caught:
        parse_row(cells)
    assert caught.value.column == "value"


@pytest.mark.parametrize("line", ['a,"b', 'a,"b"c', '"'])
def test_quotes_out_of_order_are_an_error(line: str) -> None:
    with pytest.raises(RowError, match="quotation mark"):
        split_line(line)


def test_a_line_end_inside_a_line_is_an_error() -> None:
    with pytest.raises(RowError):
        split_line('a\n"b"')


def test_a_line_may_be_parted_by_another_sign() -> None:
    assert split_line('a;"b;c"', ";") == ["a", "b;c"]


def test_times_are_read_as_utc() -> None:
    assert parse_time("2026-05-04T08:30:01.250Z") == NOW
