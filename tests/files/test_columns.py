"""Which column is what: said, guessed by name, guessed by what stands in it, or left alone."""

from __future__ import annotations

import sys
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.files.route.columns import FIELDS, header_doubt, header_unit, match_columns, parse_map
from fieldtui.files.route.point_table import PointTable, parse_point_table


def table_of(header: str, *rows: str) -> PointTable:
    table = parse_point_table("\n".join([header, *rows]).encode(), "points.csv")
    assert not table.problems
    return table


def guess(header: str, *rows: str, criteria: tuple[str, ...] = ()) -> dict[str, str]:
    return {each.column: each.field for each in match_columns(table_of(header, *rows), {}, criteria)}


def test_every_name_of_ours_is_known_by_itself() -> None:
    cells = {"id": "P-1", "unit": "mohm", "criterion": "frame"}
    header, row = ",".join(FIELDS), ",".join(cells.get(name, "1") for name in FIELDS)
    assert guess(header, row, criteria=("frame",)) == {name: name for name in FIELDS}


def test_names_that_people_use() -> None:
    found = guess(
        "Bond No,Description,Location,From,Reference stud,Max. [mΩ],Surface preparation,Remarks",
        "SW-1,Flap jumper,zone 620,flap bracket,rear spar,2.5,clean,ok",
        "SW-2,Tip light base,zone 650,light base,stud G4,3.0,clean,",
    )
    assert found == {
        "Bond No": "id", "Description": "title", "Location": "where", "From": "a", "Reference stud": "b",
        "Max. [mΩ]": "max", "Surface preparation": "prepare",
    }  # fmt: skip


def test_a_name_that_fits_does_not_help_where_the_cells_do_not() -> None:
    found = guess(
        "Point,Tag,Requirement", "Flap track jumper; inboard,SW-1,none", "Tip light; outboard,SW-2,tbd"
    )
    assert found["Tag"] == "id"
    assert "Requirement" not in found
    assert guess("id,Limit", "日本,none") == {"id": "id", "Limit": "limit"}  # but ours are meant, to be told


def test_a_column_that_says_limit_is_taken_whatever_stands_in_it_so_that_it_is_told() -> None:
    cells = ('"<0,5 Ohm"', "10 mOhm", "MOHM 10", "tbd")
    rows = [f"P{number},one,{cell}" for number, cell in enumerate(cells)]
    for name in ("Resistance limit", "Limits", "Limit for the crew", "Maximum value [mOhm]"):
        assert guess(f"No,Description,{name}", *rows)[name] in ("limit", "max"), name
    few = [f"P{number},one,{cell}" for number, cell in enumerate(("2.5", "tbd", "later", "see note"))]
    assert guess("No,Description,Resistance limit", *few)["Resistance limit"] == "limit"
    assert guess("No,Requirement", "1,MOHM 10", "2,< 5 MOHM", "3,< 3 MOHM")["Requirement"] == "limit"
    assert "Temperature limit" not in guess("No,Temperature limit", "1,85 °C", "2,hot")
    found = guess("No,Limit note,Resistance limit", "1,see 5 ohm,2.5", "2,none,3")
    assert found == {"No": "id", "Resistance limit": "limit"}


def test_cells_tell_what_a_name_does_not() -> None:
    found = guess("Col1,Col2,Col3,Col4", "SW-1,Flap,< 2.5 mOhm,mohm", "SW-2,Tip,< 3 mOhm,mohm")
    assert found == {"Col1": "id", "Col3": "limit", "Col4": "unit"}


def test_a_criterion_is_known_by_its_ids() -> None:
    assert (
        guess("No,Rule book", "1,frame", "2,static", criteria=("frame", "static"))["Rule book"] == "criterion"
    )


def test_lengths_are_taken_only_where_their_unit_is_sure() -> None:
    assert guess("No,Length,Length m,Jumper length [mm]", "1,180,0.2,180") == {
        "No": "id", "Jumper length [mm]": "length_mm",
    }  # fmt: skip


def test_a_zone_that_comes_again_is_a_section_and_one_that_does_not_is_a_place() -> None:
    rows = [f"{number},{number // 4}" for number in range(12)]
    assert guess("No,Zone", *rows)["Zone"] == "section"
    assert guess("No,Zone", *(f"{number},Z{number}" for number in range(12)))["Zone"] == "where"


