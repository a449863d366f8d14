"""A route's points as a list for spreadsheets, and back: everything a point can say comes back the same."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Limit, Route
from fieldtui.core.plan.tables import Criterion
from fieldtui.files.route.columns import match_columns
from fieldtui.files.route.file import load_route
from fieldtui.files.route.point_list import read_points
from fieldtui.files.route.point_list_csv import COLUMNS, format_point_list, left_out
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


def named_left_out(text: str, criteria: dict[str, Criterion] = CRITERIA) -> list[str]:
    return list(left_out(load_route(text.encode(), "wing.toml", "wing", criteria).route, criteria))


def test_what_is_not_in_the_list_is_named() -> None:
    plain = HEAD + POINT.format("P1", "limit = { max = 1 }")
    usual = ["title (Wing)", "asset (twin)", "unit of the route (mohm)"]
    assert named_left_out(plain) == usual
    head = HEAD.replace("[[sections]]", 'revision = "B"\nsource = "drawing"\n[[sections]]', 1)
    head = head.replace(
        "[[sections]]", 'check_every = 5\nstandard_every = 20\ndecision = "guarded"\n[[sections]]', 1
    )
    sections = '[[sections]]\nid = "B"\ntitle = "Before"\n[[sections]]\nid = "C"\ntitle = "None"\n'
    points = POINT.format("P1", "limit = { max = 1 }") + POINT.format("P2", "limit = { max = 1 }")
    points += POINT.format("P0", "limit = { max = 1 }").replace('"A"', '"B"')
    path = '[[paths]]\nid = "S"\ntitle = "Sum"\npoints = ["P1", "P2"]\nlimit = { max = 3 }\n'
    found = named_left_out(head + sections + points + path)
    assert found[:3] == [*usual[:2], "revision (B)"]
    assert "check_every = 5" in found and "standard_every = 20" in found
    assert any(each.startswith("the decision rule of unplanned points") for each in found)
    assert any(each.startswith("path S: Sum") for each in found)
    assert "section C, which has no points" in found


def test_the_order_of_sections_and_the_rule_after_rework_are_named_where_they_are_their_own() -> None:
    head = HEAD.replace(
        '[[sections]]\nid = "A"', '[[sections]]\nid = "B"\ntitle = "Later"\n[[sections]]\nid = "A"'
    )
    points = POINT.format("P1", "limit = { max = 1 }") + POINT.format("P2", "limit = { max = 1 }").replace(
        '"A"', '"B"'
    )
    assert "the order of the sections, where it is not that of the walk" in named_left_out(head + points)
    guarded = 'limit = { max = 1 }\nretest = { max = 0.8, decision = "guarded" }'
    (said,) = [each for each in named_left_out(HEAD + POINT.format("P1", guarded)) if "rework" in each]
    assert said.startswith("the decision rule after rework of P1 (")
    plain = 'limit = { max = 1, decision = "guarded" }\nretest = { max = 0.8, decision = "simple" }'
    (said,) = [each for each in named_left_out(HEAD + POINT.format("P1", plain)) if "rework" in each]
    assert said == "the decision rule after rework of P1 (simple acceptance)"
    ruled = {"frame": replace(FRAME, rule=DecisionRule(RuleKind.GUARDED))}
    by_criterion = POINT.format("P1", 'limit = { max = 1 }\nretest = { criterion = "frame" }')
    assert not any("rework" in each for each in named_left_out(HEAD + by_criterion, ruled))
    noted = POINT.format("P1", "limit = { record_only = true }\nretest = { max = 2 }")
    assert not any("rework" in each for each in named_left_out(HEAD + noted))
