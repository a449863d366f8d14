"""One point's whole story on one page: opened, read, left, and its neighbours by one key."""

from __future__ import annotations

from typing import Any

import pytest
from textual.widgets import Static

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit, PathLimit, Point, Section
from fieldtui.core.trail import events as ev
from fieldtui.desk.earlier import NO_EARLIER
from fieldtui.ui.pages.point_story import PointStoryPage
from fieldtui.ui.screens.review import ReviewScreen
from tests.ui.review_fixtures import Story, heard_by, mohm, page_of, route_of, shown_screen
from tests.ui.review_rich import earlier, session
from tests.ui.test_review import HOSTILE, VISIBLE

SIZES = [(80, 24), (120, 40), (200, 60)]


def text_of(pilot: Any) -> str:
    """All of the story, what is scrolled out of sight too, in one line."""
    page = pilot.app.screen
    assert isinstance(page, PointStoryPage)
    halves = [str(page.query_one(f"#story-{side}", Static).visual) for side in ("left", "right")]
    return " ".join(" ".join(halves).split())


@pytest.mark.parametrize("size", SIZES)
async def test_the_whole_story_stands_on_one_page(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session(), None, earlier), size) as pilot:
        await pilot.app.workers.wait_for_complete()
        await pilot.press("3", "enter")
        await pilot.pause()
        assert "SW-01   Title of SW-01   ? IN DOUBT, passed   point 1 of 7" in page_of(pilot)
        text = text_of(pilot)
    for words in (
        "as found 4.10 mΩ, fail IN DOUBT (record 1)",
        "as left 1.95 mΩ, pass IN DOUBT (record 3, retest)",
        "IN DOUBT record 1, 2, 3: the meter failed its check in row 30",
        "restored NOT YET: conversion coat",
        "10 08:35:00 reading record 1: 4.10 mΩ, fail, memory run 1, 2, doubtful, and confirmed Ana",
        "reason read twice, the same",
        "13 08:38:00 amend record 2: value 8.30 mΩ became 3.80 mΩ Ana reason misheard",
        "15 08:40:00 rework repaired, discrepancy NR-17; readings from here on are retests",
        "judged 1.8763 mΩ, corrected to 20 °C from 30.0 °C (copper)",
        "U 0.030 mΩ (expanded)",
        "conforms with a probability of above 99.9 %",
        "P1 Strut to spar: <= 4.0 mΩ",
        "in series SW-01 1.8763 mΩ at 20 °C + SW-02 2.48 mΩ",
        "sum 4.3563 mΩ, fail IN DOUBT",
        "criterion Equipment frame to structure (equipment-frame)",
        "source FAA AC 43.13-1B, 11-188f",
        "status quoted: the text was seen in a public copy",
        "after rework <= 2.0 mΩ",
        "CAUTION fuel vent 1 m forward",
        "2025-05-04 1.60 mΩ (1.5395 mΩ at 20 °C), pass against < 2.5 mΩ",  # 1.60 / (1 + 0.00393 * 10)
    ):
        assert words in text, words


async def test_keys_go_to_the_neighbours_in_the_order_of_the_table_and_back_to_it() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("3", "o", "enter")  # by value: TL-02 TL-01 SW-01 …; SW-01 stays marked
        await pilot.pause()
        assert "SW-01" in page_of(pilot).splitlines()[0]
        await pilot.press("n")
        assert "SW-02" in page_of(pilot).splitlines()[0]
        await pilot.press("p", "left")
        assert "TL-01   Title of TL-01   ✓ passed   point 2 of 7" in page_of(pilot)
        await pilot.press("escape")
        await pilot.pause()
        page = page_of(pilot)
        assert "by value: lowest first" in page
        assert "point TL-01" in page  # it is marked now
        assert heard_by(pilot) == []


async def test_the_first_and_the_last_point_say_so() -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press("3", "enter", "p")
        await pilot.press("escape", "end", "enter", "n")
        await pilot.pause()
        said = [each.message for each in pilot.app._notifications]
    assert said == ["This is the first point.", "This is the last point."]


@pytest.mark.parametrize(
    ("keys", "head"),
    [
        (["2", "end", "enter"], "TL-03"),  # the last reading
        (["4", *["down"] * 7, "enter"], "SW-01"),  # row 8, the skip
        (["7", "right", "enter"], "SW-02"),
        (["slash", *"p1 strut", "enter", "enter"], ""),  # a path is about no single point
        (["slash", *"waived", "enter", "enter"], "SW-03"),
        (["5", "enter"], ""),
    ],
)
async def test_enter_tells_the_point_of_whatever_is_marked(keys: list[str], head: str) -> None:
    async with shown_screen(ReviewScreen(session())) as pilot:
        await pilot.press(*keys)
        await pilot.pause()
        first = page_of(pilot).splitlines()[0]
        if head:
            assert first.split()[0] == head
        else:
            assert not isinstance(pilot.app.screen, PointStoryPage)
            assert [each.message for each in pilot.app._notifications] == ["This is about no single point."]


async def test_earlier_surveys_come_up_on_a_page_that_is_open_already() -> None:
    async with shown_screen(ReviewScreen(session(), None, lambda: NO_EARLIER)) as pilot:
        await pilot.app.workers.wait_for_complete()
        await pilot.press("3", "enter")
        await pilot.pause()
        assert "no survey of this route and asset from before" in text_of(pilot)
        page = pilot.app.screen
        assert isinstance(page, PointStoryPage)
        page._stories.earlier = earlier()
        page.refresh_story()
        assert "2023-05-05 1.10 mΩ" in text_of(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_hostile_text_is_shown_as_it_is_on_every_new_page(size: tuple[int, int]) -> None:
    limit = Limit(maximum=mohm("1"), criterion=HOSTILE, source=HOSTILE)
    names = (HOSTILE, f"{HOSTILE}2")
    points = [
        Point(
            name, HOSTILE, HOSTILE, Unit.MOHM, limit, HOSTILE, HOSTILE, HOSTILE, pair=other,
            condition=HOSTILE, caution=HOSTILE, restore=HOSTILE,
        )
        for name, other in (names, names[::-1])
    ]  # fmt: skip
    route = route_of(
        *points, title=HOSTILE, sections=(Section(HOSTILE, HOSTILE),),
        paths=(PathLimit(HOSTILE, HOSTILE, names, limit),),
    )  # fmt: skip
    story = Story(route, by=HOSTILE)
    story.read(HOSTILE, "3.0", note=HOSTILE, reason=HOSTILE).read(names[1], "0.5")
    story.tell(ev.Paused, reason=HOSTILE, note=HOSTILE)
    async with shown_screen(ReviewScreen(story.session()), size) as pilot:
        for keys in (["8"], ["9"], *[["7"]] * 5, ["3", "enter"]):
            await pilot.press(*keys)
            await pilot.pause()
            page = page_of(pilot)
            assert "\x1b" not in page
            assert "\u202e" not in page
            assert "[bold]" in page, keys
        assert VISIBLE in page
        assert VISIBLE in text_of(pilot)
