"""Drift that nobody answered is asked again when the session is resumed; what was answered is not."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from fieldtui.desk.opening import resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.pages.drift_points import PointDriftScreen
from tests.ui.walking import Hand, Ticking, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]
VALUES = "0.52 1.9 0.81 1.4 0.33 1.1 2.2 0.64 1.7 0.45 1.25 0.92".split()  # neighbours differ by a factor
ONE_PASSED_OVER = VALUES[:4] + VALUES[5:9]  # the fifth point was never probed


@pytest.fixture
def surveyed(workspace: Workspace) -> Workspace:
    """Twelve points that were surveyed twice before, the same values each time."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    for _ in range(2):
        with begin_desk(workspace) as desk:
            for value in VALUES:
                desk.record(desk.weigh(value))
            desk.close()
    return workspace


def left_with(workspace: Workspace, values: Sequence[str]) -> Desk:
    """A desk with these values on record, whatever the drift watch made of them."""
    desk = begin_desk(workspace)
    for value in values:
        entry = desk.weigh(value)
        desk.record(entry, "read again" if entry.doubts else "")
    return desk


def in_front(hand: Hand) -> str:
    return type(hand.app.screen).__name__


def resumed(workspace: Workspace, desk: Desk) -> Desk:
    desk.leave()
    return resume_session(workspace, desk.folder, Ticking())


async def test_an_alarm_left_open_is_shown_again(surveyed: Workspace, app_of: AppOf) -> None:
    desk = resumed(surveyed, left_with(surveyed, ONE_PASSED_OVER))
    async with walking(app_of(desk), desk) as hand:
        await hand.settle()
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert "One point passed over" in hand.screen()
        await hand.press("escape")
        assert in_front(hand) == "WalkScreen"
        await hand.press(f"‹{VALUES[9]}›", "enter")  # the walk goes on as ever
        assert in_front(hand) != "PointDriftScreen"


async def test_readings_are_moved_from_there(surveyed: Workspace, app_of: AppOf) -> None:
    desk = resumed(surveyed, left_with(surveyed, ONE_PASSED_OVER))
    async with walking(app_of(desk), desk) as hand:
        await hand.settle()
        await hand.press("down", "enter", "enter", "1", "enter")
        if hand.app.screen is not hand.walk:
            await hand.press("1")
        (row,) = hand.rows("shift")
        assert row["point"] == "SW-06"
    again = resumed(surveyed, desk)
    assert again.lookout.standing == ()
    again.leave()


async def test_an_alarm_found_to_be_none_is_not_shown_again(surveyed: Workspace, app_of: AppOf) -> None:
    desk = left_with(surveyed, ONE_PASSED_OVER)
    assert desk.lookout.standing
    desk.in_step()
    assert desk.lookout.standing == ()
    desk = resumed(surveyed, desk)
    assert desk.lookout.standing == ()
    async with walking(app_of(desk), desk) as hand:
        await hand.settle()
        assert hand.app.screen is hand.walk


async def test_a_walk_in_step_is_resumed_without_a_word(surveyed: Workspace, app_of: AppOf) -> None:
    desk = resumed(surveyed, left_with(surveyed, VALUES[:8]))
    async with walking(app_of(desk), desk) as hand:
        await hand.press(f"‹{VALUES[8]}›", "enter")
        assert hand.app.screen is hand.walk
        assert [row["value"] for row in hand.rows("reading")][-1] == VALUES[8]


async def test_a_shift_that_ended_unanswered_is_shown_too(surveyed: Workspace, app_of: AppOf) -> None:
    """The readings in between still stand at the wrong points."""
    values = [*VALUES[:3], *VALUES[4:8], *VALUES[7:]]
    desk = resumed(surveyed, left_with(surveyed, values))
    async with walking(app_of(desk), desk) as hand:
        await hand.settle()
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert "in step again" in hand.screen().lower()
