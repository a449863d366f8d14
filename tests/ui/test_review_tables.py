"""The tables of the review sorted either way and narrowed, always said in words."""

from __future__ import annotations

from typing import Any

import pytest

from fieldtui.core.account.bracket import points_in_doubt, readings_in_doubt
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Comparator, Limit, Point
from fieldtui.core.trail import events as ev
from fieldtui.report.nearest import nearest_lines
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.widgets.review.sheets import CHECKS, POINTS, READINGS, RETEST_SIGN, RULE_SIGNS, SHEETS, TRAIL
from fieldtui.ui.widgets.review.table import ReviewTable
from tests.ui.review_fixtures import Story, heard_by, mohm, page_of, route_of, shown_screen
from tests.ui.review_rich import session

POINT_KEYS = {
    "route order": ("from the start", "SW-01 SW-02 SW-03 TL-01 TL-02 TL-03 TL-04"),
    # as left: 1.95 2.48 11.0 1.20 1.10 5.00 and none
    "value": ("lowest first", "TL-02 TL-01 SW-01 SW-02 TL-03 SW-03 TL-04"),
    # 94 % (1.8763 of 2.0), 99 %, 110 %, 48 %, 44 %; record only and no value have none
    "margin to the limit": ("least first", "SW-03 SW-02 SW-01 TL-01 TL-02 TL-03 TL-04"),
    "time": ("first taken first", "SW-01 SW-02 SW-03 TL-01 TL-02 TL-03 TL-04"),
    # open, waived, recorded, passed
    "verdict": ("worst first", "TL-04 SW-03 TL-03 SW-01 SW-02 TL-01 TL-02"),
}


def table_of(pilot: Any) -> ReviewTable:
    table = pilot.app.screen.page_in_front
    assert isinstance(table, ReviewTable)
    return table


def first_cells(pilot: Any) -> list[str]:
    return [row.cells[0] for row in table_of(pilot)._shown]


async def test_points_are_sorted_by_each_order_and_either_way_and_it_is_said() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("3")
        for name, (first, points) in POINT_KEYS.items():
            assert f"by {name}: {first}" in page_of(pilot)
            assert first_cells(pilot) == points.split()
            await pilot.press("b")
            assert f"by {name}: {first}" not in page_of(pilot)
            assert f"by {name}: " in page_of(pilot)
            turned = first_cells(pilot)
            with_key = [row for row in points.split() if _has_key(name, row)]
            assert turned[0] == _last(name, with_key)
            assert turned[len(with_key) :] == points.split()[len(with_key) :]  # no value: last either way
            await pilot.press("o")
        assert "by route order: from the start" in page_of(pilot)


def _has_key(name: str, point: str) -> bool:
    without = {"value": ["TL-04"], "time": ["TL-04"], "margin to the limit": ["TL-03", "TL-04"]}
    return point not in without.get(name, [])


def _last(name: str, points: list[str]) -> str:
    return "SW-01" if name == "verdict" else points[-1]  # of equals the first of the route stays first


async def test_readings_are_sorted_by_margin_and_by_verdict() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("2", "o", "o", "o")
        assert "by margin to the limit: least first" in page_of(pilot)
        # judged: 3.945 of 2.5, 3.657 of 2.5, 12 and 11 of 10, 2.48 of 2.5, 1.876 of 2, 1.2, 1.1 of 2.5
        assert first_cells(pilot) == ["1", "2", "5", "6", "4", "3", "7", "8", "9"]
        await pilot.press("o")
        assert first_cells(pilot) == ["1", "2", "6", "5", "4", "3", "7", "8", "9"]  # 5 is struck out


async def test_the_row_that_is_marked_stays_so_in_another_order() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("3", "down", "down", "o")
        marked = table_of(pilot).marked
        assert marked is not None and marked.point == "SW-03"
        assert "point SW-03" in page_of(pilot)


