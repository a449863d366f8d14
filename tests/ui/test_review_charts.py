"""The charts of the review, held against places worked out by hand, and on the screen by keys."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.report.charts.data import pairs_of, tenths_of
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.widgets.review.canvas import Canvas
from fieldtui.ui.widgets.review.chart_history import draw_history
from fieldtui.ui.widgets.review.chart_margin import draw_margin
from fieldtui.ui.widgets.review.chart_marks import AXIS
from fieldtui.ui.widgets.review.chart_pairs import draw_pairs
from fieldtui.ui.widgets.review.chart_route import draw_route
from tests.ui.review_fixtures import Story, mohm, page_of, route_of, shown_screen
from tests.ui.review_rich import earlier, session

SIZES = [(80, 24), (120, 40), (200, 60)]
TEN = Limit(maximum=mohm("10"))


def story_of(*values: str, pair: bool = False) -> Story:
    """A point for each value, all held to 10 mohm at most."""
    names = [f"P{n}" for n in range(len(values))]
    partners = [names[n ^ 1] if pair else "" for n in range(len(values))]
    points = [
        Point(name, "S", name, Unit.MOHM, TEN, pair=other)
        for name, other in zip(names, partners, strict=True)
    ]
    story = Story(route_of(*points))
    for name, value in zip(names, values, strict=True):
        story.read(name, value) if value else None
    return story


def plain(lines: list[object]) -> list[str]:
    return [getattr(line, "plain", "") for line in lines]


# --- the canvas ------------------------------------------------------------------------------


def test_a_canvas_draws_nothing_outside_itself_and_lets_nothing_unsafe_in() -> None:
    canvas = Canvas(6, 2)
    canvas.put(-1, 0, "abc")
    canvas.put(4, 0, "xyz")
    canvas.put(0, 5, "lost")
    canvas.put(0, 1, "\x1b翼x")
    first, second = plain(list(canvas.lines()))
    assert first == "bc  xy"
    assert second == "\\u{1b}"
    canvas = Canvas(4, 1)
    canvas.put(0, 0, "翼x")
    assert plain(list(canvas.lines())) == ["翼x "]
    canvas.put(3, 0, "翼")  # half of it would stand outside
    assert plain(list(canvas.lines())) == ["翼x "]


# --- along the route -------------------------------------------------------------------------


def test_values_and_limits_stand_where_the_logarithm_puts_them() -> None:
    # Scale 1 to 10 mohm on rows 9 (foot) to 1: 1 at 9, the root of ten at 5, 10 at 1.
    lines = plain(list(draw_route(story_of("1", "3.1622777", "10").survey(), 0, AXIS + 3, 13)))
    assert "● pass" in lines[0]
    field = lines[2:11]  # a legend, the sections, then nine rows
    assert [row[AXIS] for row in field] == ["─", *" " * 7, "●"]
    assert field[4][AXIS + 1] == "●"
    assert field[0][AXIS + 2] == "●"  # on the limit: it passes, and its mark is what is seen
    assert field[0].startswith("  10 mΩ ┤")
    assert field[8].startswith("   1 mΩ ┤")
    assert lines[11][AXIS] == "▲"


def test_a_failed_value_a_missing_one_and_an_as_found_one_have_shapes_of_their_own() -> None:
    story = story_of("20", "2", "")
    from fieldtui.core.trail import events as ev

    story.tell(ev.RedoAsked, point="P0", ref=1, reason="again").read("P0", "5")
    lines = plain(list(draw_route(story.survey(), 1, AXIS + 3, 16)))
    columns = ["".join(row[AXIS + at] for row in lines[2:14]) for at in range(3)]
    assert columns[0].strip("─ ").startswith("x")
    assert columns[0].index("x") < columns[0].index("┊") < columns[0].index("●")
    assert "●" in columns[1]
    assert columns[2].rstrip().endswith("+")
    assert "✗ fail" not in lines[0]  # nothing on show failed at last
    assert "+ no value" in lines[0]


def test_in_percent_every_limit_is_one_line_and_more_than_the_scale_stands_at_its_top() -> None:
    lines = plain(list(draw_route(story_of("5", "10", "90").survey(), 0, AXIS + 3, 35, is_share=True)))
    rows = lines[2:33]  # 31 rows for 0 to 150 %: 5 % a row
    assert rows[0].startswith("  150 % ┤")
    assert rows[10].startswith("  100 % ┤─")
    assert rows[20][AXIS] == "●"
    assert rows[10][AXIS + 1] == "●"
    assert rows[0][AXIS + 2] == "✗"


def test_a_long_route_shows_the_points_around_the_marked_one_and_says_which() -> None:
    lines = plain(list(draw_route(story_of(*["1"] * 100).survey(), 50, AXIS + 20, 12)))
    assert "points 41 to 60 of 100" in lines[0]
    assert "P50" in lines[-1]
    assert lines[-2].index("▲") == AXIS + 10


# --- margins ---------------------------------------------------------------------------------


def test_the_histogram_counts_points_and_sets_failed_ones_off() -> None:
    survey = story_of("0.5", "4.5", "4.6", "11").survey()
    tenths = tenths_of(survey)
    assert [tenth.count for tenth in tenths] == [1, 0, 0, 0, 2, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0]
    lines = plain(list(draw_margin(tenths, 4, 66, 13)))
    bar = 6 + 4 * 4 + 1  # the axis, four bars of four cells, a gap
    columns = ["".join(line[at] if at < len(line) else " " for line in lines[1:10]) for at in range(66)]
    assert columns[bar].count("█") == 7
    assert "2" in columns[bar]
    failed = columns[6 + 10 * 4 + 1]
    assert "▒" in failed and "█" not in failed
    assert "limit" in lines[1]
    assert "▲" in lines[10]
    assert "percent of the limit" in lines[-1]


def test_a_single_point_beside_a_thousand_is_still_drawn() -> None:
    lines = plain(list(draw_margin(tenths_of(story_of(*["4.5"] * 300, "0.5").survey()), 0, 66, 12)))
    assert any("▁" in line for line in lines)


def test_nothing_judged_says_so() -> None:
    survey = Story(route_of(Point("A", "S", "A", Unit.MOHM, Limit(record_only=True)))).survey()
    assert plain(list(draw_margin(tenths_of(survey), 0, 60, 12))) == ["No point was judged against a limit."]
    assert plain(list(draw_pairs(list(pairs_of(survey)), 0, 60, 12)))[0].startswith("The route names no")


# --- pairs -----------------------------------------------------------------------------------


def test_partners_stand_on_one_line_with_their_ratio() -> None:
    survey = story_of("1", "10", "2", "2", "5", "20", pair=True).survey()
    lines = plain(list(draw_pairs(list(pairs_of(survey)), 0, 80, 12)))
    first, second, third = lines[1:4]
    assert first.split()[:2] == ["P0", "P1"]
    assert first.index("○") < first.index("●")
    assert first.rstrip().endswith("10.00")
    assert "◉" in second
    assert second.rstrip().endswith("1.00")
    assert "✗P5" in third
    assert "1 mΩ" in lines[5]


# --- history ---------------------------------------------------------------------------------


def test_surveys_stand_by_their_dates_with_the_limit_each_was_held_to() -> None:
    samples = list(earlier().of("SW-01"))
    lines = plain(list(draw_history(samples, 80, 14)))
    marks = sorted(at for line in lines[1:] for at, cell in enumerate(line) if cell == "●")
    days = [timedelta(days=365), timedelta(days=365)]
    assert len(marks) == 3
    assert abs((marks[1] - marks[0]) * (days[1] / days[0]) - (marks[2] - marks[1])) <= 1
    assert "2023-05-05" in lines[-1]
    assert "2025-05-04" in lines[-1]
    assert "3 surveys" in lines[0]
    assert any(set("▔─▁") & set(line[AXIS:]) for line in lines[1:-2])


def test_a_point_without_an_earlier_survey_says_so() -> None:
    samples = list(earlier().of("SW-01"))[:1]
    assert "no earlier survey of it lies here" in plain(list(draw_history(samples, 80, 14)))[0]
    assert plain(list(draw_history([], 80, 14))) == ["No survey has a value of this point."]


# --- on the screen ---------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_shows_the_charts_one_after_the_other(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session(), None, earlier), size) as pilot:
        await pilot.app.workers.wait_for_complete()
        seen = []
        for _ in range(5):
            await pilot.press("c")
            await pilot.pause()
            page = page_of(pilot)
            assert max(map(len, page.splitlines())) <= size[0]
            seen.append(page)
    route, share, margins, pairs, history = seen
    assert "2 mΩ ┤" in route
    assert "? IN DOUBT" in route  # what a failed check reaches has its own shape, whatever its verdict
    assert "cond. pass" not in route.split("2 mΩ")[0]
    assert "judged at 20 °C as 1.8763 mΩ" in " ".join(route.split())
    assert "100 % ┤" in share
    assert "percent of the limit used" in margins
    assert "at the right: second to first" in pairs
    assert "4 surveys" in history
    assert "2026-05-04" in history


async def test_arrows_mark_and_what_is_marked_is_said_in_words() -> None:
    async with shown_screen(ReviewScreen(session()), (120, 40)) as pilot:
        await pilot.press("7", "right", "right")
        assert "SW-03  Title of SW-03  ~ waived  11.0 mΩ  ? IN DOUBT, FAIL" in page_of(pilot)
        await pilot.press("end")
        assert "TL-04  Title of TL-04  ○ open  limit < 2.5 mΩ" in page_of(pilot)
        await pilot.press("c", "c", "end")
        assert "above 140 % of the limit: 0" in page_of(pilot)
        await pilot.press("c", "down")
        assert "SW-02 2.48 mΩ" in page_of(pilot)
        assert "ratio 0.44" in page_of(pilot)


async def test_a_point_marked_on_a_chart_is_the_one_a_remark_is_about() -> None:
    from fieldtui.ui.widgets.review.remarks import marked_place

    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("7", "right")
        assert marked_place(pilot.app.screen.page_in_front).words == "point SW-02"  # type: ignore[attr-defined]
