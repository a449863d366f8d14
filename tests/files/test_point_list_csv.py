"""A route's points as a list for spreadsheets, and back: everything a point can say comes back the same."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Limit, Route
from fieldtui.core.plan.tables import Criterion
from fieldtui.files.route.columns import match_columns
from fieldtui.files.route.file import load_route
from fieldtui.files.route.point_list import read_points
from fieldtui.files.route.point_list_csv import COLUMNS, format_point_list
from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.route.text import format_route_file

FRAME = Criterion("frame", "Frame", Limit(Resistance(Decimal("2.5"), Unit.MOHM), criterion="frame"))
CRITERIA = {"frame": FRAME}
HEAD = """\
format = 1
title = "Wing"
asset = "twin"
unit = "mohm"
[[sections]]
id = "A"
title = "All of it"
"""
POINT = '[[points]]\nid = "{}"\nsection = "A"\ntitle = "Strap"\n{}\n'
WHOLE = """\
where = "zone 6"
a = "lug, long"
b = "=spar"
limit = { max = 2.5, cmp = "<" }
retest = { criterion = "frame" }
expected = { low = 0.1, high = 1.6 }
conductor = { mm2 = 3.3, length_mm = 180, metal = "aluminium" }
repeats = 3
rule = "median"
family = "straps"
condition = "closed"
prepare = "clean"
restore = "paint"
caution = "sharp"
pair = "P1"
at = [1.5, -2, 0]
"""
SAID = {
    "a criterion": 'criterion = "frame"',
    "everything": WHOLE,
    "a gauge": 'limit = { min = 10, unit = "kohm" }\nconductor = { awg = 12, length_mm = 180 }',
    "record only": "limit = { record_only = true }",
    "a window": "limit = { min = 1, max = 10 }\nretest = { max = 5, min = 2 }",
    "a guard band": 'limit = { max = 2.5 }\ndecision = "guarded"\nguard = 0.83',
    "its own rule": 'limit = { max = 2.5 }\ndecision = "simple"',
    "both ways": 'limit = { max = 2.5 }\nmethod = "reversed"',
    "voltages": 'limit = { max = 2.5 }\nmethod = "three-reading"\ncurrent_ma = 200',
    "corrected": "limit = { max = 2.5 }\ncorrect_to_20 = true\nconductor = { awg = 12, length_mm = 180 }",
}


def route_of(*said: str) -> Route:
    text = HEAD + POINT.format(
        "P1", 'limit = { max = 1 }\npair = "P2"' if "P1" in said[0] else "limit = { max = 1 }"
    )
    text += "".join(POINT.format(f"P{number}", each) for number, each in enumerate(said, 2))
    return load_route(text.encode(), "wing.toml", "wing", CRITERIA).route


def back(data: bytes) -> Route:
    table = parse_point_table(data, "list.csv")
    limits = {name: criterion.limit for name, criterion in CRITERIA.items()}
    taken = match_columns(table, {}, limits)
    assert {each.column for each in taken} == set(table.columns)
    found = read_points(table, taken, Unit.MOHM, limits)
    assert not found.problems
    head = {"format": 1, "title": "Wing", "asset": "twin", "unit": "mohm"}
    text = format_route_file({**head, "sections": found.sections, "points": found.points}, [])
    return load_route(text, "list.toml", "wing", CRITERIA).route


@pytest.mark.parametrize("said", SAID.values(), ids=SAID)
def test_a_point_comes_back_the_same(said: str) -> None:
    route = route_of(said)
    assert back(format_point_list(route, CRITERIA)) == route


def test_a_whole_route_of_them_comes_back_the_same() -> None:
    route = route_of(WHOLE, *(said for said in SAID.values() if said != WHOLE))
    assert back(format_point_list(route, CRITERIA)) == route


def test_only_columns_that_say_something_are_there_and_no_cell_is_a_formula() -> None:
    rows = list(csv.reader(io.StringIO(format_point_list(route_of(WHOLE), CRITERIA).decode())))
    assert [column for column in COLUMNS if column in rows[0]] == rows[0]
    assert all(any(row[place] for row in rows[1:]) for place in range(len(rows[0])))
    assert rows[2][rows[0].index("b")] == "'=spar"
    assert rows[2][rows[0].index("z")] == "0"


def test_the_rule_of_a_criterion_is_not_said_again() -> None:
    route = route_of('criterion = "frame"')
    (first, second) = route.points
    header = format_point_list(replace(route, points=(first, second)), CRITERIA).decode().partition("\n")[0]
    assert "decision" not in header
    assert "criterion" in header