async def test_rows_are_narrowed_and_escape_shows_all_again() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("2", "x")
        assert "3 of 9   failed, by time" in page_of(pilot)
        assert first_cells(pilot) == ["1", "2", "6"]
        await pilot.press("x")
        assert "1 of 9   struck out" in page_of(pilot)
        await pilot.press("slash", *"nowhere", "enter")
        assert "0 of 9 with: nowhere   struck out" in page_of(pilot)
        assert "no row is like that" in page_of(pilot)
        await pilot.press("escape")
        assert "9 in all   all rows" in page_of(pilot)
        assert heard_by(pilot) == []


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        ("readings", {"failed": 3, "struck out": 1, "corrected": 2, "doubtful, confirmed": 1, "retests": 1,
                      "in doubt for the meter": 7, "unproven": 0}),
        ("points", {"failed": 0, "open or skipped": 1, "inaccessible or waived": 1, "read more than once": 2,
                    "in doubt for the meter": 5, "to be taken again": 0, "limit unverified": 1, "unproven": 0,
                    "judged at 20 °C": 1, "unplanned": 0}),
        ("trail", {"changes": 8, "checks of numbers and meter": 4, "skips and tries": 2, "remarks": 1}),
        ("checks", {"what stands out": 3, "number checks": 2, "checks of the meter": 1}),
    ],
)  # fmt: skip
def test_every_choice_of_rows_holds_what_it_says(sheet: str, expected: dict[str, int]) -> None:
    read = session()
    (found,) = (each for each in SHEETS if each.name == sheet)
    rows = found.rows(read)
    counts = {}
    for which in found.which[1:]:
        holds = which.choose(read)
        counts[which.name] = sum(map(holds, rows))
    assert counts == expected


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: str(sheet.name))
def test_rows_have_a_cell_for_every_column(sheet: Any) -> None:
    rows = sheet.rows(session())
    assert rows
    assert {len(row.cells) for row in rows} == {len(sheet.columns)}
    assert {READINGS, POINTS, TRAIL, CHECKS} == set(SHEETS)


def test_what_is_in_doubt_is_marked_in_both_tables_whatever_its_verdict() -> None:
    read = session()
    doubted = {doubt.record for doubt in readings_in_doubt(read.survey)}
    readings = {row.at: row for row in READINGS.rows(read)}
    for number, row in readings.items():
        assert row.cells[3].startswith("? IN DOUBT, ") == (number in doubted)
        assert row.is_loud or number not in doubted
    stood = readings[7].cells  # let stand, and the reason with it
    assert not stood[3].startswith("?")
    assert "let stand: read again elsewhere" in stood[6]
    in_doubt = points_in_doubt(read.survey)
    assert in_doubt
    for row in POINTS.rows(read):
        assert row.cells[1].startswith("? IN DOUBT, ") == (row.point in in_doubt)


async def test_pages_that_are_no_tables_say_so_when_they_are_to_be_sorted() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("1", "o")
        await pilot.pause()
        (said,) = [each.message for each in pilot.app._notifications]
    assert said == "Tables are sorted: readings, points, trail, checks."


async def test_what_a_verdict_rests_on_stands_below_the_table_of_points() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("3")
        text = " ".join(page_of(pilot).split())
    assert "judged 1.8763 mΩ, corrected to 20 °C from 30.0 °C (copper)" in text
    assert "conforms with a probability of above 99.9 %" in text
    assert "paths P1" in text


async def test_checks_tell_number_checks_meter_pauses_and_gaps_in_order() -> None:
    story = Story().tell(ev.RunStarted, run=1, number=1).read("SW-01", "1.38")
    story.tell(ev.NumberChecked, run=1, number=1, verdict=ev.Agreement.AGREE, ref=1)
    story.read("SW-02", "2.10", after_min=20).read("HU-02", "0.47", after_min=1 / 60)
    async with shown_screen(ReviewScreen(story.session()), (120, 40)) as pilot:
        await pilot.press("9")
        page = page_of(pilot)
    lines = [" ".join(line.split()) for line in page.splitlines()]
    assert any(line.startswith("4 2026-05-04 08:34:00 number check 1 1 1 agree") for line in lines)
    assert any(line.startswith("5 2026-05-04 08:54:00 gap in time 1 20 min") for line in lines)
    assert any(line.startswith("6 2026-05-04 08:54:01 too close 2 record 3") for line in lines)


