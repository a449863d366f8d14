"""A spreadsheet's rows as points: every problem with its line and column, nothing made up that judges."""

from __future__ import annotations

import time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, Limit
from fieldtui.files.csv_lines import MAX_BYTES
from fieldtui.files.route.columns import match_columns, parse_map
from fieldtui.files.route.point_list import PointList, read_points
from fieldtui.files.route.point_table import MAX_ROWS, parse_point_table

CRITERIA = {
    "frame": Limit(maximum=Resistance(Decimal("2.5"), Unit.MOHM), upper=Comparator.LESS, criterion="frame")
}


def read(data: bytes | str, *said: str, unit: Unit | None = Unit.MOHM) -> PointList:
    table = parse_point_table(data if isinstance(data, bytes) else data.encode(), "points.csv")
    mapped, problems = parse_map(said, table)
    assert not problems
    return read_points(table, match_columns(table, mapped, CRITERIA), unit, CRITERIA)


def told(found: PointList) -> list[tuple[int | None, str, str]]:
    return [(problem.line, problem.field, problem.what) for problem in found.problems]


def test_a_whole_point() -> None:
    found = read(
        "id,section,section_title,title,where,a,b,unit,limit,retest,expected,awg,length_mm,repeats,rule,pair,x,y,z\n"
        "SW-1,SW,Wing,Jumper,zone 6,lug,spar,ohm,< 0.1,0.05,0.01 to 0.08,12,180,3,median,PW-1,1.5,-2,0\n"
    )
    assert told(found) == []
    assert found.sections == [{"id": "SW", "title": "Wing"}]
    assert found.points == [
        {
            "id": "SW-1", "section": "SW", "title": "Jumper", "unit": "ohm", "where": "zone 6", "a": "lug",
            "b": "spar", "pair": "PW-1", "limit": {"max": Decimal("0.1"), "cmp": "<"},
            "retest": {"max": Decimal("0.05"), "cmp": "<"},
            "expected": {"low": Decimal("0.01"), "high": Decimal("0.08")},
            "conductor": {"awg": "12", "length_mm": Decimal(180)}, "rule": "median", "repeats": 3,
            "at": [Decimal("1.5"), Decimal(-2), Decimal(0)],
        }
    ]  # fmt: skip


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbfno;what;max [mohm]\r\n7;Jumper;2,50\r\n",
        b"no\twhat\tmax [mohm]\r7\tJumper\t2,50\r",
        b"\r\n\r\nno,what,max [mohm]\r\n,,\r\n7,Jumper,2.50,,\r\n",
        b'no,what,max [mohm]\n"7","Jumper","2.50"',
    ],
    ids=["BOM and semicolons", "tabs and old line ends", "empty lines and cells", "quotes"],
)
def test_what_spreadsheets_write_is_taken_as_it_comes(data: bytes) -> None:
    found = read(data, "title=what", unit=None)
    assert told(found) == []
    assert found.unit is Unit.MOHM
    (point,) = found.points
    assert (point["id"], point["title"]) == ("7", "Jumper")
    assert point["limit"] == {"max": Decimal("2.50"), "cmp": "<="}


def test_a_limit_may_name_a_criterion() -> None:
    found = read("id,title,limit\n1,a,frame\n2,b,< 2.5 mohm (frame)\n3,c,< 2.4 mohm (frame)\n4,d,\n")
    assert told(found) == []
    stated = [(point.get("criterion"), point.get("limit")) for point in found.points]
    assert stated == [
        ("frame", None),
        ("frame", None),
        (None, {"max": Decimal("2.4"), "cmp": "<"}),
        (None, None),
    ]


