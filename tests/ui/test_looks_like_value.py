"""A value keyed where a question is asked answers nothing, and half a value is not recorded."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.core.account.closing import Group
from fieldtui.desk.session_desk import Desk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.widgets.close_list import CloseList
from fieldtui.ui.widgets.entry_line import EntryLine
from tests.ui.walking import walking

AppOf = Callable[[Desk], FieldApp]
SAID = "That looks like a value: nothing was done."


@pytest.mark.parametrize(
    ("typed", "called"),
    [("OL", "over range"), ("open", "open"), ("OVER", "over range"), ("over range", "over range")],
)
async def test_what_a_meter_shows_without_a_value_leads_to_a_try_without_one(
    desk: Desk, app_of: AppOf, typed: str, called: str
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press(f"‹{typed}›")
        assert f"Enter says no value here, {called}" in " ".join(hand.dialog().split())
        await hand.press("enter")
        assert isinstance(hand.app.screen, ReasonDialog) and "No value at SW-01: why?" in hand.dialog()
        await hand.press("‹1.38›", "enter")  # the next value, called while nobody looks
        assert hand.rows("attempt") == hand.rows("reading") == hand.rows("jump") == []
        await hand.press("1", "enter")
        assert [(row["point"], row["reason"]) for row in hand.rows("attempt")] == [("SW-01", called)]


async def test_a_point_marked_in_the_list_is_gone_to_whatever_the_filter_says(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("o", "‹l›", "down", "enter")
        assert "Go to SW-02: why?" in hand.dialog()


@pytest.mark.parametrize("value", ["1.38", "15.5", ".38", "138", "0.85"])
async def test_no_value_answers_why_another_point_is_gone_to(desk: Desk, app_of: AppOf, value: str) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("j", "‹SW-03›", "enter", f"‹{value}›")
        assert SAID in hand.dialog()
        await hand.press("enter")
        assert "Go to SW-03: why?" in hand.dialog()
        assert hand.rows("jump") == hand.rows("reading") == []
        await hand.press("2", "enter")
        (row,) = hand.rows("jump")
        assert (row["point"], row["reason"]) == ("SW-03", desk.session.reasons.of("jump")[1])


async def test_a_point_is_no_pick_in_any_list_of_reasons(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "‹.38›")
        assert SAID in hand.dialog() and hand.rows("skip") == []
        await hand.press("enter", "2")
        assert [row["reason"] for row in hand.rows("skip")] == [desk.session.reasons.of("skip")[1]]


@pytest.mark.parametrize("value", ["0.53", "0.53m", "0 1.53", "017 1.53"])
@pytest.mark.parametrize("keys", [("s",), ("v", "enter"), ("x",), ("t",), ("n",)])
async def test_a_value_below_one_is_no_reason_in_own_words(
    desk: Desk, app_of: AppOf, keys: tuple[str, ...], value: str
) -> None:
    """Its nought is the key that asks for own words."""
    desk.record(desk.weigh("1.38"))
    async with walking(app_of(desk), desk) as hand:
        rows = hand.trail()
        await hand.press(*keys, f"‹{value}›", "enter")
        assert "that looks like a value: nothing was done" in hand.dialog()
        assert hand.trail() == rows
        await hand.press("ctrl+u", "‹2 cables in the way›", "enter")
        assert hand.trail()[-1]["note" if keys == ("n",) else "reason"] == "2 cables in the way"


async def test_a_value_is_no_name_no_title_and_no_reason_to_close(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        rows = hand.trail()
        for keys in (("a",), ("i",), ("d", "9")):
            await hand.press(*keys, "ctrl+u", "‹0.53›", "enter")
            assert "that looks like a value, and nothing was recorded" in hand.dialog(), keys
            await hand.press("escape", "escape")
        assert hand.trail() == rows


async def test_a_point_is_no_pick_in_the_menu(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("slash", "‹.12›")
        assert SAID in hand.dialog() and hand.rows("attempt") == []


async def test_a_point_right_behind_a_pick_is_the_rest_of_a_value(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "‹1.38›", "enter")
        assert len(hand.rows("skip")) == 1 and hand.rows("reading") == []
        assert "Was 1.38 called?" in " ".join(hand.screen().split())
        await hand.press("enter")
        assert hand.rows("reading") == []  # nor by a second Enter
        await hand.press("‹.38›", "enter")  # keyed anew it is what it says
        assert [(row["point"], row["value"]) for row in hand.rows("reading")] == [("SW-02", "0.38")]


async def test_a_point_after_any_other_key_begins_a_value(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "1", "backspace", "‹.38›", "enter", "s", "1", "‹0.39›", "enter")
        assert [row["value"] for row in hand.rows("reading")] == ["0.38", "0.39"]


@pytest.mark.parametrize("typed", ["1OL", "0L", "5 0L"])
async def test_over_range_behind_a_digit_points_to_the_key_for_it(
    desk: Desk, app_of: AppOf, typed: str
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press(f"‹{typed}›", "enter")
        said = " ".join(hand.screen().split())
        assert "over range is no value" in said and "then x (keypad: /) says so" in said
        assert hand.rows("reading") == []


async def test_a_value_keyed_while_it_is_paused_goes_on_with_nothing(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("p", "‹1.38›")
        assert "Nothing is recorded while it is paused" in hand.dialog()
        await hand.press("enter")
        assert hand.app.screen is hand.walk and hand.walk.entry.text == "" and len(hand.rows("pause")) == 1


# --- the comma of a keypad ----------------------------------------------------------------


async def test_a_comma_is_shown_as_the_point_it_stands_for(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1,38›")
        assert hand.walk.entry.text == "1.38"
        await hand.press("enter", "‹5 ,9›")
        assert hand.walk.entry.text == "5 .9"
        await hand.press("escape", "‹1.3,8›", "enter")
        assert hand.walk.entry.text == "1.3,8" and "use a point for decimals" in hand.screen()
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]


async def test_a_comma_is_a_point_where_a_correction_is_keyed_and_none_in_words(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "w", "enter", "‹1,83›", "enter", "0", "‹heard 1,38›", "enter")
        (row,) = hand.rows("amend")
        assert (row["value"], row["reason"]) == ("1.83", "heard 1,38")


@pytest.mark.in_haste
@pytest.mark.parametrize("value", ["12.4", "10.5", "22", "1.05"])
async def test_a_value_keyed_at_a_question_is_not_recorded_without_its_first_digit(
    desk: Desk, app_of: AppOf, value: str
) -> None:
    """12.4 at "take again: why?": the 1 answers, and 2.4 would pass where 12.4 fails."""
    desk.record(desk.weigh("1.38"))
    async with walking(app_of(desk), desk) as hand:
        readings = len(hand.rows("reading"))
        await hand.pilot.press("t")
        await hand.settle()
        await hand.pilot.press(*["full_stop" if each == "." else each for each in value], "enter")
        await hand.settle()
        assert len(hand.rows("reading")) == readings
        assert f"Was {value} called?" in hand.screen()
        await hand.pilot.pause(EntryLine.ONE_NUMBER_S)
        await hand.press("‹1.23›", "enter")
        assert hand.rows("reading")[-1]["value"] == "1.23"


@pytest.mark.in_haste
@pytest.mark.parametrize("value", ["12.5", "1.25", "22"])
async def test_nor_where_its_first_digit_answered_on_a_page_over_the_walk(
    desk: Desk, app_of: AppOf, value: str
) -> None:
    """The close-out asks how a failed point was repaired, and leads to its retest."""
    desk.record(desk.weigh("2.9"))
    desk.discrepancy("SW-01", "D-17")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("d")
        listed = hand.app.screen.query_one(CloseList)
        for _ in range(9):
            if listed.item.group is not Group.FAILED:
                await hand.press("down")
        assert (listed.item.group, listed.item.point) == (Group.FAILED, "SW-01")
        await hand.pilot.press("2")
        await hand.settle()
        assert "SW-01 was repaired: how?" in hand.dialog()
        await hand.pilot.pause(EntryLine.ONE_NUMBER_S)
        await hand.pilot.press(*["full_stop" if each == "." else each for each in value], "enter")
        await hand.settle()
        assert [row["point"] for row in hand.rows("rework")] == ["SW-01"]
        assert [row["value"] for row in hand.rows("reading")] == ["2.9"]
        assert f"Was {value} called?" in hand.screen()


@pytest.mark.in_haste
@pytest.mark.parametrize("value", ["2.41", "24.1", "22"])
async def test_a_value_keyed_at_which_record_to_correct_corrects_none(
    desk: Desk, app_of: AppOf, value: str
) -> None:
    for reading in ("2.7", "2.8", "1.1"):
        desk.record(desk.weigh(reading))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("w")
        keys = ["full_stop" if each == "." else each for each in value]
        await hand.pilot.press(*keys, "enter")
        await hand.settle()
        assert f"Was {value} called? Then Esc: nothing is corrected" in " ".join(hand.dialog().split())
        await hand.press("enter", "enter")
        assert hand.rows("amend") == []
        await hand.press("‹2.8›", "enter")
        assert "it says 2.8 mΩ already" in hand.dialog()
        await hand.press("ctrl+u", "‹1.2›", "enter", "enter")
        assert [(row["ref"], row["value"]) for row in hand.rows("amend")] == [("2", "1.2")]