def row_of(pilot: Any, point: str) -> str:
    """The line of a point in the table, as it is on the terminal."""
    return next(line for line in page_of(pilot).splitlines() if line.strip().startswith(f"{point} "))


async def test_the_limit_on_show_is_the_one_that_judged_and_its_rule_stands_beside_it() -> None:
    """SW-01 was reworked and is held to its retest limit, the others to four states; on a low screen."""
    async with shown_screen(ReviewScreen(session()), (80, 24)) as pilot:
        await pilot.press("3")
        assert "<= 2.0 mΩ [R]" in row_of(pilot, "SW-01")
        assert "< 2.5 mΩ [4]" in row_of(pilot, "SW-02")
        assert "[" not in row_of(pilot, "SW-03")  # simple acceptance, no retest
        told = " ".join(page_of(pilot).split())
        assert "limit after rework <= 2.0 mΩ" in told
        await pilot.press("down")
        assert "limit < 2.5 mΩ, four states, guard band 1 U" in " ".join(page_of(pilot).split())
        await pilot.press("end")  # never read: its limit is told all the same
        assert "limit < 2.5 mΩ, four states, guard band 1 U" in " ".join(page_of(pilot).split())


async def test_the_help_says_what_the_signs_beside_a_limit_mean() -> None:
    async with shown_screen(ReviewScreen(session()), (80, 40)) as pilot:
        await pilot.press("f1", "end")
        page = page_of(pilot)
        for sign in ("limit [R]", "limit [G]", "limit [4]", "of limit"):
            assert sign in page
        assert {"R", "G", "4"} == {RETEST_SIGN, *filter(None, RULE_SIGNS.values())}


async def test_a_row_that_finds_no_room_in_full_says_so() -> None:
    async with shown_screen(ReviewScreen(session()), (80, 24)) as pilot:
        await pilot.press("3")
        assert "… more: Enter" in page_of(pilot)
        await pilot.press("end")  # not read: all of it has room
        assert "… more" not in page_of(pilot)
    async with shown_screen(ReviewScreen(session()), (200, 60)) as pilot:
        await pilot.press("3")
        assert "… more" not in page_of(pilot)


async def test_no_page_rounds_a_value_on_to_its_limit() -> None:
    """Two that fail, on a strict limit and just over it; one that passes just below."""
    strict = Limit(maximum=mohm("2.5"), upper=Comparator.LESS)
    points = [
        Point(name, "SW", f"Title of {name}", Unit.MOHM, strict) for name in ("AA-01", "AA-02", "AA-03")
    ]
    story = Story(route_of(*points)).read("AA-01", "2.5").read("AA-02", "2.501").read("AA-03", "2.499")
    shares = {"AA-01": "≥100 %", "AA-02": ">100 %", "AA-03": "<100 %"}
    async with shown_screen(ReviewScreen(story.session()), (120, 40)) as pilot:
        for page in ("2", "3"):
            await pilot.press(page)
            for row in table_of(pilot)._shown:
                assert [cell for cell in row.cells if cell.endswith("%")] == [shares[row.point]]
        await pilot.press("7")
        for share in shares.values():
            assert f"{share} of it" in page_of(pilot)
            await pilot.press("right")
    nearest = [*nearest_lines(story.session().survey)]
    assert [each.split()[0] for each in nearest] == ["AA-02", "AA-01", "AA-03"]
    assert all(f"{shares[each.split()[0]]} of it" in each for each in nearest)
