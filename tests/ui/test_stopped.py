"""A stopped line: the value read again is keyed as a value, and no digit of it answers anything."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from textual import events

from fieldtui.desk.entry import READ_AGAIN
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.stopped import StoppedDialog, WhyStandsDialog
from tests.ui.keystrokes import KEYPAD
from tests.ui.walking import Hand, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]
TOLD = "Keys pressed before this was shown do not count."


@pytest.fixture
def walked(workspace: Workspace) -> Desk:
    """Three readings of points under one limit, so that a tenfold one is doubtful."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(8), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in ("1.38", "1.31", "1.45"):
        desk.record(desk.weigh(value))
    return desk


def readings(hand: Hand) -> list[tuple[str, str, str]]:
    """Point, value and reason of what was recorded after the first three."""
    return [(row["point"], row["value"], row["reason"]) for row in hand.rows("reading")[3:]]


@pytest.mark.parametrize("read_now", ["1.55", "0.9", ".95", "1550u", "1L5"])
async def test_the_value_read_again_takes_the_place_of_the_one_keyed(
    walked: Desk, app_of: AppOf, read_now: str
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter")
        assert isinstance(hand.app.screen, StoppedDialog)
        assert "15.5 mΩ, FAIL" in hand.dialog() and "What the prober reads now (mΩ):" in hand.dialog()
        await hand.press(f"‹{read_now}›", "enter")
        ((point, value, reason),) = readings(hand)
        assert (point, reason) == ("SW-04", "")
        assert hand.rows("reading")[-1]["verdict"] == "pass" and value != "15.5"
        assert "SW-05  Flap track 5 jumper" in hand.screen() and hand.walk.entry.text == ""


@pytest.mark.parametrize("size", [(40, 9), (40, 12), (60, 17), (80, 24)])
async def test_what_is_keyed_is_seen_on_any_terminal_that_takes_a_value(
    walked: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(walked), walked, size) as hand:
        await hand.press("‹15.5›", "enter", "‹9.87›")
        assert "STOPPED: NOTHING IS RECORDED YET" in hand.dialog() and "9.87█" in hand.dialog()
        await hand.press("minus", "enter")
        assert "Key what the prober reads now" in hand.dialog()


async def test_a_value_that_begins_with_nought_is_no_own_words(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", "0", "enter", "‹1.2›", "enter")
        # 0 is a reading of nought and asked about in its turn; 1.2 then takes its place
        assert readings(hand) == [("SW-04", "1.2", "")]


async def test_the_same_read_again_is_recorded_and_says_so(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", "‹15.5m›", "enter")
        assert readings(hand) == [("SW-04", "15.5", READ_AGAIN)]
        assert "RECORDED 4" in hand.screen()


async def test_another_doubtful_value_stops_again_and_is_the_one_on_the_line(
    walked: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", "‹1..5›", "enter")
        assert "more than one point" in hand.dialog()
        await hand.press("minus", "‹155›", "enter")
        assert "155 mΩ" in hand.dialog() and "15.5 mΩ" not in hand.dialog()
        await hand.press("escape")
        assert hand.app.screen is hand.walk and hand.walk.entry.text == "155"
        assert readings(hand) == []


async def test_enter_alone_does_nothing_and_says_what_to_do(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", "enter")
        assert "Key what the prober reads now" in hand.dialog()
        await hand.press("x", "enter")
        assert isinstance(hand.app.screen, StoppedDialog) and readings(hand) == []


@pytest.mark.parametrize("key", ["slash", "w"])
async def test_another_reason_lies_behind_a_key_that_begins_no_value(
    walked: Desk, app_of: AppOf, key: str
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", key)
        assert isinstance(hand.app.screen, WhyStandsDialog)
        assert READ_AGAIN not in hand.dialog()  # that is keyed, not picked
        await hand.press("minus")
        assert isinstance(hand.app.screen, StoppedDialog)
        await hand.press(key, "2")
        offered = [each for each in walked.session.reasons.of("confirm") if each != READ_AGAIN]
        assert readings(hand) == [("SW-04", "15.5", offered[1])]


async def test_on_the_keypad_it_is_left_by_a_minus(walked: Desk, app_of: AppOf) -> None:
    assert "minus" in KEYPAD and "slash" in KEYPAD
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹15.5›", "enter", "1", "minus", "minus")
        assert hand.app.screen is hand.walk and hand.walk.entry.text == "15.5"
        assert readings(hand) == []


async def test_where_voltages_are_keyed_a_minus_begins_one_and_two_leave(
    workspace: Workspace, app_of: AppOf
) -> None:
    text = route_text(2, method='"reversed"', current_ma="100")
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹0.145›", "enter", "‹0.142›", "enter")
        assert "STOPPED" in hand.dialog()  # the same sign
        await hand.press("minus", "minus")
        assert hand.app.screen is hand.walk and hand.walk.entry.text == "0.142"
        await hand.press("enter", "‹-0.142›", "enter")
        assert [(row["value"], row["reason"]) for row in hand.rows("reading")] == [
            ("0.145", ""),
            ("-0.142", ""),
        ]


# --- memory numbers -----------------------------------------------------------------------


async def test_the_same_number_again_leads_to_the_reasons_for_it(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹17 1.38›", "enter", "‹17 1.38›", "enter")
        assert isinstance(hand.app.screen, WhyStandsDialog) and "Memory number 17" in hand.dialog()
        await hand.press("2")
        (row,) = hand.rows("reading")[3:]
        assert (row["number"], row["reason"]) == ("17", walked.session.reasons.of("renumber")[1])


async def test_another_number_is_weighed_anew_and_without_one_it_stays_stopped(
    walked: Desk, app_of: AppOf
) -> None:
    """The value alone says nothing of the number that was called: it would be forgotten."""
    async with walking(app_of(walked), walked) as hand:
        await hand.press("‹17 1.38›", "enter", "‹18 1.38›", "enter")
        assert "memory number 18 keyed, 8 expected" in hand.dialog()
        await hand.press("‹1.38›", "enter")
        assert "The number is in doubt: key it with the value, such as 18 1.38." in hand.dialog()
        assert len(hand.rows("reading")) == 3
        await hand.press(*["backspace"] * 4, "‹8 1.38›", "enter")
        (row,) = hand.rows("reading")[3:]
        assert (row["number"], row["reason"]) == ("8", "") and hand.rows("renumber") == []


# --- keys that were on their way ----------------------------------------------------------


async def test_keys_of_a_hand_that_has_not_seen_it_are_no_value(
    walked: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next value, keyed before a person can have seen that the line stopped, is none of this point."""
    monkeypatch.setattr(StoppedDialog, "LOOK_S", 3600.0)  # until the test says so
    async with walking(app_of(walked), walked) as hand:
        await hand.pilot.press(*"15.5", "enter")
        for _ in range(500):
            if isinstance(hand.app.screen, StoppedDialog) and hand.app.is_painted:
                break
            await hand.pilot.pause(0.01)
        screen = hand.app.screen
        assert isinstance(screen, StoppedDialog)
        for character in "1.2":
            hand.app.post_message(events.Key({".": "full_stop"}.get(character, character), character))
        hand.app.post_message(events.Key("enter", None))
        await hand.pilot.pause()
        screen._looked()
        await hand.settle()
        await hand.until(TOLD)
        assert hand.app.screen is screen and readings(hand) == []


# --- corrections --------------------------------------------------------------------------


async def test_a_correction_is_asked_about_as_a_keyed_value_is(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("w", "enter", "‹1.55k›", "enter")
        assert isinstance(hand.app.screen, StoppedDialog)
        assert "Record 3 would be: 1.55 kΩ, FAIL" in hand.dialog()
        await hand.press("escape")
        assert hand.rows("amend") == [] and "Record 3 is not corrected" in hand.screen()
        assert hand.walk.entry.text == ""
        await hand.press("w", "enter", "‹1.55k›", "enter", "‹1.55›", "enter", "1")
        (row,) = hand.rows("amend")
        assert (row["ref"], row["value"], row["unit"]) == ("3", "1.55", "mohm")
        assert row["reason"] == walked.session.reasons.of("amend")[0]


async def test_a_correction_that_stands_says_both_reasons(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("w", "enter", "‹14.5›", "enter", "‹14.5›", "enter", "1")
        (row,) = hand.rows("amend")
        assert row["reason"] == f"{walked.session.reasons.of('amend')[0]}; {READ_AGAIN}"


def test_the_value_that_is_corrected_does_not_vouch_against_what_it_should_have_said(walked: Desk) -> None:
    """It was keyed wrong: the right one is not held against it as against another reading of its take."""
    entry = walked.weigh("14.5")
    walked.record(replace(entry), "keyed wrong on purpose")
    assert walked.weigh_correction(4, "1.45").doubts == ()
    assert walked.weigh_correction(4, "145").doubts != ()
