"""Readings that stand at other points than they were taken at: the crew moves them, and moves them back."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.pages.drift_points import PointDriftScreen
from tests.ui.walking import HIGH, LOW, Hand, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]


@pytest.fixture
def walked(workspace: Workspace) -> Desk:
    """Five readings at the first five of ten points; no other survey of the route is known."""
    text = route_text(10)
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(workspace)
    for value in ("1.1", "1.2", "1.3", "1.4", "1.5"):
        desk.record(desk.weigh(value))
    return desk


def points(hand: Hand) -> list[str]:
    return [each.point for each in hand.walk.desk.survey.records.values()]


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_readings_are_moved_and_moved_back(walked: Desk, app_of: AppOf, size: tuple[int, int]) -> None:
    async with walking(app_of(walked), walked, size) as hand:
        await hand.press("equals_sign")
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert "MOVE READINGS" in hand.screen()
        assert "Readings from record 5 on belong 1 point further" in hand.screen()
        await hand.press("up", "up")
        assert "Readings from record 3 on belong 1 point further" in hand.screen()
        assert "SW-05        → SW-06" in hand.screen()
        await hand.press("enter", "1", "enter")
        assert points(hand) == ["SW-01", "SW-02", "SW-04", "SW-05", "SW-06"]
        assert "= moves them back" in hand.screen()
        await hand.press("equals_sign", "up", "up", "left")
        assert "Readings from record 3 on belong 1 point back" in hand.screen()
        await hand.press("enter", "2", "enter")
        assert points(hand) == ["SW-01", "SW-02", "SW-03", "SW-04", "SW-05"]
        assert [row["kind"] for row in hand.trail()][-2:] == ["shift", "shift"]


async def test_some_in_the_middle_are_moved_alone(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("equals_sign", "asterisk", "asterisk", "asterisk", "4", "4", "9", "9", "9", "9")
        assert "Readings from record 2 to record 3 belong 5 points further" in hand.screen()
        await hand.press("6")
        assert "Readings from record 2 to record 4 belong 5 points further" in hand.screen()
        await hand.press("4", "enter", "2", "enter")
        assert points(hand) == ["SW-01", "SW-07", "SW-08", "SW-04", "SW-05"]


async def test_left_nothing_moves(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        rows = hand.trail()
        await hand.press("equals_sign", "minus")
        assert hand.app.screen is hand.walk
        await hand.press("equals_sign", "enter", "escape", "escape")
        assert hand.app.screen is hand.walk
        assert hand.trail() == rows


async def test_without_a_reading_there_is_nothing_to_move(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("equals_sign")
        assert "No reading has been taken yet" in hand.screen()
