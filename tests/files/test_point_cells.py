"""Cells of a list of points that say too much, too little or something else: told with line and column."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.files.route.file import check_route
from fieldtui.files.route.point_list import place_problems
from fieldtui.files.route.text import format_route_file
from tests.files.test_point_list import read, told


@pytest.mark.parametrize(
    ("header", "cells", "field", "what"),
    [
        ("max,cmp", "2.5,=", "cmp", "'=' is not a comparator"),
        ("expected_low", "0.1", "expected_low", "one end only"),
        ("expected", "<= 2", "expected", "one end only"),
        ("max,unit", "2.5,volt", "unit", "not a unit of resistance"),
        ("max,correct_to_20", "2.5,perhaps", "correct_to_20", "neither yes nor no"),
        ("max,repeats", "2.5,three", "repeats", "is not a number"),
        ("max,current_ma", "2.5,much", "current_ma", "is not a number"),
        ("max,guard", "2.5,wide", "guard", "is not a number"),
        ("max,mm2", "2.5,thick", "mm2", "is not a number"),
        ("max,x,y", "2.5,1,2", "x", "wants x, y and z"),
        ("max,x,y,z", "2.5,1,2,up", "z", "is not a number"),
    ],
)
def test_what_cannot_be_understood_is_told_at_its_cell(
    header: str, cells: str, field: str, what: str
) -> None:
    found = read(f"id,title,{header}\nP-1,Strap,{cells}\n")
    ((line, where, said),) = told(found)
    assert (line, where) == (2, field) or "one end" in said
    assert what in said


LIMIT = {"limit": {"max": Decimal("2.5"), "cmp": "<="}}


def point(header: str, cells: str, unit: Unit | None = Unit.MOHM) -> dict[str, Any]:
    found = read(f"id,title,{header}\nP-1,Strap,{cells}\n", unit=unit)
    assert told(found) == []
    return {key: value for key, value in found.points[0].items() if key not in ("id", "section", "title")}


@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        ("max,cmp", "2.5,<", {"limit": {"max": Decimal("2.5"), "cmp": "<"}}),
        ("min,cmp", "10,>", {"limit": {"min": Decimal(10), "cmp": ">"}}),
        ("max,guard", "2.5,0.83", {**LIMIT, "guard": Decimal("0.83")}),
        ("max,current_ma", "2.5,200", {**LIMIT, "current_ma": 200}),
        ("max,repeats", "2.5,2.5", {**LIMIT, "repeats": Decimal("2.5")}),
        ("max,correct_to_20", "2.5,No", {**LIMIT, "correct_to_20": False}),
        ("awg,metal", "AWG 12,copper", {"conductor": {"awg": "12", "metal": "copper"}}),
        ("awg,metal,limit", ",copper,", {}),  # a metal alone is no conductor
        ("retest", "record only", {"retest": {"record_only": True}}),
        ("limit,max", "frame,", {"criterion": "frame"}),
        ("retest", "frame", {"retest": {"criterion": "frame"}}),
    ],
)  # fmt: skip
def test_what_a_cell_becomes(header: str, cells: str, expected: dict[str, Any]) -> None:
    assert point(header, cells) == expected


def test_the_commonest_unit_is_the_route_s_and_none_is_made_up() -> None:
    found = read(
        "id,title,limit\n1,a,< 5 ohm\n2,b,< 2 mohm\n3,c,< 3 mohm\n4,d,record only\n5,e,frm\n", unit=None
    )
    assert found.unit is Unit.MOHM
    assert [line for line, _, _ in told(found)] == [6]
    assert read("id,title\n1,a\n", unit=None).unit is None
    assert read("id,title,unit\n1,a,volt\n", unit=None).unit is None


def test_a_limit_and_figures_that_differ_are_told_and_the_same_ones_taken() -> None:
    assert point("limit,max,cmp", "<= 2.5,2.5,<=")["limit"] == {"max": Decimal("2.5"), "cmp": "<="}
    found = read("id,title,limit,max,cmp\nP-1,Strap,<= 2.5,2.4,<=\n")
    assert "say different things" in told(found)[0][2]
    found = read("id,title,limit,criterion\nP-1,Strap,<= 2.5,frame\n")
    assert "a limit beside a criterion" in told(found)[0][2]


def test_an_id_that_stands_twice_is_told_by_the_lines_of_the_list() -> None:
    found = read("id,title,max\nA,one,1\nB,two,1\nA,three,1\n")
    route = format_route_file(
        {
            "format": 1,
            "title": "x",
            "asset": "y",
            "unit": "mohm",
            "sections": found.sections,
            "points": found.points,
        },
        [],
    )
    (problem,) = place_problems(check_route(route, "r.toml", "r", {}), found, "points.csv")
    assert (problem.line, problem.what) == (4, 'point id "A" is already used in line 2')


def test_a_figure_of_a_band_that_is_none_is_told() -> None:
    found = read("id,title,expected_low,expected_high\nP-1,Strap,low,0.5\n")
    assert told(found)[0][:2] == (2, "expected_low")


def test_a_criterion_in_both_columns_is_one() -> None:
    assert point("max,min", "frame,frame") == {"criterion": "frame"}


def test_the_unit_that_most_rows_name_in_their_own_column_is_the_route_s() -> None:
    assert read("id,title,unit\n1,a,kohm\n2,b,kohm\n3,c,ohm\n", unit=None).unit is Unit.KOHM
