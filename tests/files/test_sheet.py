"""A paper sheet line by line: what each action wants, and every bad cell named with its line and column."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.voltage import VoltUnit
from fieldtui.files.sheet import ACTIONS, COLUMNS, MAX_BYTES, Sheet, SheetLine, parse_sheet

UNITS = "is not one of uohm, mohm, ohm, kohm, Mohm, or uV, mV, V where voltages are read"
HEADER = "action,point,record,value,unit,memory,reason,note,time"


def sheet_of(*lines: str, header: str = HEADER) -> Sheet:
    return parse_sheet("\n".join([header, *lines, ""]).encode(), "sheet.csv")


def told(sheet: Sheet) -> list[tuple[int | None, str, str]]:
    return [(problem.line, problem.field, problem.what) for problem in sheet.problems]


def test_a_whole_line() -> None:
    sheet = sheet_of('reading,SW-01,1,1.380,mohm,17,"twice, to be sure",quoted,2026-05-04T08:30:00Z')
    assert told(sheet) == []
    assert sheet.lines == [
        SheetLine(
            line=2,
            action="reading",
            point="SW-01",
            record=1,
            value="1.380",
            unit=Unit.MOHM,
            memory=17,
            reason="twice, to be sure",
            note="quoted",
            time=datetime(2026, 5, 4, 8, 30, tzinfo=UTC),
        )
    ]


@pytest.mark.parametrize(
    "line",
    ["reading,SW-01,,1.38", "skip,SW-01", "redo,SW-01,1", "void,,1", "attempt,SW-01", "number,,,,,12",
     "run,,,,,1", "note,,,,,,,rain", "paper,SW-01,,,,,D-7", "rework,SW-01,,,,,new lug",
     "waive,SW-01,,,,,chief,D-7"],
)  # fmt: skip
def test_every_action_with_no_more_than_it_needs(line: str) -> None:
    sheet = sheet_of(line)
    assert told(sheet) == []
    assert sheet.lines[0].action == line.split(",")[0]


def test_the_actions_and_columns_are_those_of_the_paper_form() -> None:
    assert ACTIONS == (
        "reading",
        "skip",
        "redo",
        "void",
        "attempt",
        "number",
        "run",
        "standard",
        "lead",
        "paper",
        "rework",
        "waive",
        "note",
    )
    assert ",".join(COLUMNS) == HEADER


@pytest.mark.parametrize(
    ("line", "column", "what"),
    [
        ("reading,SW-01,1,", "value", "a reading without a value"),
        ("skip,SW-01,,1.38", "value", "a value on a skip line"),
        ("number", "memory", "the last memory number is missing"),
        ("run", "memory", "the run's first memory number is missing"),
        ("void", "record", "a void of nothing"),
        ("note,SW-01", "note", "an empty note"),
        ("paper,,,,,,D-7", "point", "the failed point is missing"),
        ("paper,SW-01", "reason", "the reference of the paper is missing"),
        ("rework,,,,,,new lug", "point", "the reworked point is missing"),
        ("rework,SW-01", "reason", "what was done is missing"),
        ("waive,,,,,,chief,D-7", "point", "the point let go is missing"),
        ("waive,SW-01,,,,,,D-7", "reason", "who lets it go is missing"),
        ("waive,SW-01,,,,,chief", "note", "the paper that says so is missing"),
        ("raeding,SW-01,1,1.38", "action", "unknown action 'raeding'"),
        (",SW-01,1,1.38", "action", "no action"),
        ("reading,SW-01,x,1.38", "record", "'x' is not a whole number"),
        ("reading,SW-01,-1,1.38", "record", "'-1' is not a whole number"),
        ("reading,SW-01,1.0,1.38", "record", "'1.0' is not a whole number"),
        ("reading,SW-01,١,1.38", "record", r"'\u0661' is not a whole number"),
        ("reading,SW-01,1234567,1.38", "record", "'1234567' is not a whole number"),
        ("reading,SW-01,1,1.38,mohm,one", "memory", "'one' is not a whole number"),
        ("reading,SW-01,1,1.38,MOHM", "unit", f"unit 'MOHM' {UNITS}"),
        ("reading,SW-01,1,1.38,mohm,1,,,noon", "time", "'noon' is not a time"),
        ("reading,SW-01,1,1.38,mohm,1,,,2026-05-04T25:00Z", "time", "'2026-05-04T25:00Z' is not a time"),
        ("note,,,,,,,x,0001-01-01T00:00+23:59", "time", "'0001-01-01T00:00+23:59' is out of range"),
        ("skip,SW-01,,,,,pa\x1bint", "reason", r"character \u{1b} is not allowed"),
        ("skip,SW-01,,,,,pa\u202eint", "reason", r"character \u{202e} is not allowed"),
        ("skip,SW-01,,,,,pa\u200bint", "reason", r"character \u{200b} is not allowed"),
        ("skip,SW-01,,,,,pa\x00int", "reason", r"character \u{0} is not allowed"),
        (f"skip,SW-01,,,,,{'x' * 501}", "reason", "501 characters; at most 500 are allowed"),
        (f"skip,SW-01,,,,,a{chr(0x300) * 9}", "reason", "more than 4 combining marks on one character"),
        ("skip,SW-01,,,,,one,two,,three", "", "10 cells; the header has 9"),
        ('skip,SW-01,,,,,"open', "", "the quotes on this line do not match"),
        ('skip,SW-01,,,,,"shut" again', "", "the quotes on this line do not match"),
    ],
)  # fmt: skip
def test_a_bad_line_is_named_with_its_column(line: str, column: str, what: str) -> None:
    sheet = sheet_of("note,,,,,,,fine", line)
    assert told(sheet) == [(3, column, what)]
    assert sheet.problems[0].remedy
    assert sheet.problems[0].file == "sheet.csv"


def test_every_problem_of_a_sheet_is_told_at_once() -> None:
    sheet = sheet_of(
        "reading,SW-01,x,,MOHM,y",
        "skip,SW-02",
        "jump,SW-03",
        'skip,SW-04,,,,,"open',
        "note,,,,,,,one,two,three",
        "void",
    )
    assert [(line, column) for line, column, _ in told(sheet)] == [
        (2, "record"), (2, "unit"), (2, "memory"), (2, "value"), (4, "action"), (5, ""), (6, ""),
        (7, "record"),
    ]  # fmt: skip


def test_a_near_word_is_offered() -> None:
    assert sheet_of("raeding,SW-01,1,1.38").problems[0].remedy == "did you mean reading?"
    assert sheet_of(header="action,point,recrod").problems[0].remedy == "did you mean record?"
    assert sheet_of(header="action,what").problems[0].remedy == f"the columns are {HEADER}"


@pytest.mark.parametrize(
    ("header", "problems"),
    [
        ("point,value", [(1, "action", "the column action is missing")]),
        ("action,point,point", [(1, "point", "this column stands twice")]),
        ('action,"point', [(1, "", "the quotes on this line do not match")]),
        ("action,\x1b[2J", [(1, "", r"unknown column '\x1b[2j'")]),
        (
            "reading,SW-01,1,1.38",
            [
                *((1, "", f"unknown column '{cell}'") for cell in ("reading", "sw-01", "1", "1.38")),
                (1, "action", "the column action is missing"),
            ],
        ),
    ],
)  # fmt: skip
def test_a_header_that_cannot_be_used(header: str, problems: list[tuple[int, str, str]]) -> None:
    assert told(sheet_of("skip,SW-01", header=header)) == problems


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "the file is empty"),
        (b"\n\n", "the file is empty"),
        (b"\xef\xbb\xbf", "the file is empty"),
        (HEADER.encode(), "the sheet has no lines below its header"),
        (HEADER.encode() + b"\n,,,\n\n", "the sheet has no lines below its header"),
        (b"x" * (MAX_BYTES + 1), "the file is larger than 16777216 bytes"),
    ],
)
def test_nothing_on_the_sheet(data: bytes, what: str) -> None:
    assert [problem.what for problem in parse_sheet(data, "sheet.csv").problems] == [what]


def test_a_line_that_is_no_text_is_named() -> None:
    data = (HEADER + "\nskip,SW-01\n").encode() + b"skip,SW-\xe9\n"
    assert told(parse_sheet(data, "sheet.csv")) == [(3, "", "this line is not UTF-8 text")]
    assert told(parse_sheet("skip".encode("utf-16"), "sheet.csv")) == [(1, "", "this line is not UTF-8 text")]


# --- as spreadsheets write it ------------------------------------------------------------------------

LINES = [HEADER, 'reading,SW-01,1,1.38,mohm,,"a, b",,', "skip,SW-02,,,,,wet,,"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_byte_order_marks_line_ends_and_other_delimiters(end: str, mark: str, delimiter: str) -> None:
    lines = [line.replace(",", delimiter).replace(f"a{delimiter} b", "a, b") for line in LINES]
    sheet = parse_sheet((mark + end.join(lines) + end).encode(), "sheet.csv")
    assert told(sheet) == []
    assert [(line.line, line.action, line.point, line.reason) for line in sheet.lines] == [
        (2, "reading", "SW-01", "a, b"), (3, "skip", "SW-02", "wet"),
    ]  # fmt: skip


def test_a_cell_with_a_line_break_is_told_and_spoils_no_other_line() -> None:
    sheet = sheet_of('skip,SW-01,,,,,"two', 'lines"', "skip,SW-02")
    assert [line for line, _, _ in told(sheet)] == [2, 3]
    assert [line.point for line in sheet.lines] == ["SW-02"]


def test_separators_that_are_no_line_ends_stay_inside_their_cell() -> None:
    assert told(sheet_of("skip,SW-01,,,,,a\u2028b", "skip,SW-02")) == [
        (2, "reason", r"character \u{2028} is not allowed")
    ]


def test_a_line_without_end_is_told_by_its_length() -> None:
    assert told(sheet_of("skip,SW-01,,,,," + "x" * 70_000)) == [
        (2, "", "this line is longer than 65536 characters")
    ]


def test_blank_lines_are_passed_over_and_counted() -> None:
    data = f"\n\n{HEADER.replace(',', ';')}\n\nskip;SW-01\n;;;\nskip;SW-02\n"
    assert [line.line for line in parse_sheet(data.encode(), "sheet.csv").lines] == [5, 7]


def test_columns_may_stand_in_any_order_and_be_left_out() -> None:
    sheet = sheet_of("1.38,SW-01,reading", header=" Value ,POINT,Action")
    assert told(sheet) == []
    assert (sheet.lines[0].action, sheet.lines[0].point, sheet.lines[0].value) == ("reading", "SW-01", "1.38")


def test_words_are_taken_in_any_case_and_units_by_symbol() -> None:
    sheet = sheet_of(
        "READING,SW-01,1,1.38,mΩ", "Reading,SW-02,2,5,MΩ", "reading,SW-03,3,5,µΩ", "reading,A,4,5,\u2126"
    )
    assert told(sheet) == []
    assert [line.unit for line in sheet.lines] == [Unit.MOHM, Unit.MEGOHM, Unit.UOHM, Unit.OHM]


@pytest.mark.parametrize(
    ("cell", "volt_unit", "current"),
    [("mV", VoltUnit.MILLIVOLT, None), ("±mV", VoltUnit.MILLIVOLT, None), ("µV", VoltUnit.MICROVOLT, None),
     ("V", VoltUnit.VOLT, None), ("mV/100mA", VoltUnit.MILLIVOLT, Decimal(100))],
)  # fmt: skip
def test_a_unit_of_voltage_is_one_too(cell: str, volt_unit: VoltUnit, current: Decimal | None) -> None:
    sheet = sheet_of(f"reading,SW-01,1,-0.52,{cell}")
    assert told(sheet) == []
    (line,) = sheet.lines
    assert (line.value, line.unit, line.volt_unit, line.current_ma) == ("-0.52", None, volt_unit, current)


@pytest.mark.parametrize("cell", ["MV", "mVolt", "mV/100", "mV/mA", f"mV/{'1' * 30}mA", "±", "±mohm"])
def test_what_is_no_unit_is_told_with_those_that_are(cell: str) -> None:
    ((_, column, what),) = told(sheet_of(f"reading,SW-01,1,-0.52,{cell}"))
    assert column == "unit"
    assert what.endswith("uohm, mohm, ohm, kohm, Mohm, or uV, mV, V where voltages are read")


def test_a_decimal_comma_is_a_point_where_the_comma_is_not_between_cells() -> None:
    for delimiter in ";\t":
        lines = [HEADER.replace(",", delimiter), delimiter.join(("reading", "SW-01", "1", "1,380"))]
        (line,) = parse_sheet("\n".join(lines).encode(), "sheet.csv").lines
        assert line.value == "1.380"
    (line,) = sheet_of('reading,SW-01,1,"1,380"').lines
    assert line.value == "1,380"  # and refused as a value


def test_texts_are_stored_composed_and_trimmed() -> None:
    (line,) = sheet_of("skip, SW-01 ,,,,,  cafe\u0301  ").lines
    assert (line.point, line.reason) == ("SW-01", "café")


def test_times_are_taken_to_utc_and_to_the_millisecond() -> None:
    sheet = sheet_of("skip,A,,,,,,,2026-05-04T10:30:00.123456+02:00", "skip,A,,,,,,,2026-05-04 08:31")
    assert [line.time for line in sheet.lines] == [
        datetime(2026, 5, 4, 8, 30, 0, 123000, tzinfo=UTC), datetime(2026, 5, 4, 8, 31, tzinfo=UTC),
    ]  # fmt: skip


@given(st.binary(max_size=200))
def test_any_bytes_are_a_sheet_or_told_as_problems(data: bytes) -> None:
    sheet = parse_sheet(data, "sheet.csv")
    assert sheet.lines or sheet.problems


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=30), max_size=5))
def test_any_lines_below_a_header_are_understood_or_told(lines: list[str]) -> None:
    sheet = sheet_of(*lines)
    assert sheet.lines or sheet.problems
    assert all(problem.line is not None and problem.remedy for problem in sheet.problems)
