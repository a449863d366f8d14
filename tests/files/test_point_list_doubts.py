"""What could mean two things in a spreadsheet's list is refused with its line, and never guessed.

The spreadsheets are invented; what they do (merged cells, ``sep=;``, decimal commas) is common practice,
no source.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.errors import Problem
from fieldtui.files.route.columns import match_columns
from fieldtui.files.route.decimal_signs import decimal_signs
from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.sheet import parse_sheet
from tests.files.test_point_list import CRITERIA, read, told


def limits(text: str, unit: Unit | None = None) -> list[Any]:
    found = read(text, unit=unit)
    assert told(found) == []
    return [point.get("limit", point.get("criterion")) for point in found.points]


# --- the column for comparators -------------------------------------------------------------------


def test_the_comparator_column_counts_for_bare_figures_in_a_limit_column() -> None:
    rows = "P1,x,<,2.5 mohm\nP2,y,>=,1 kohm\nP3,z,≥,1 kohm\nP4,z,=<,1 kohm\nP5,z,at most,R5\nP6,z,,2 mohm\n"
    assert limits(f"id,title,cmp,limit\n{rows}") == [
        {"max": Decimal("2.5"), "cmp": "<"},
        {"min": Decimal(1), "cmp": ">="},
        {"min": Decimal(1), "cmp": ">="},
        {"max": Decimal(1), "cmp": "<="},
        {"max": Decimal("0.5"), "cmp": "<="},
        {"max": Decimal(2), "cmp": "<="},
    ]
    found = read(f"id,title,Comparator,limit\n{rows}", unit=None)
    assert "limits without a comparator, taken as at most (<=): 1" in found.notes  # of P6 alone


@pytest.mark.parametrize(
    ("header", "cells", "column", "what"),
    [
        ("cmp,limit", "<,<= 2.5", "limit", "<= here, and < in the column for comparators"),
        ("cmp,limit", ">=,2.5 max", "limit", "an upper limit here, and >= in the column for comparators"),
        ("cmp,limit", "<=,frame", "limit", "< here, and <= in the column for comparators"),
        ("cmp,criterion", ">,frame", "criterion", "an upper limit here, and > in the column for comparators"),
        ("cmp,max", ">=,2.5", "max", "an upper limit here, and >= in the column for comparators"),
        ("cmp,max", ">,< 2.5", "max", "an upper limit here, and > in the column for comparators"),
        ("cmp,min", "<,1", "min", "a lower limit here, and < in the column for comparators"),
        ("cmp,limit", ">,1 to 10", "limit", "an upper limit here, and > in the column for comparators"),
        ("cmp,limit", "<,", "cmp", "a comparator without a figure"),
        ("cmp,limit", "=,2.5", "cmp", "'=' is not a comparator"),
        ("cmp,limit", "Ω,2.5", "cmp", "'Ω' is not a comparator"),
        ("cmp,limit", "\u202e,2.5", "cmp", "character \\u{202e} is not allowed"),
    ],
)
def test_a_comparator_that_contradicts_the_cell_beside_it(
    header: str, cells: str, column: str, what: str
) -> None:
    assert told(read(f"id,title,{header}\nP1,x,{cells}\n"))[0] == (2, column, what)


def test_a_comparator_that_says_the_same_is_no_contradiction() -> None:
    rows = "1,a,<,< 2\n2,b,<=,1 to 10\n3,c,<,frame\n4,d,<,record only\n5,e,<,2.5 mohm (frame)\n"
    assert limits(f"id,title,cmp,limit\n{rows}", Unit.MOHM) == [
        {"max": Decimal(2), "cmp": "<"},
        {"min": Decimal(1), "max": Decimal(10), "cmp": "<="},
        "frame",
        {"record_only": True},
        "frame",
    ]


def test_a_column_of_nothing_but_comparators_is_heeded_under_any_name() -> None:
    assert limits("id,title,Type,limit\n1,a,>=,1 kohm\n2,b,<,2 kohm\n") == [
        {"min": Decimal(1), "cmp": ">="},
        {"max": Decimal(2), "cmp": "<"},
    ]


def test_a_bare_limit_after_rework_is_compared_as_the_limit_is() -> None:
    rows = "1,a,< 2,1\n2,b,>= 2,4\n3,c,2,1\n4,d,frame,2\n5,e,record only,1\n6,f,> 2,>= 4\n"
    found = read(f"id,title,limit,retest\n{rows}")
    assert told(found) == []
    assert [point["retest"] for point in found.points] == [
        {"max": Decimal(1), "cmp": "<"},
        {"min": Decimal(4), "cmp": ">="},
        {"max": Decimal(1), "cmp": "<="},
        {"max": Decimal(2), "cmp": "<"},
        {"max": Decimal(1), "cmp": "<="},
        {"min": Decimal(4), "cmp": ">="},
    ]
    assert "limits after rework without a comparator, compared as the limit is: 4" in found.notes
    found = read("id,title,limit,retest,cmp\n1,a,2,1,>\n")
    assert found.points[0]["retest"] == {"min": Decimal(1), "cmp": ">"}
    found = read("id,title,limit,retest\n1,a,1 to 10,5\n")
    assert told(found) == [(2, "retest", "'5' has one end, and the limit of this line has two")]


# --- units ----------------------------------------------------------------------------------------


def test_where_a_list_has_several_units_a_figure_without_one_is_refused() -> None:
    text = "id,title,max,unit\nP1,a,2.5,mohm\nP2,b,2.5,\nP3,c,2,ohm\nP4,d,2,ohm\nP5,e,3,\n"
    found = read(text, unit=None)
    assert told(found) == [(3, "max", "'2.5' has no unit"), (6, "max", "'3' has no unit")]
    assert "the list has mohm and ohm; or give --unit" in found.problems[0].remedy
    given = read(text, unit=Unit.MOHM)  # said: no guess
    assert told(given) == []
    assert [point.get("unit") for point in given.points] == [None, None, "ohm", "ohm", None]


def test_a_second_unit_counts_wherever_it_stands() -> None:
    found = read("id,title,limit,retest\n1,a,2 mohm,900 uohm\n2,b,2,\n", unit=None)
    assert told(found) == [(3, "limit", "'2' has no unit")]
    found = read("id,title,limit,expected [uohm]\n1,a,2 mohm,1 to 2\n2,b,2,\n", unit=None)
    assert told(found) == [(3, "limit", "'2' has no unit")]


def test_in_a_list_of_one_unit_it_is_taken_and_told() -> None:
    found = read("id,title,max,unit\n1,a,2.5,mohm\n2,b,3,\n", unit=None)
    assert told(found) == []
    assert "lines with a figure without a unit, taken as mohm, the only unit in the list: 1" in found.notes


def test_a_figure_in_one_unit_by_its_column_and_in_another_by_its_line() -> None:
    found = read("id,title,unit,max [kohm]\n1,a,ohm,5\n2,b,kohm,5\n3,c,ohm,5 kohm\n4,d,,5\n", unit=Unit.OHM)
    assert told(found) == [(2, "max [kohm]", "'5' is in kohm by its column, in ohm by its line")]


# --- columns --------------------------------------------------------------------------------------


def doubts(
    header: str, *rows: str, said: dict[str, str] | None = None
) -> tuple[dict[str, str], list[Problem]]:
    table = parse_point_table("\n".join([header, *rows]).encode(), "points.csv")
    assert not table.problems
    problems: list[Problem] = []
    taken = match_columns(table, said or {}, CRITERIA, problems)
    return {each.field: each.column for each in taken}, problems


@pytest.mark.parametrize(
    "name",
    ["Result", "Results [mOhm]", "Reading", "Value", "Measured", "Measured value", "As found", "Actual",
     "Messwert", "Messergebnis", "gemessen", "Istwert", "Valeur mesurée", "Maximum measured", "Max reading"],
)  # fmt: skip
def test_what_was_measured_is_never_the_limit(name: str) -> None:
    fields, problems = doubts(f"Point;Text;{name}", "1;strap;< 0,8 mOhm", "2;strap;0,9 mOhm")
    assert name not in fields.values()
    assert problems == []
    fields, problems = doubts(
        f"Point;Text;{name};Grenze mOhm", "1;strap;0,8 mOhm;2,5 mOhm", "2;strap;0,9 mOhm;2,5 mOhm"
    )
    assert fields["limit"] == "Grenze mOhm"
    assert problems == []


@pytest.mark.parametrize("name", ["Limit for readings", "Max value", "Limit value"])
def test_a_limit_is_one_also_where_its_name_speaks_of_values(name: str) -> None:
    fields, problems = doubts(f"No,Text,{name}", "1,strap,2.5 mOhm", "2,strap,3 mOhm")
    assert name in (fields.get("limit"), fields.get("max"))
    assert problems == []


def test_two_columns_that_could_be_the_limit_are_asked_about() -> None:
    rows = ("1;strap;< 0,8 mOhm;< 2,5 mOhm", "2;strap;0,9 mOhm;2,5 mOhm")
    fields, problems = doubts("Point;Text;Widerstand;Vorgabe", *rows)
    assert "limit" not in fields
    (problem,) = problems
    assert problem.what == "the columns 'Widerstand' and 'Vorgabe' could each be limit"
    assert '--map "limit=Widerstand"' in problem.remedy
    for said in ("Vorgabe", ""):
        fields, problems = doubts("Point;Text;Widerstand;Vorgabe", *rows, said={"limit": said})
        assert fields.get("limit", "") == said
        assert problems == []


def test_one_column_of_plain_resistances_under_a_name_of_nothing_is_asked_about() -> None:
    fields, (problem,) = doubts("Point,Text,R", "1,strap,0.8 mOhm", "2,strap,2.5 mOhm")
    assert "limit" not in fields
    assert problem.what == "the column 'R' could be limit, or what was measured"
    fields, problems = doubts("Point,Text,R", "1,strap,0.8 mOhm max", "2,strap,2.5 mOhm")
    assert (fields["limit"], problems) == ("R", [])
    fields, problems = doubts("Point,Max,R", "1,1 mOhm,0.8 mOhm", "2,1 mOhm,2.5 mOhm")
    assert (fields.get("limit"), fields["max"], problems) == (None, "Max", [])


def test_two_columns_under_names_of_a_limit_are_asked_about_unless_one_is_ours() -> None:
    rows = ("1,2.5 mOhm,3 mOhm", "2,2.5 mOhm,3 mOhm")
    _, (problem,) = doubts("Point,Requirement,Acceptance", *rows)
    assert "'Requirement' and 'Acceptance' could each be limit" in problem.what or (
        "'Acceptance' and 'Requirement' could each be limit" in problem.what
    )
    fields, problems = doubts("Point,Limit,Acceptance", *rows)
    assert (fields["limit"], problems) == ("Limit", [])


@pytest.mark.parametrize(
    "name", ["Minimum limit", "Low limit [kohm]", "Limit (low)", "Limit, minimum", "Limit min"]
)
def test_a_bare_figure_under_a_lower_limit_is_never_an_upper_one(name: str) -> None:
    assert limits(f'id,title,"{name}"\n1,a,1 kohm\n2,b,2 kohm\n', Unit.KOHM) == [
        {"min": Decimal(1), "cmp": ">="},
        {"min": Decimal(2), "cmp": ">="},
    ]


@pytest.mark.parametrize(
    "name", ["Required length mm", "Torque limit", "Max. voltage limit", "Limit temperature"]
)
def test_bare_figures_of_another_quantity_are_no_limit(name: str) -> None:
    fields, _ = doubts(f"No,Text,{name}", "1,strap,180", "2,strap,90")
    assert name not in fields.values()
    fields, _ = doubts(f"No,Text,{name}", "1,strap,180 mOhm", "2,strap,90 mOhm")
    assert fields["limit"] == name


def test_two_columns_that_could_be_ids_are_asked_about() -> None:
    fields, (problem,) = doubts("Col1,Col2,Limit", "A1,B1,2 mOhm", "A2,B2,2 mOhm")
    assert "id" not in fields
    assert problem.what == "the columns 'Col1' and 'Col2' could each be id"
    assert doubts("Col1,R,Limit", "A1,0.8 mOhm,2 mOhm", "A2,0.9 mOhm,2 mOhm")[0]["id"] == "Col1"


def test_a_column_by_its_cells_of_which_one_is_bad_is_taken_so_that_it_is_told() -> None:
    found = read("Point;Col2\n1;2,5 mOhm\n2;<= 0,75 mOhm\n3;1.000,5 mOhm\n", unit=None)
    assert told(found) == [(4, "Col2", "'1.000,5' has more than one point or comma")]


# --- merged cells ---------------------------------------------------------------------------------


def sections(text: str) -> tuple[list[str], list[str]]:
    found = read(text, unit=None)
    assert told(found) == []
    notes = [note for note in found.notes if "section" in note]
    return [point["section"] for point in found.points], notes


def test_merged_section_cells_are_carried_down_and_it_is_said() -> None:
    note = "empty section cells, taken as the section above (merged cells): 2"
    rows = "Wing,P1,<= 2.5 mOhm\n,P2,<= 2.5 mOhm\n,P3,<= 2.5 mOhm\nTail,P4,<= 2.5 mOhm\n"
    assert sections(f"Section,ID,Limit\n{rows}") == (["Wing", "Wing", "Wing", "Tail"], [note])
    assert sections(f"Section title,ID,Limit\n{rows}") == (["Wing", "Wing", "Wing", "Tail"], [note])
    rows = "W,Wing,P1,2 mOhm\n,,P2,2 mOhm\n,Wing,P3,2 mOhm\nT,Tail,P4,2 mOhm\n"
    assert sections(f"Section,Section title,ID,Limit\n{rows}") == (["W", "W", "W", "T"], [note])


def test_section_cells_that_are_empty_from_the_first_line_on_are_not_merged() -> None:
    found, notes = sections("Section,ID,Limit\n,P1,2 mOhm\nTail,P2,2 mOhm\n,P3,2 mOhm\n")
    assert found == ["all", "Tail", "all"]
    assert notes == ['points without a section, put in "All points": 2']


# --- decimal signs --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "delimiter", "text", "is_doubtful"),
    [
        (["0,75"], ";", "1.250", True),
        (["0,75"], ";", "1,250", False),
        (["1.250"], ";", "1.250", True),  # nothing tells
        (["1,250"], ";", "1,250", False),  # semicolons do
        (["1,250"], "\t", "1,250", True),
        (["2.5"], ";", "1.250", False),
        (["2.5"], ";", "1,250", True),
        (["2.5", "0,75"], ";", "1,250", True),
        (["0,75"], ";", "0.250", False),  # no nought stands before thousands
        (["0,75"], ";", "12.5", False),
        (["0,75"], ";", "1.2500", False),
        (["0,75"], ";", "1.000,5", True),
        (["0,75"], ";", "1.000.000", True),
        (["0,75"], ",", "1.250", False),
        (["0.75"], ";", "1 to 10.000 kohm", False),
        (["0,75"], ";", "1 to 10.000 kohm", True),
    ],
)
def test_a_point_or_comma_that_may_part_thousands(
    cells: list[str], delimiter: str, text: str, is_doubtful: bool
) -> None:
    assert (decimal_signs([*cells, "R47", ""], delimiter).doubt(text) is not None) is is_doubtful


def test_doubtful_figures_are_told_together_with_what_to_write() -> None:
    found = read("Punkt;Grenzwert\nP1;1.250 mOhm\nP2;<= 0,75 mΩ\nP3;1.000,5 mOhm\n", unit=None)
    assert told(found) == [
        (2, "Grenzwert", "'1.250' may be 1250, or 1 and decimals"),
        (4, "Grenzwert", "'1.000,5' has more than one point or comma"),
    ]
    assert found.problems[0].remedy == "write 1250, or 1,250, whichever is meant"
    for meant, ohms in (("1250", Decimal(1250)), ("1,250", Decimal("1.250"))):
        again = read(f"Punkt;Grenzwert\nP1;{meant} mOhm\nP2;<= 0,75 mΩ\n", unit=None)
        assert told(again) == []
        assert again.points[0]["limit"]["max"] == ohms
    found = read("id;limit;length mm\nP1;0,5 mOhm;1.250\n", unit=None)
    assert told(found) == [(2, "length mm", "'1.250' may be 1250, or 1 and decimals")]
    found = read("id\tlimit\nP1\t1,250 mOhm\n", unit=None)
    assert found.problems[0].remedy == "write 1250, or 1,2500, whichever is meant"


# --- files ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [
        b"sep=;\r\nid;limit\r\nP1;<= 2,5 mOhm\r\n",
        b"\xef\xbb\xbfsep=;\nid;limit\nP1;<= 2,5 mOhm\n",
        b'"sep=;"\nid;limit\nP1;<= 2,5 mOhm\n',
        b"SEP=\t\nid\tlimit\nP1\t<= 2,5 mOhm\n",
        b"sep=,\nid,limit\nP1,<= 2.5 mOhm\n",
        "id\tlimit\nP1\t<= 2,5 mOhm\n".encode("utf-16"),
        "\ufeffid;limit\r\nP1;<= 2,5 mOhm\r\n".encode("utf-16-be"),
    ],
)
def test_what_spreadsheets_put_before_a_list(data: bytes) -> None:
    found = read(data, unit=None)
    assert told(found) == []
    assert [point["limit"] for point in found.points] == [{"max": Decimal("2.5"), "cmp": "<="}]


@pytest.mark.parametrize(
    ("data", "line", "what", "remedy"),
    [
        (b"Bonding survey,,,\n,,,\nid,limit,a,b\nP1,2 mOhm,,\n", 1, "expected on this line", "take out what"),
        (b'\n"Bonds, rev C"\n\nid;limit\nP1;2 mOhm\n', 2, "expected on this line", "take out what"),
        (b"sep=|\nid|limit\n", 1, "'|' between cells is not known", "comma, semicolon, tab"),
        (b"id;title\n1;2;3\n", 2, "3 cells; the header has 2", "a text with a semicolon"),
        ("id,title\n1,Trägerflügel\n".encode("latin-1"), 2, "is not UTF-8 text", '"CSV UTF-8"'),
        (b"\xff\xfei\x00d", 1, "is not UTF-16 text", '"CSV UTF-8"'),
    ],
)
def test_a_file_that_begins_otherwise_is_told_as_that_and_nothing_else(
    data: bytes, line: int, what: str, remedy: str
) -> None:
    found = read(data, unit=None)
    (problem,) = found.problems
    assert problem.line == line
    assert what in problem.what
    assert remedy in problem.remedy
    assert found.notes == [] or what.startswith("3 cells")


def test_every_table_that_people_make_may_say_its_delimiter_first() -> None:
    data = b"sep=;\r\naction;point;note\r\nnote;;rain, at last\r\n"
    sheet = parse_sheet(data, "sheet.csv")
    assert sheet.problems == []
    assert [(line.line, line.note) for line in sheet.lines] == [(3, "rain, at last")]


def test_a_message_shows_a_text_as_it_stands() -> None:
    (problem,) = read("id,title,limit\nP1,x,R < 2.5 mΩ\n").problems
    assert problem.what == "'R < 2.5 mΩ' is not a limit"


def test_one_column_above_a_cell_without_end_is_told_line_by_line() -> None:
    """The standard CSV reader takes no cell of more than 131,072 characters."""
    table = parse_point_table(b"id\n" + b"x" * 200_000 + b",y\n", "list.csv")
    assert table.problems
    assert all(problem.remedy for problem in table.problems)
