"""Part of a route for one of several crews: sections in the route's order, the rest known by name."""

from __future__ import annotations

import pytest

from fieldtui.errors import BadInputError
from fieldtui.files.route.file import RouteFile, load_route
from fieldtui.files.route.part import part_of_route
from fieldtui.files.route.text import format_route_file

ROUTE = """\
format = 1
title = "Wing bonds"
asset = "twin"
unit = "mohm"
[defaults]
limit = { max = 2.5, cmp = "<" }
"""
SECTION = '[[sections]]\nid = "{0}"\ntitle = "Section {0}"\n'
POINT = '[[points]]\nid = "{0}"\nsection = "{1}"\ntitle = "Jumper {0}"\n{2}'
PATH = '[[paths]]\nid = "{0}"\ntitle = "In series"\npoints = [{1}]\nlimit = {{ max = 5 }}\n'


@pytest.fixture
def route() -> RouteFile:
    text = ROUTE + "".join(SECTION.format(name) for name in ("SW", "PW", "HU", "EMPTY"))
    text += POINT.format("SW-1", "SW", 'pair = "PW-1"\n') + POINT.format("PW-1", "PW", 'pair = "SW-1"\n')
    text += POINT.format("SW-2", "SW", 'pair = "SW-3"\n') + POINT.format("SW-3", "SW", 'pair = "SW-2"\n')
    text += POINT.format("HU-1", "HU", "")
    text += PATH.format("WITHIN", '"SW-2", "SW-3"') + PATH.format("ACROSS", '"SW-1", "HU-1"')
    return load_route(text.encode(), "wing.toml", "wing", {})


def test_a_part_has_its_own_points_and_knows_the_others_by_name(route: RouteFile) -> None:
    part = part_of_route(route, ["SW"])
    assert [point.id for point in part.route.points] == ["SW-1", "SW-2", "SW-3"]
    assert part.route.title == "Wing bonds (part: SW)"
    assert (part.part, dict(part.elsewhere)) == (("SW",), {"PW-1": "Jumper PW-1", "HU-1": "Jumper HU-1"})
    pairs = {point.id: point.pair for point in part.route.points}
    assert pairs == {"SW-1": "", "SW-2": "SW-3", "SW-3": "SW-2"}  # the partner elsewhere is nobody's here
    assert [path.id for path in part.route.paths] == ["WITHIN"]


def test_its_tables_as_text_are_the_same_route(route: RouteFile) -> None:
    for sections in (["SW"], ["HU", " SW ", "SW"], ["PW"]):
        part = part_of_route(route, sections)
        text = format_route_file(part.raw, [])
        assert load_route(text, "wing.toml", "wing", {}).route == part.route


def test_sections_stand_in_the_route_s_order_whatever_the_order_asked_for(route: RouteFile) -> None:
    part = part_of_route(route, ["HU", "SW"])
    assert [section.id for section in part.route.sections] == ["SW", "HU"]
    assert [path.id for path in part.route.paths] == ["WITHIN", "ACROSS"]


def test_all_sections_with_points_are_the_whole_route(route: RouteFile) -> None:
    assert part_of_route(route, ["SW", "PW", "HU"]) is route


@pytest.mark.parametrize(
    ("sections", "what"),
    [
        (["XX"], "no section 'XX'"),
        ([], "No section is named"),
        (["", "  "], "No section is named"),
        (["EMPTY"], "no point in EMPTY"),
        (["SW", "\x1b[31m"], "no section"),
    ],
)
def test_what_is_no_part_is_told_with_the_sections_there_are(
    route: RouteFile, sections: list[str], what: str
) -> None:
    with pytest.raises(BadInputError) as caught:
        part_of_route(route, sections)
    assert what in caught.value.what.replace('"', "'")
    assert "\x1b" not in str(caught.value)
    assert caught.value.where == "wing"