def test_no_column_and_no_field_is_taken_twice() -> None:
    found = match_columns(table_of("Limit,Max resistance,No,Number", "1,2,3,4", "1,2,5,6"), {}, ())
    assert len({each.field for each in found}) == len({each.column for each in found}) == len(found)


def test_what_is_said_comes_first_and_the_rest_is_guessed() -> None:
    table = table_of("No,Bond,What,Limit", "1,SW-1,Flap,2.5", "2,SW-2,Tip,3")
    said, problems = parse_map(["id=Bond, title = What", "limit="], table)
    assert (said, problems) == ({"id": "Bond", "title": "What", "limit": ""}, [])
    taken = {each.field: (each.column, each.why) for each in match_columns(table, said, ())}
    assert taken["id"] == ("Bond", "given")
    assert taken["title"] == ("What", "given")
    assert "limit" not in taken


def test_a_column_with_a_comma_in_its_name_can_be_said() -> None:
    table = table_of('No,"Max, mohm",What', "1,2.5,Flap")
    assert parse_map(["max=Max, mohm,title=What"], table)[0] == {"max": "Max, mohm", "title": "What"}


def test_everything_wrong_with_what_is_said_is_told_at_once() -> None:
    table = table_of("No,Limit", "1,2.5")
    _, problems = parse_map(["id", "ids=No", "limit=Limits", "a=No,b=No", "unit=,unit="], table)
    assert [problem.what for problem in problems] == [
        "'id' is no mapping",
        "'ids' is nothing a point has",
        "there is no column 'Limits' for limit",
        "'No' is mapped twice",
        "'unit' is mapped twice",
    ]
    assert problems[1].remedy == "did you mean 'id'?"
    assert problems[2].remedy == "did you mean 'Limit'?"


@pytest.mark.parametrize(
    ("name", "unit"),
    [("Max [mΩ]", Unit.MOHM), ("Limit (kohm)", Unit.KOHM), ("Limit MΩ", Unit.MEGOHM), ("Ohms max", Unit.OHM),
     ("Limit", None), ("Bohmer", None)],
)  # fmt: skip
def test_the_unit_in_a_column_s_name(name: str, unit: Unit | None) -> None:
    assert header_unit(name) is unit
    assert header_doubt(name) == ""


def test_a_unit_that_could_be_two_is_doubtful() -> None:
    assert header_unit("MAX MOHM") is None
    assert "milliohm or megohm" in header_doubt("MAX MOHM")


CELLS = ("SW-1", "< 2.5 mOhm", "2.5", "mohm", "frame", "Flap jumper, inboard")


def calls_of(table: PointTable) -> int:
    """Function calls that guessing makes, Python's and the interpreter's own."""
    calls = 0

    def seen(frame: Any, event: str, argument: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        match_columns(table, {}, ("frame",))
    finally:
        sys.setprofile(None)
    return calls


@pytest.mark.parametrize("cell", CELLS)
def test_a_long_list_is_guessed_with_no_more_work_than_a_short_one(cell: str) -> None:
    columns = tuple(f"reference point {n}" for n in range(100))
    row = dict.fromkeys(columns, cell)
    short, long = (
        PointTable("points.csv", columns, tuple((n, row) for n in range(length)), False, ())
        for length in (60, 6_000)
    )
    assert calls_of(long) <= 1.01 * calls_of(short)


def test_names_of_nothing_are_compared_with_ours_only_where_they_could_be_alike() -> None:
    names = ("c", "column", "reference point z", "measured pars", "x" * 80)
    for name in names:
        columns = tuple(f"{name}{n}" for n in range(100))
        table = PointTable("points.csv", columns, (), False, ())
        assert calls_of(table) <= 100 * 4_000  # comparing each with each in full takes five to ten times that


def test_of_a_thousand_columns_no_more_are_looked_at_than_are_read() -> None:
    header = ",".join(f"reference point {n}" for n in range(1_000))
    table = parse_point_table(header.encode(), "points.csv")
    assert [problem.what for problem in table.problems] == ["1000 columns; at most 100 are read"]
    assert len(table.columns) == 100


def test_what_stands_far_down_in_a_list_counts_as_what_stands_on_top() -> None:
    rows = [f"SW-{n},{'2.5' if n < 100 else 'see note'}" for n in range(1_000)]
    assert "limit" not in guess("Tag,Requirement", *rows).values()
