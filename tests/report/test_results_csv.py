"""``results.csv``: one row a point, frozen by a golden text, harmless in a spreadsheet."""

from __future__ import annotations

import csv
import io

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import RECORD_ONLY, Limit, Point
from fieldtui.core.trail import events as ev
from fieldtui.report.results_csv import COLUMNS, format_results
from tests.ui.review_fixtures import METER, OWN, PLAIN_METER, Story, mohm, route_of

GOLDEN = """\
point,section,title,where,a,b,limit,as_found,as_found_record,as_left,as_left_record,unit,verdict,state,\
reason,run,number,time,by,judged,celsius,probed_by,meter,in_doubt,decision,guard,expanded_u,judged_u
SW-01,SW,Flap jumper,,track,spar,< 2.5 mohm (equipment-frame),2.500,1,1.380,5,mohm,pass,passed,,1,5,\
2026-05-04T08:38:00.000Z,Ana,1.380,,Ben,"Small bond meter, serial 0417",,simple,,,
SW-02,SW,Tank vent,zone 620,,,<= 3.0 mohm,,,,,mohm,,skipped,"paint, not stripped",,,,,,,,,,simple,,,
X01,SW,Spare strap,,bracket,spar,<= 2.5 mohm,0.950,2,0.950,2,mohm,pass,passed,,1,2,\
2026-05-04T08:35:00.000Z,Ana,0.950,,Ben,"Small bond meter, serial 0417",,simple,,,
HU-01,HU,Hull plate,,,,"<= 10 mohm (enclosure, UNVERIFIED)",12.0,3,12.0,3,mohm,fail,failed,,1,3,\
2026-05-04T08:36:00.000Z,Ana,12.0,,Ben,"Small bond meter, serial 0417",,simple,,,
HU-02,HU,Bilge pump,,,,record only,0.000470,4,0.000470,4,ohm,recorded,recorded,,1,4,\
2026-05-04T08:37:00.000Z,Ana,,,Ben,"Small bond meter, serial 0417",,,,,
"""


def rows_of(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


def surveyed() -> Story:
    """A fail that turned, a skip, an unplanned point in another unit, a fail, and a value kept only."""
    story = Story().tell(ev.RunStarted, run=1, number=1).read("SW-01", "2.500")
    story.tell(ev.Skipped, point="SW-02", reason="paint, not stripped")
    story.tell(
        ev.PointInserted,
        after_min=0,
        point="X01",
        ref="HU-01",
        reason="strap not on the plan",
        definition='{"title": "Spare strap", "section": "SW", "a": "bracket", "b": "spar", '
        '"unit": "mohm", "limit": "<= 2.5 mohm"}',
    )
    story.read("X01", "950u").read("HU-01", "12.0").read("HU-02", "470u")
    story.tell(ev.RedoAsked, after_min=0, point="SW-01", ref=1, reason="tips cleaned")
    return story.read("SW-01", "1.380")


def test_results_stand_as_published() -> None:
    assert format_results(surveyed().session()).decode() == GOLDEN


def test_lines_end_as_in_the_trail() -> None:
    data = format_results(surveyed().session())
    assert b"\r" not in data
    assert data.endswith(b"\n")


def test_every_point_has_one_row_in_every_column() -> None:
    story = surveyed()
    rows = rows_of(format_results(story.session()))
    assert [row["point"] for row in rows] == list(story.survey().order.ids)
    assert all(tuple(row) == COLUMNS and None not in row.values() for row in rows)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "＝", "\t=", "'"])
def test_no_cell_is_run_by_a_spreadsheet(start: str) -> None:
    evil = f'{start}HYPERLINK("x","y")'
    point = Point(evil, evil, evil, Unit.MOHM, Limit(maximum=mohm("3"), criterion=evil), evil, evil, evil)
    story = Story(route_of(point), by=evil).read(evil, "1.0")
    (row,) = rows_of(format_results(story.session()))
    for column in ("point", "section", "title", "where", "a", "b", "by"):
        assert row[column][0] in "'\\", column
        assert row[column].endswith('HYPERLINK("x","y")')


def test_control_characters_are_made_visible() -> None:
    point = Point("P\x1b[2J", "SW", "line\nend\u202e", Unit.MOHM, OWN)
    (row,) = rows_of(format_results(Story(route_of(point)).session()))
    assert row["point"] == "P\\u{1b}[2J"
    assert row["title"] == "line\\u{a}end\\u{202e}"


def test_a_take_of_several_readings_names_all_its_records() -> None:
    point = Point("R", "SW", "Shield", Unit.MOHM, OWN, repeats=3, rule="median")
    story = Story(route_of(point), PLAIN_METER).read("R", "1.0").read("R", "1.30").read("R", "1.1")
    (row,) = rows_of(format_results(story.session()))
    assert (row["as_left"], row["as_left_record"]) == ("1.1", "1 2 3")
    assert (row["run"], row["number"]) == ("", "")


def test_a_void_reading_leaves_its_point_open_without_a_value() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.Voided, ref=1, point="SW-01", reason="wrong point")
    row = rows_of(format_results(story.session()))[0]
    assert (row["as_found"], row["as_left"], row["verdict"], row["state"]) == ("", "", "", "open")


def test_after_a_rework_the_retest_limit_is_the_one_told() -> None:
    point = Point("R", "SW", "Shield", Unit.MOHM, OWN, retest=Limit(maximum=mohm("2.5")))
    story = (
        Story(route_of(point)).read("R", "3.3").tell(ev.Reworked, point="R", reason="new strap", ref="D-7")
    )
    story.read("R", "2.6")
    (row,) = rows_of(format_results(story.session()))
    assert (row["limit"], row["as_found"], row["as_left"], row["verdict"]) == (
        "<= 2.5 mohm", "3.3", "2.6", "fail",
    )  # fmt: skip


def test_a_reason_that_a_reading_has_answered_is_left_out() -> None:
    story = Story().tell(ev.Skipped, point="SW-01", reason="rain").read("SW-01", "1.0")
    assert rows_of(format_results(story.session()))[0]["reason"] == ""


def test_a_value_keyed_in_a_larger_unit_keeps_its_digits_in_the_points_unit() -> None:
    point = Point("M", "SW", "Hose", Unit.KOHM, RECORD_ONLY)
    story = Story(route_of(point), METER).read("M", "1.50M")
    assert rows_of(format_results(story.session()))[0]["as_left"] == "1500"