def test_the_unit_is_the_cell_s_then_the_column_s_then_the_row_s_then_the_route_s() -> None:
    found = read("id,title,unit,max [kohm]\n1,a,,5\n2,b,ohm,5 kohm\n3,c,ohm,5 mohm\n", unit=Unit.OHM)
    assert [(point.get("unit"), point["limit"]) for point in found.points] == [
        ("kohm", {"max": Decimal(5), "cmp": "<="}),
        (None, {"max": Decimal(5), "cmp": "<=", "unit": "kohm"}),
        (None, {"max": Decimal(5), "cmp": "<=", "unit": "mohm"}),
    ]
    found = read("id,title,unit,max\n1,a,,5\n2,b,ohm,5\n", unit=Unit.MOHM)
    assert [point.get("unit") for point in found.points] == [None, "ohm"]
    assert all("unit" not in point["limit"] for point in found.points)


def test_the_route_s_unit_is_the_one_most_rows_name() -> None:
    assert read("id,title,limit\n1,a,< 1 ohm\n2,b,< 2 mohm\n3,c,< 3 mohm\n", unit=None).unit is Unit.MOHM
    found = read("id,title,limit\n1,a,< 1\n", unit=None)
    assert told(found) == [(2, "limit", "'1' has no unit")]
    assert "--unit" in found.problems[0].remedy


def test_bounds_in_columns_of_their_own() -> None:
    found = read("id,title,min,max,cmp\n1,a,1,10,<\n2,b,1,,\n3,c,5,1,\n4,d,1,2,~\n")
    assert [point.get("limit") for point in found.points[:2]] == [
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<"},
        {"min": Decimal(1), "cmp": ">="},
    ]
    assert told(found) == [(5, "cmp", "'~' is not a comparator")]


def test_a_limit_said_twice_must_be_the_same() -> None:
    found = read("id,title,limit,max,criterion\n1,a,<= 2,2,\n2,b,<= 2,3,\n3,c,<= 2,,frame\n")
    assert told(found) == [
        (3, "limit", "limit and max or min say different things"),
        (4, "limit", "a limit beside a criterion"),
    ]


def test_limits_as_people_write_them_stand_in_columns_of_max_and_min_too() -> None:
    cells = ("< 2.5", "2.5 max", "1 to 10 kohm", "record only", "frame", "2.5", "2.5 ohm")
    rows = "".join(f"{number},a,{cell}\n" for number, cell in enumerate(cells))
    found = read(f"id,title,Max [mOhm]\n{rows}", unit=Unit.MOHM)
    assert told(found) == []
    assert [(each.get("unit"), each.get("limit"), each.get("criterion")) for each in found.points] == [
        (None, {"max": Decimal("2.5"), "cmp": "<"}, None),
        (None, {"max": Decimal("2.5"), "cmp": "<="}, None),
        ("kohm", {"min": Decimal(1), "max": Decimal(10), "cmp": "<="}, None),
        (None, {"record_only": True}, None),
        (None, None, "frame"),
        (None, {"max": Decimal("2.5"), "cmp": "<="}, None),
        ("ohm", {"max": Decimal("2.5"), "cmp": "<="}, None),
    ]
    assert "limits without a comparator, taken as at most (<=): 2" in found.notes


def test_max_and_min_together_are_one_window() -> None:
    found = read(
        "id,title,min,max,cmp\n1,a,> 1,< 10,\n2,b,1,<= 10,\n3,c,,< 10,<\n4,d,1,10,\n"
        "5,e,,record only,<\n6,f,> 1,< 10,<\n"
    )
    assert told(found) == []
    assert [point["limit"] for point in found.points] == [
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<"},
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<="},
        {"max": Decimal(10), "cmp": "<"},
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<="},
        {"record_only": True},
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<"},
    ]
    assert "limits without a comparator, taken as at most (<=): 2" in found.notes  # of windows, one each


