"""Long titles, wide characters, marks on letters: no page of the review overlaps or cuts a word unmarked."""

from __future__ import annotations

from dataclasses import replace

import pytest
from rich.cells import cell_len

from fieldtui.core.plan.route import Section
from fieldtui.desk.reading import ReadSession
from fieldtui.report.charts.along_route import short
from fieldtui.report.charts.data import Tenth
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.widgets.review.canvas import Canvas
from fieldtui.ui.widgets.review.chart_margin import draw_margin
from tests.ui.review_fixtures import page_of, shown_screen
from tests.ui.review_rich import told

SIZES = [(60, 24), (80, 24), (100, 30), (120, 40), (200, 60)]
LATIN = "Left wing trailing edge inboard flap carriage bonding jumper"  # 60 characters
WIDE = "右主翼前縁配管接地線" * 3  # 30 characters, 60 cells
MARKS = "Flu\u0308gelspitze e\u0301lectrique no\u0308rdlich a\u030a aussen, Fe\u0301der Nr. 4"
TITLES = (LATIN, WIDE, MARKS)


def session() -> ReadSession:
    story = told()
    points = tuple(
        replace(point, title=TITLES[at % 3], where=TITLES[(at + 1) % 3], a=TITLES[(at + 2) % 3], b=WIDE)
        for at, point in enumerate(story.route.points)
    )
    sections = (Section("SW", MARKS), Section("TL", WIDE))
    story.route = replace(story.route, title=WIDE, points=points, sections=sections)
    return story.session()


def packed(page: str) -> str:
    """Without blanks and line ends: a text may go on in the next line."""
    return "".join(page.split())


@pytest.mark.parametrize("size", SIZES)
async def test_every_page_stays_in_its_width_and_shows_its_titles(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session()), size) as pilot:
        for key in "12345689":
            await pilot.press(key)
            page = page_of(pilot)
            assert max(map(cell_len, page.splitlines())) <= size[0], key
            assert "F1 help" in page
        await pilot.press("8")
        assert packed(MARKS) in packed(page_of(pilot))
        assert packed(WIDE) in packed(page_of(pilot))
        assert "3 of 3 settled" in page_of(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_the_charts_keep_their_legends_and_say_first_what_was_judged(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session()), size) as pilot:
        await pilot.press("7")
        for _ in range(5):
            page = page_of(pilot)
            assert max(map(cell_len, page.splitlines())) <= size[0]
            assert "7: next" in page
            await pilot.press("7")
        lines = page_of(pilot).splitlines()
        sections = next(line for line in lines if line.count("│") == 2 and "Flu\u0308" in line)
        first, second = sections.split("│")[1:]
        for title, whole in ((first, MARKS), (second, WIDE)):
            assert title.strip() == whole or (title.strip().endswith("…") and len(title.strip()) > 5)
        end = next(at for at, line in enumerate(lines) if "F1 help" in line or "n remark" in line)
        below = " ".join(" ".join(lines[end - 3 : end]).split())
        assert "limit <= 2.0 mΩ after rework" in below
        assert packed(LATIN) in packed(below) or below.endswith("…")
        await pilot.press("7", "7")
        figures = next(line for line in page_of(pilot).splitlines() if line.strip().startswith("0  "))
        assert all(len(figure) <= 3 for figure in figures.split())  # none runs into the next


@pytest.mark.parametrize("size", SIZES)
async def test_the_story_of_a_point_is_whole(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session()), size) as pilot:
        await pilot.press("3", "enter")
        for title in (LATIN, WIDE, MARKS):
            seen = page_of(pilot)
            assert packed(title) in packed("\n".join(seen.splitlines()[:3]))  # the head
            assert "point " in seen and " of 7" in seen
            page = packed(seen)
            for _ in range(12):
                await pilot.press("pagedown")
                await pilot.pause()
                seen = page_of(pilot)
                assert max(map(cell_len, seen.splitlines())) <= size[0]
                page += packed(seen)
            assert packed("What was asked") in page
            await pilot.press("n")
            await pilot.pause()


def test_a_name_is_as_long_as_its_cells() -> None:
    assert short(WIDE, 12) == WIDE[:5] + "…"
    assert cell_len(short(WIDE, 12)) == 11
    assert short("Fe\u0301der", 5) == "Fe\u0301der"
    assert short("Fe\u0301der", 4) == "Fe\u0301d…"


def test_marks_stay_on_their_letters() -> None:
    canvas = Canvas(6, 1)
    canvas.put(0, 0, "\u0301e\u0301翼\u0301x")  # one on nothing is left out
    (line,) = canvas.lines()
    assert line.plain == "e\u0301翼\u0301x  "
    assert cell_len(line.plain) == 6


@pytest.mark.parametrize(("width", "numbers"), [(58, False), (78, True), (118, True)])
def test_counts_of_neighbouring_bars_do_not_run_into_each_other(width: int, numbers: bool) -> None:
    """Two equal bars side by side, each with all there is to tell."""
    points = tuple(f"P{n}" for n in range(12))
    bar = Tenth("", points[:6], points[6:], points[:10], points[:3])
    empty = Tenth("", (), ())
    lines = [line.plain for line in draw_margin([empty, bar, bar, *[empty] * 12], 1, width, 14)]
    words = [word for line in lines[1:10] for word in line.split()]
    assert words.count("12") == 3  # of the two bars, and of the scale
    for mark in ("✗6", "?10" if numbers else "?", "!3"):
        assert words.count(mark) == 2
