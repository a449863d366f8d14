"""The review: exceptions first, every page by one key, nothing hidden, nothing touched."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Caution
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.errors import Problem
from fieldtui.files.disk import Disk
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Finding
from fieldtui.ui.screens import review
from fieldtui.ui.screens.review import PAGES, ReviewScreen
from fieldtui.ui.widgets.review.findings import FindingList
from tests.ui.review_fixtures import POINTS, Probe, Story, heard_by, mohm, page_of, route_of, shown_screen
from tests.ui.test_start import take, workspace_in

SIZES = [(80, 24), (120, 40)]
HOSTILE = "[bold]x[/] [P-014] \x1b[2J\u202e"
VISIBLE = "[bold]x[/] [P-014] \\u{1b}[2J\\u{202e}"


def eventful() -> Story:
    """Fail, redo, void, amendment, skip: not closed."""
    story = Story().brief(calibration="loan meter").tell(ev.RunStarted, run=1, number=1)
    story.read("SW-01", "2.500").tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips cleaned")
    story.read("SW-01", "1.38").tell(ev.Skipped, point="SW-02", reason="paint not stripped")
    story.read("HU-02", "0.47").tell(ev.Voided, ref=3, point="HU-02", reason="wrong point")
    return story.tell(ev.Amended, ref=2, reading=mohm("1.83"), verdict=Verdict.PASS, reason="digits swapped")


@pytest.mark.parametrize("size", SIZES)
async def test_it_opens_on_the_exceptions_under_who_what_and_how_far_to_trust_it(
    size: tuple[int, int],
) -> None:
    async with shown_screen(ReviewScreen(eventful().session()), size) as pilot:
        page = page_of(pilot)
    for words in (
        "Starboard wing bonds   amphibious twin ZX-41   job JC-2207",
        "NOT CLOSED   1 of 4 points settled   3 readings",
        "✓ chain INTACT   14 rows   seal 0123 4567 89ab cdef 0123 4567 89ab cdef",
        "OVERRIDE  calibration: calibration lapsed on 2026-01-31",
        "reason: loan meter",
        "UNSETTLED  Tank vent: skipped",
        "reason: paint not stripped",
    ):
        assert words in page


async def test_the_crew_stands_in_the_head_where_there_is_room() -> None:
    async with shown_screen(ReviewScreen(eventful().session()), (120, 40)) as pilot:
        assert "prober Ben   recorder Ana   Small bond meter 0417" in page_of(pilot)


async def test_how_far_the_sections_are_done_comes_before_all_else() -> None:
    async with shown_screen(ReviewScreen(eventful().session())) as pilot:
        page = page_of(pilot)
        assert "○ NOT COMPLETE  2 open, 1 skipped" in page
        assert "○ SW Starboard wing: 1 of 2 settled   1 passed, 1 skipped" in page
        assert page.index("NOT COMPLETE") < page.index("OVERRIDE")
        await pilot.press("8")
        page = page_of(pilot)
    assert "SW Starboard wing        █████░░░░░  1 of 2 settled" in page
    assert "Pace" in page


async def test_a_broken_chain_says_so_and_where() -> None:
    problem = Problem("Row 7 was changed.", "Look for an untouched copy.", "trail.csv", 8, "value")
    async with shown_screen(ReviewScreen(eventful().session(problems=(problem,)))) as pilot:
        page = page_of(pilot)
    assert "✗ CHAIN BROKEN" in page
    assert "TRAIL  Row 7 was changed.   [trail.csv:8, value]" in page
    assert "to do: Look for an untouched copy." in page


async def test_a_clean_survey_says_that_there_is_nothing() -> None:
    story = Story(route_of(*(point for point in POINTS if point.id != "HU-01"))).clean()
    async with shown_screen(ReviewScreen(story.session())) as pilot:
        assert "✓ No exceptions" in page_of(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_readings_keep_void_ones_and_say_what_was_there_before(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(eventful().session()), size) as pilot:
        await pilot.press("2")
        page = page_of(pilot)
        assert "✗ FAIL" in page
        assert "/ VOID" in page
        await pilot.press("down")
        assert "was 1.38 mΩ" in page_of(pilot)
        await pilot.press("r", "down", "down")
        assert "void: wrong point" in page_of(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_points_stand_in_walking_order_with_as_found_and_as_left(size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(eventful().session()), size) as pilot:
        await pilot.press("p")
        page = page_of(pilot)
    row = next(line for line in page.splitlines() if line.lstrip().startswith("SW-01"))
    assert row.split()[:6] == ["SW-01", "✓", "passed", "2.500", "mΩ", "1.83"]
    assert page.index("SW-01") < page.index("SW-02") < page.index("HU-01") < page.index("HU-02")
    assert "» skipped" in page
    assert "○ open" in page


async def test_the_row_under_the_cursor_is_written_out_in_full() -> None:
    async with shown_screen(ReviewScreen(eventful().session()), (80, 24)) as pilot:
        await pilot.press("3")
        text = " ".join(page_of(pilot).split())
    assert "limit < 2.5 mΩ (equipment-frame)" in text
    assert "title Flap jumper" in text
    assert "A track B spar" in text


async def test_the_trail_has_every_row_and_end_goes_to_the_last() -> None:
    story = eventful()
    for count in range(40):
        story.tell(ev.Noted, point="HU-01", note=f"remark {count}")
    async with shown_screen(ReviewScreen(story.session())) as pilot:
        await pilot.press("t")
        assert "54 in all" in page_of(pilot)
        assert "remark 39" not in page_of(pilot)
        await pilot.press("end")
        assert "note remark 39" in " ".join(page_of(pilot).split())
        await pilot.press("home")
        assert "kind start" in page_of(pilot)


async def test_arrows_bring_hidden_columns_into_sight() -> None:
    async with shown_screen(ReviewScreen(eventful().session()), (80, 24)) as pilot:
        await pilot.press("4")
        head = page_of(pilot).splitlines()[6]
        assert head.split()[:2] == ["row", "time"]
        assert "reason" not in head
        await pilot.press(*["right"] * 6)
        assert "reason" in page_of(pilot).splitlines()[6]


@pytest.mark.parametrize("key", ["1", "2", "3", "4"])
async def test_a_search_shows_only_rows_with_all_the_words_on_every_page(key: str) -> None:
    async with shown_screen(ReviewScreen(eventful().session()), (120, 40)) as pilot:
        await pilot.press("slash", *"SW-02", "enter", key)
        page = page_of(pilot)
        assert "with: SW-02" in page
        body = "\n".join(page.splitlines()[5:])
        assert "SW-01" not in body
        await pilot.press("escape")
        assert "with:" not in page_of(pilot)
        assert heard_by(pilot) == []


async def test_a_search_takes_words_in_any_order_and_any_case() -> None:
    async with shown_screen(ReviewScreen(eventful().session())) as pilot:
        await pilot.press("slash", *"STRIPPED vent")
        page = page_of(pilot)
        assert "UNSETTLED  Tank vent" in page
        assert "1 of " in page
        await pilot.press(*" nowhere")
        assert "no exception has these words" in page_of(pilot)


async def test_letters_go_into_the_search_and_not_to_the_pages() -> None:
    async with shown_screen(ReviewScreen(eventful().session())) as pilot:
        await pilot.press("slash", *"trpq1234?")
        assert "trpq1234?" in page_of(pilot)
        assert heard_by(pilot) == []


async def test_facts_tell_crew_meter_brief_counts_seal_and_cautions() -> None:
    async with shown_screen(ReviewScreen(eventful().session()), (120, 60)) as pilot:
        await pilot.press("5")
        page = page_of(pilot)
    for words in (
        "prober          Ben",
        "calibration     OVERRIDDEN: calibration lapsed on 2026-01-31; went on because: loan meter",
        "ambient         18.5 °C",
        "seal            0123 4567 89ab cdef 0123 4567 89ab cdef",
        "What comes first  Local codes and the approved maintenance data decide.",
    ):
        assert words in page


@pytest.mark.parametrize("key", ["q", "escape"])
async def test_leaving_tells_the_app(key: str) -> None:
    async with shown_screen(ReviewScreen(eventful().session())) as pilot:
        await pilot.press(key)
        (message,) = heard_by(pilot)
    assert isinstance(message, ReviewScreen.Left)


@pytest.mark.parametrize("page_number", range(1, PAGES.index("remarks") + 1))
async def test_hostile_text_in_every_field_is_shown_as_it_is(page_number: int) -> None:
    point = Point(HOSTILE, HOSTILE, HOSTILE, Unit.MOHM, Limit(maximum=mohm("1"), criterion=HOSTILE), HOSTILE)
    story = Story(route_of(point, title=HOSTILE, asset=HOSTILE), by=HOSTILE)
    story.read(HOSTILE, "3.0", note=HOSTILE, reason=HOSTILE)
    story.tell(ev.Voided, ref=1, point=HOSTILE, reason=HOSTILE)
    session = story.session(
        crew=Crew(HOSTILE, HOSTILE), job=HOSTILE, cautions=(Caution("c", HOSTILE, HOSTILE),)
    )
    async with shown_screen(ReviewScreen(session), (160, 50)) as pilot:
        await pilot.press(str(page_number), "down")
        page = page_of(pilot)
    assert "\x1b" not in page
    assert "\u202e" not in page
    body = "\n".join(page.splitlines()[5:])
    assert VISIBLE in body


async def test_a_session_written_meanwhile_is_read_and_left_alone(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    folder = take(workspace, "wing", "1.38", "2.5")
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes() + b"9,2026-05-04T08:")  # a row another program has half saved
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    session = read_session(Disk(), folder)
    async with shown_screen(ReviewScreen(session)) as pilot:
        page = page_of(pilot)
        assert "✓ chain INTACT" in page
        assert "UNFINISHED ROW" in page
        await pilot.press(*"2345789", "3", "enter", "n", "escape", "slash", *"flap", "enter", "escape", "q")
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()} == before


def with_recoveries(count: int) -> Story:
    """A trail with so many exceptions of one kind."""
    story = Story()
    for number in range(count):
        story.tell(ev.Recovered, ref=f"torn-{number}.bin", note=f"tail {number} set aside")
    return story


async def test_thousands_of_exceptions_come_up_as_the_cursor_comes_to_them() -> None:
    session = with_recoveries(1000).session()
    async with shown_screen(ReviewScreen(session)) as pilot:
        listed = pilot.app.screen.query_one(FindingList)
        every = len(find_exceptions(session))
        assert f"{every} in all" in page_of(pilot)
        assert listed.option_count < every
        for _ in range(3):
            await pilot.press("end")
            await pilot.pause()
        assert listed.marked is not None
        assert listed.marked == find_exceptions(session)[-1]
        assert listed.option_count == every + 1  # the sections stand before them


async def test_the_exceptions_of_a_long_trail_are_found_while_other_pages_can_be_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(review, "LONG", 10)
    may_go_on = threading.Event()

    def slowly(session: ReadSession) -> list[Finding]:
        assert may_go_on.wait(30)
        return find_exceptions(session)

    monkeypatch.setattr(review, "find_exceptions", slowly)
    app = Probe(ReviewScreen(eventful().session()))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "going through the trail" in page_of(pilot)
        assert "No exceptions" not in page_of(pilot)
        await pilot.press("2")
        assert "/ VOID" in page_of(pilot)
        may_go_on.set()
        await pilot.app.workers.wait_for_complete()
        await pilot.press("1")
        assert "OVERRIDE  calibration" in page_of(pilot)