@pytest.mark.parametrize(
    ("cells", "column", "what", "remedy"),
    [
        (",> 1 Mohm,", "Max", "'> 1 Mohm' is a lower limit in a column of upper ones", '--map "limit=Max"'),
        ("< 5,,", "Min", "'< 5' is an upper limit in a column of lower ones", '--map "limit=Min"'),
        ("1,< 10,", "Min", "a window has both its ends with equality, or both without", "write > where"),
        ("1,1 to 10,", "Max", "max and min say different things", "empty one"),
        ("record only,10,", "Max", "max and min say different things", "empty one"),
        ("1,frame,", "Max", "max and min say different things", "empty one"),
        (",< 10,<=", "Max", "< here, and <= in the column for comparators", "empty one"),
        (",MOHM 10,", "Max", "'MOHM' may be milliohm or megohm", "write it like <= 2.5 mohm, or record only"),
        (",ten,", "Max", "ten: not a value; examples", "write it like <= 2.5 mohm, or record only"),
    ],
)
def test_what_columns_of_max_and_min_cannot_hold(cells: str, column: str, what: str, remedy: str) -> None:
    found = read(f"id,title,Min,Max,cmp\n1,a,{cells}\n")
    ((line, field, said),) = told(found)
    assert (line, field) == (2, column)
    assert said.startswith(what)
    assert remedy in found.problems[0].remedy
    assert "--unit" not in found.problems[0].remedy  # it was given


def test_decimal_commas_are_the_same_in_every_column() -> None:
    found = read(
        "id;title;max;limit;expected low;expected high;retest\n"
        "1;a;3,0;3,0;0,5;1,5;2,5\n2;b;< 3,0;< 3,0;R4;0,8;2,5 max\n3;c;3,0m;3,0m;;;0,5 to 2,5\n"
    )
    assert told(found) == []
    assert [point["limit"]["max"] for point in found.points] == [Decimal("3.0")] * 3
    quoted = read('id,title,max,limit\n1,a,"3,0","3,0"\n')
    assert told(quoted) == [
        (2, "limit", "3,0: use a point for decimals"), (2, "max", "3,0: use a point for decimals"),
    ]  # fmt: skip


def test_the_unit_of_its_limit_is_the_point_s_own() -> None:
    found = read("id,title,limit\n1,a,< 4.2 kohm\n2,b,2\n3,c,R5\n4,d,frame\n", unit=Unit.OHM)
    assert [(point.get("unit"), point.get("limit")) for point in found.points] == [
        ("kohm", {"max": Decimal("4.2"), "cmp": "<"}),
        (None, {"max": Decimal(2), "cmp": "<="}),
        (None, {"max": Decimal("0.5"), "cmp": "<="}),
        ("mohm", None),
    ]


def test_a_bare_figure_beside_a_limit_in_another_unit_could_be_two() -> None:
    found = read("id,title,limit,retest,expected\n1,a,< 4 kohm,2,1 to 3\n2,b,< 4 kohm,2 kohm,1 to 3 kohm\n")
    assert told(found) == [(2, "retest", "'2' has no unit"), (2, "expected", "'3' has no unit")]
    assert all("the limit of this line is in kohm" in problem.remedy for problem in found.problems)
    assert found.points[1]["retest"] == {"max": Decimal(2), "cmp": "<"}  # as the limit is
    assert found.points[1]["expected"] == {"low": Decimal(1), "high": Decimal(3)}


BAD = """\
No,Title,Limit,Unit,Repeats,x,y,z,Expected low,Expected high,Correct to 20
1,good,< 2.5 mohm,mohm,1,1,2,3,0.1,0.2,yes
,no id,< 2.5,mohm,,,,,,,
3,bad limit,abc,mohm,,,,,,,
4,bad unit,< 2.5,volts,,,,,,,
5,bad number,< 2.5,mohm,two,,,,,,
6,half a place,< 2.5,mohm,,1,,,,,
7,half a band,< 2.5,mohm,,,,,0.1,,maybe
8,\x1b[2Jhostile,< 2.5,mohm,,,,,,,
9,"open quote,< 2.5,mohm
10,over\u202eride,< 2.5,mohm,,,,,,,
"""


