"""Another meter on the walk: what is offered, what is asked, what is left alone; a handover left."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events

from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.widgets.review.head import crew_of
from tests.ui.walking import Hand, Ticking, begin_desk, route_text, walking

METERS = """\
format = 1
[instruments.m1]
title = "four-wire meter 1"
unit = "mohm"
[instruments.quick]
title = "Meter that sleeps"
serial = "7"
unit = "mohm"
memory_size = 20
auto_off_s = 30
calibration_due = 2099-01-01
[instruments.plain]
title = "Meter without a memory"
unit = "mohm"
calibration_due = 2099-01-01
[instruments.bench]
title = "Bench meter"
unit = "mohm"
calibration_due = 2099-01-01
accuracy = { percent = 0.1, floor = 0.1, resolution = 1 }
"""


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    for name in ("routes", "shared"):
        (tmp_path / name).mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(), encoding="utf-8")
    (tmp_path / "shared" / "instruments.toml").write_text(METERS, encoding="utf-8")
    return Workspace(tmp_path, Disk())


@pytest.fixture
def desk(workspace: Workspace) -> Desk:
    return begin_desk(workspace)


async def sees(hand: Hand, words: str) -> None:
    for _ in range(300):
        if words in hand.screen():
            return
        await hand.pilot.pause(0.01)
    raise AssertionError(f"{words!r} is not on the screen:\n{hand.screen()}")


async def other_meter(hand: Hand) -> None:
    await hand.press("y")
    await sees(hand, "Which meter takes over?")


async def test_the_countdown_begins_with_a_meter_that_switches_itself_off(
    desk: Desk, workspace: Workspace
) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("‹1.1›", "enter")
        await other_meter(hand)
        await hand.press("1", "enter", "0", "‹cold›", "enter")
        await sees(hand, "ANOTHER METER  Meter that sleeps, serial 7")
        await hand.press("‹1.2›", "enter")
        await sees(hand, "RECORDED 2")
        await sees(hand, "The meter switches itself off")  # counted down below the entry line


async def test_a_meter_taken_again_is_not_taken_for_cleared(desk: Desk, workspace: Workspace) -> None:
    """What it filed before is in its memory still, unless somebody cleared it: only the meter tells."""
    known = {meter.id: meter for meter in desk.known_meters()}
    desk.take_meter(known["quick"], 3, "cold")
    desk.record(desk.weigh("1.1"))
    desk.take_meter(known["plain"], None, "battery flat")
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await other_meter(hand)
        await hand.press("2")
        said = " ".join(hand.dialog().split())
        assert "Its last number was 3, so 4; 1 only if it was cleared since" in said
        await hand.press("enter")
        assert "Meter that sleeps takes over: why?" not in hand.dialog()  # no Enter takes what is not keyed
        await hand.press("‹4›", "enter", "0", "‹warm again›", "enter")
        assert [row["number"] for row in hand.rows("run")][-1] == "4"


async def test_a_meter_without_a_memory_is_asked_for_no_number(desk: Desk, workspace: Workspace) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("‹1.1›", "enter")
        await other_meter(hand)
        await hand.press("2")
        await sees(hand, "Meter without a memory takes over: why?")
        await hand.press("0", "‹cold›", "enter")
        await sees(hand, "ANOTHER METER")
        assert "no memory" in hand.screen()
        await hand.press("‹1.2›", "enter")
        await sees(hand, "RECORDED 2")
        assert [row["number"] for row in hand.rows("reading")] == ["5", ""]
        assert hand.rows("run")[1:] == []


CHECKED = """
[instruments.checked]
title = "Meter with a standard"
unit = "mohm"
calibration_due = 2099-01-01
check_standard = { value = 2.5, tolerance = 0.05, unit = "mohm" }
"""


@pytest.mark.parametrize("reads", [True, False])
async def test_the_standard_of_the_meter_that_takes_over_is_asked_for_before_any_value(
    desk: Desk, workspace: Workspace, *, reads: bool
) -> None:
    (workspace.root / "shared" / "instruments.toml").write_text(METERS + CHECKED, encoding="utf-8")
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("y", "4", "0", "‹cold›", "enter")
        assert "before its first reading" in hand.dialog()
        assert "2.5 mΩ within 0.05 mΩ" in hand.dialog()
        if reads:
            await hand.press("‹2.51›", "enter")
            assert [row["value"] for row in hand.rows("standard")] == ["2.51"]
            assert "METER GOOD" in hand.screen()
        else:
            await hand.press("escape")
            assert hand.rows("standard") == []
            assert "ANOTHER METER  Meter with a standard" in hand.screen()
            assert "Check standard due (another meter was taken)" in hand.screen()
        assert hand.app.screen is hand.walk
        await hand.press("‹1.1›", "enter")
        assert len(hand.rows("reading")) == 1


async def test_values_keyed_ahead_are_no_reading_of_the_standard(desk: Desk, workspace: Workspace) -> None:
    (workspace.root / "shared" / "instruments.toml").write_text(METERS + CHECKED, encoding="utf-8")
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("y", "4", "0", "‹cold›")
        for key, character in (("enter", None), ("2", "2"), ("full_stop", "."), ("5", "5"), ("enter", None)):
            hand.app.post_message(events.Key(key, character))  # without a look at the screen
        await sees(hand, "Keys pressed before this was shown do not count")
        assert hand.rows("standard") == []


async def test_a_meter_without_a_standard_asks_for_none(desk: Desk, workspace: Workspace) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("y", "2", "0", "‹cold›", "enter")
        assert hand.app.screen is hand.walk
        await hand.press("p", "0", "‹rest›", "enter")
        assert "Enter or any letter: go on." in hand.dialog()
        assert "number check" not in hand.dialog()  # it has no memory


@pytest.mark.parametrize("keys", [("escape",), ("1", "escape"), ("1", "enter", "escape"), ("3", "escape")])
async def test_left_on_the_way_nothing_is_written(
    keys: tuple[str, ...], desk: Desk, workspace: Workspace
) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        before = len(hand.trail())
        await other_meter(hand)
        await hand.press(*keys, "a", "escape")
        assert len(hand.trail()) == before
        await hand.press("‹1.1›", "enter")
        await sees(hand, "RECORDED 1")


async def test_a_handover_to_those_at_work_is_refused_in_words(desk: Desk, workspace: Workspace) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("a", "enter", "enter", "0", "‹shift›", "enter")
        await sees(hand, "Ada probes and Bo records already: name who takes over")
        assert hand.rows("handover") == []


async def test_a_meter_that_cannot_tell_the_limits_says_so_and_takes_no_finer_digit(
    desk: Desk, workspace: Workspace
) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        await hand.press("‹1.1›", "enter")
        await other_meter(hand)
        await hand.press("3")
        await sees(hand, "Bench meter takes over: why?")
        assert "TOO COARSE for 3 of 3 limits: one step is 1 mΩ" in hand.dialog()
        await hand.press("0", "‹cold›", "enter")
        assert "ANOTHER METER  Bench meter  TOO COARSE for 3 of 3 limits" in hand.screen()
        assert "! Meter TOO COARSE for the limit" in hand.screen()  # stands at each of the points
        await hand.press("‹1.9›", "enter")
        assert "STOPPED: NOTHING IS RECORDED YET" in hand.dialog()
        assert "has a digit that Bench meter cannot show" in " ".join(hand.dialog().split())
        await hand.press("enter")  # no yes
        assert len(hand.rows("reading")) == 1
        await hand.press("slash", "0", "‹old meter›", "enter")
        row = hand.rows("reading")[-1]
        assert (row["value"], row["reason"]) == ("1.9", "old meter")


def test_the_head_of_the_review_names_everyone_who_recorded_and_every_meter(
    desk: Desk, workspace: Workspace
) -> None:
    desk.hand_over("shift change", recorder="Cleo")
    desk.take_meter(next(each for each in desk.known_meters() if each.id == "quick"), 1, "cold")
    desk.leave()
    said = crew_of(read_session(Disk(), desk.folder)).plain
    assert said == "prober Ada   recorder Bo, then Cleo   four-wire meter 1, then Meter that sleeps 7"
