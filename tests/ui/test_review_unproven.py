"""What a broken trail does not prove is marked on every page of the review, by shape and word."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.files.disk import Disk
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.widgets.review.charts import CHARTS
from fieldtui.ui.widgets.review.sheets import POINTS, READINGS
from tests.desk.session_maker import SessionMaker
from tests.ui.review_fixtures import page_of, shown_screen


@pytest.fixture
def session(tmp_path: Path) -> ReadSession:
    """SW-01 fails and is proven; of SW-02 and SW-03 the trail proves nothing: row 3 was changed."""
    folder = SessionMaker(tmp_path).make("2025-05-04", SW_01="2.60", SW_02="1.40", SW_03="1.00")
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b",1.40,", b",1.10,"))
    return read_session(Disk(), folder)


def test_the_tables_of_points_and_readings(session: ReadSession) -> None:
    points = {row.point: row for row in POINTS.rows(session)}
    assert [points[name].cells[1] for name in ("SW-01", "SW-02")] == ["✗ FAILED", "! UNPROVEN, passed"]
    readings = [row.cells[3] for row in READINGS.rows(session)]
    assert readings == ["✗ FAIL", "! UNPROVEN, pass", "! UNPROVEN, pass"]
    assert points["SW-02"].is_loud
    for sheet, count in ((POINTS, 2), (READINGS, 2)):
        (unproven,) = (each for each in sheet.which if each.name == "unproven")
        assert sum(map(unproven.choose(session), sheet.rows(session))) == count


@pytest.mark.parametrize("size", [(60, 24), (80, 24), (120, 40)])
async def test_sections_and_exceptions_promise_nothing(session: ReadSession, size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session), size) as pilot:
        page = " ".join(page_of(pilot).split())
        assert "2 UNPROVEN" in page
        assert "! SW Starboard wing: " in page
        assert "2 of them UNPROVEN" in page
        await pilot.press("8")
        page = " ".join(page_of(pilot).split())
        assert "! SW Starboard wing" in page
        assert "2 of them UNPROVEN" in page
        assert "✓" not in page


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_charts(session: ReadSession, size: tuple[int, int]) -> None:
    async with shown_screen(ReviewScreen(session), size) as pilot:
        await pilot.press("7")
        for chart in CHARTS[:2]:
            assert f" {chart} " in page_of(pilot)
            legend = next(line for line in page_of(pilot).splitlines() if "! UNPROVEN" in line)
            assert "✗ fail" in legend
            assert "● pass" not in legend  # none is drawn as a plain pass
            await pilot.press("7")
        assert "! 2 UNPROVEN" in page_of(pilot)  # margins
        await pilot.press("right", "right", "right", "right")
        assert "UNPROVEN: SW-02" in page_of(pilot)
        await pilot.press("7", "7", "right")  # history, of SW-02
        assert "No survey has a proven value of this point." in page_of(pilot)


async def test_what_is_marked_is_told_and_the_story_says_it(session: ReadSession) -> None:
    async with shown_screen(ReviewScreen(session)) as pilot:
        await pilot.press("7", "right")
        assert "! UNPROVEN, pass" in page_of(pilot)
        await pilot.press("enter")
        assert "! UNPROVEN, passed" in page_of(pilot)