def test_every_problem_is_told_with_its_line_and_column() -> None:
    found = read(BAD, "limit=Limit")
    places = {(line, column) for line, column, _ in told(found)}
    assert places == {
        (3, "No"), (4, "Limit"), (5, "Unit"), (6, "Repeats"), (7, "x"), (8, "expected"), (8, "Correct to 20"),
        (9, "Title"), (10, ""), (11, "Title"),
    }  # fmt: skip
    assert all(problem.remedy and problem.file == "points.csv" for problem in found.problems)


def test_a_column_whose_unit_could_be_two_is_told() -> None:
    found = read("id,title,MAX MOHM\n1,a,5\n")
    assert told(found) == [(None, "MAX MOHM", "the name of the column: 'MOHM' may be milliohm or megohm")]


def test_ids_and_sections_are_brought_into_form_and_it_is_said() -> None:
    found = read("id,title,section,pair\nSW 07,a,Left wing,SW/08\nSW/08,b,Left wing,SW 07\nX,c,Left-wing,\n")
    assert [(point["id"], point["section"], point.get("pair")) for point in found.points] == [
        ("SW-07", "Left-wing", "SW-08"), ("SW-08", "Left-wing", "SW-07"), ("X", "Left-wing-2", None),
    ]  # fmt: skip
    assert [section["title"] for section in found.sections] == ["Left wing", "Left-wing"]
    assert any("SW 07 is SW-07" in note for note in found.notes)
    assert told(read("id,title\n日本,a\n")) == [(2, "id", "'日本' cannot be made an id")]


def test_what_no_column_says_is_filled_in_and_told() -> None:
    found = read("From,To,Limit\nlug,spar,< 2.5 mohm\nstud,frame,5\n")
    assert [(point["id"], point["section"], point["title"]) for point in found.points] == [
        ("P-001", "all", "lug"), ("P-002", "all", "stud"),
    ]  # fmt: skip
    assert found.notes == [
        "no column holds ids: the points are numbered P-001, P-002 and so on",
        "no column holds titles: a, where or the id stand for them",
        "no column holds sections: all points are in one",
        "limits without a comparator, taken as at most (<=): 1",
        "the unit of the route is mohm",
    ]


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "the file is empty"),
        (b"id,title\n", "the list has no points below its header"),
        (b"id,,title\n1,2,3\n", "column 2 has no name"),
        (b"id,title,id\n1,2,3\n", "this column stands twice"),
        (b"id,ti\x1btle\n1,2\n", "the name of column 2: character \\u{1b} is not allowed"),
        (b"id,title\n1,\xff\n", "this line is not UTF-8 text"),
        (b"x" * (MAX_BYTES + 1), f"the file is larger than {MAX_BYTES} bytes"),
        (b"id,title\n1,2,3\n", "3 cells; the header has 2"),
        (",".join(f"c{n}" for n in range(101)).encode() + b"\n1\n", "101 columns; at most 100 are read"),
    ],
)
def test_a_file_that_is_no_list(data: bytes, what: str) -> None:
    assert what in [problem.what for problem in parse_point_table(data, "points.csv").problems]


def test_a_long_list_is_read_in_time_and_one_too_long_is_refused() -> None:
    rows = "".join(f"P-{n},Point {n},zone {n % 7},< 2.5 mohm\n" for n in range(MAX_ROWS + 1))
    began = time.monotonic()
    found = read("No,Title,Zone,Limit\n" + rows)
    assert time.monotonic() - began < 30  # a bound on growth, not a measurement
    assert [what for _, _, what in told(found)] == [f"more than {MAX_ROWS} points"]


@given(st.binary(max_size=300) | st.text(st.sampled_from('id,limit\n;"1<2.5mohmΩ\t\x1b\u202e '), max_size=80))
def test_no_file_is_answered_with_an_exception(data: bytes | str) -> None:
    found = read(data)
    assert found.points or found.problems
