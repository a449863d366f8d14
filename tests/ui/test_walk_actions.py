"""Every action of the walk: its keys, what it writes, and what the screen says of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from textual import events

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.position import State
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.actions import actions_of
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.menu import MenuDialog
from fieldtui.ui.dialogs.paused import PausedDialog
from fieldtui.ui.screens.walk import WalkScreen
from tests.desk.scenes import record
from tests.ui.walking import HIGH, METER, begin_desk, walking

AppOf = Callable[[Desk], FieldApp]


def test_every_action_of_the_table_is_there() -> None:
    for action in actions_of("walk"):
        assert hasattr(WalkScreen, f"do_{action.name}"), action.name


def test_no_action_lies_on_a_key_that_begins_a_value() -> None:
    from fieldtui.ui.widgets.entry_line import VALUE_STARTS

    keys = [key for action in actions_of("walk") for key in action.keys]
    assert not set(keys) & VALUE_STARTS
    assert len(keys) == len(set(keys))


# --- this point ---------------------------------------------------------------------------


async def test_skip_is_two_keys(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "2")
        (row,) = hand.rows("skip")
        assert (row["point"], row["reason"]) == ("SW-01", desk.session.reasons.of("skip")[1])
        assert "SKIPPED  SW-01" in hand.screen()
        assert "Number check due (after a skip)" in hand.screen()
        assert "SW-02  Flap track 2 jumper" in hand.screen()


async def test_one_point_that_is_left_is_counted_as_one(desk: Desk, app_of: AppOf) -> None:
    wanting = (State.OPEN, State.SKIPPED, State.FAILED)
    while len(desk.survey.in_state(*wanting)) > 1:
        record(desk, "0.05")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("o")
        assert "1 point open, skipped" in hand.dialog()


async def test_keys_faster_than_the_dialogs_count_in_their_order(desk: Desk, app_of: AppOf) -> None:
    """A value, a skip with its reason and the next value, all before the screen has drawn one of them."""
    async with walking(app_of(desk), desk) as hand:
        for key in "1.38⏎s21.1⏎v⏎3":
            hand.app.post_message(events.Key(*(("enter", None) if key == "⏎" else (key, key))))
        for _ in range(8):
            await hand.settle()
        kept = [(row["kind"], row["point"], row["value"], row["reason"]) for row in hand.trail()[-4:]]
        assert kept == [
            ("reading", "SW-01", "1.38", ""),
            ("skip", "SW-02", "", "somebody at work here"),
            ("reading", "SW-03", "1.1", ""),
            ("void", "SW-03", "", "value keyed wrong"),
        ]


async def test_skip_from_the_keypad_in_own_words(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("minus", "0", "enter")
        assert "a reason is wanted" in hand.screen()
        await hand.press("‹bees [b]›", "enter")
        assert [row["reason"] for row in hand.rows("skip")] == ["bees [b]"]
        assert "bees [b]" in hand.screen()


async def test_a_dialog_left_with_escape_writes_nothing(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter")
        before = hand.trail()
        for key in "stvxciojwnpfdbh":
            await hand.press(key)
            assert hand.app.screen is not hand.walk, key
            await hand.press("escape")
            assert hand.app.screen is hand.walk, key
        assert hand.trail() == before
        await hand.press("‹1.2›", "enter")
        assert len(hand.rows("reading")) == 2


async def test_attempt_is_two_keys_and_stays_at_the_point(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("x", "2")
        (row,) = hand.rows("attempt")
        assert (row["reason"], row["number"]) == (desk.session.reasons.of("attempt")[1], "")
        assert "NO VALUE  SW-01" in hand.screen()
        assert "1 without a value" in hand.screen()


async def test_an_attempt_that_the_meter_filed_uses_up_a_number(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("x", "slash")
        assert "under 5: YES" in hand.screen()
        await hand.press("2", "‹1.2›", "enter")
        assert [row["number"] for row in hand.rows("attempt")] == ["5"]
        assert [row["number"] for row in hand.rows("reading")] == ["6"]


async def test_not_accessible_leaves_the_point_and_says_so(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("x", "1")
        assert "0 of 4 settled  # 1 inaccessible" in hand.screen()
        assert "# 1 inaccessible" in hand.screen()


async def test_note(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("n", "0", "‹clamp is loose›", "enter")
        (row,) = hand.rows("note")
        assert (row["point"], row["note"]) == ("SW-01", "clamp is loose")


# --- readings taken -----------------------------------------------------------------------


async def test_redo_of_the_last_is_two_keys_and_the_value(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹9›", "enter", "t", "1")
        assert "SW-01  Flap track 1 jumper" in hand.screen()
        await hand.press("‹1.1›", "enter")
        assert [(row["point"], row["value"]) for row in hand.rows("reading")] == [
            ("SW-01", "9"),
            ("SW-01", "1.1"),
        ]
        assert hand.rows("redo")[0]["ref"] == "1"
        assert "SW-02  Flap track 2 jumper" in hand.screen()  # back where the walk was
        assert "✓ 1 passed" in hand.screen()


async def test_redo_of_another_reading(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "t", "slash", "1", "1")
        assert hand.rows("redo")[0]["ref"] == "1"
        assert "SW-01  Flap track 1 jumper" in hand.screen()


async def test_void_of_the_last_is_three_keys(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "v", "enter", "3")
        (row,) = hand.rows("void")
        assert (row["ref"], row["reason"]) == ("2", desk.session.reasons.of("void")[2])
        assert "/ VOID" in hand.screen()
        assert "value keyed wrong" in hand.screen()


async def test_void_of_an_earlier_record_by_its_number(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter", "v", "1", "1")
        assert [row["ref"] for row in hand.rows("void")] == ["1"]
        await hand.press("v")
        assert "SW-03" in hand.dialog()
        assert "SW-01" not in hand.dialog()  # a void one cannot be struck out again


async def test_correct_a_value(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹13.8›", "enter", "w", "enter", "‹1..38›", "enter")
        assert "more than one point" in hand.screen()
        await hand.press(*["backspace"] * 5, "‹1.38›", "enter")
        assert "Correct record 1 to 1.38 mΩ: why?" in hand.screen()
        await hand.press("1")
        (row,) = hand.rows("amend")
        assert (row["ref"], row["value"], row["verdict"]) == ("1", "1.38", "pass")
        assert "CORRECTED  record 1  1.38 mΩ  PASS" in hand.screen()
        assert "was 13.8 mΩ" in hand.screen()


async def test_actions_on_readings_want_one(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        for key in "tvw":
            await hand.press(key)
            assert hand.app.screen is hand.walk
            assert "No reading has been taken yet" in hand.screen()


# --- the way ------------------------------------------------------------------------------


async def test_insert_a_point_and_come_back(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("i", "enter")
        assert "a title is wanted" in hand.screen()
        await hand.press("‹Spare strap›", "enter")
        assert "< 2.5 mohm" in hand.screen()
        await hand.press("enter", "‹strap›", "enter", "enter", "1")
        assert "INSERTED  X01  Spare strap  limit less than 2.5 mΩ" in hand.screen()
        assert "X01  Spare strap  unplanned" in hand.screen()
        await hand.press("‹1.2›", "enter")
        assert [row["point"] for row in hand.rows("reading")] == ["X01"]
        assert "SW-01  Flap track 1 jumper" in hand.screen()


async def test_a_limit_that_is_none_is_said_and_kept(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("i", "‹Strap›", "enter", "‹x›", "enter")
        assert "a limit looks like" in hand.screen()
        assert hand.rows("insert") == []


async def test_jump_by_filter_and_back(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("j", "‹ws 103›", "enter", "1", "enter")
        assert "GONE TO  SW-03" in hand.screen()
        await hand.press("‹1›", "enter")
        assert [row["point"] for row in hand.rows("reading")] == ["SW-03"]
        assert "SW-01  Flap track 1 jumper" in hand.screen()


async def test_open_points_lists_what_is_not_passed(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹3›", "enter", "s", "1", "o")
        screen = hand.dialog()
        assert "SW-01" not in screen
        assert "✗ FAILED       SW-02" in screen
        assert "» skipped      SW-03" in screen
        assert "○ open         SW-04" in screen
        await hand.press("down", "enter", "1", "enter")
        assert [row["point"] for row in hand.rows("jump")] == ["SW-03"]


async def test_reverse_the_rest_of_the_section(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "b", "1", "‹1.1›", "enter", "‹1.2›", "enter")
        assert [row["point"] for row in hand.rows("reading")] == ["SW-01", "SW-04", "SW-03"]


async def test_pause_says_so_until_a_key(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("p", "1")
        assert isinstance(hand.app.screen, PausedDialog)
        assert "PAUSED" in hand.screen()
        assert "Enter or any letter: go on. A number check is due then: c." in hand.dialog()
        assert [row["kind"] for row in hand.trail()][-1] == "pause"
        await hand.press("5")  # of a value, whose other digits would be left for the walk
        assert [row["kind"] for row in hand.trail()][-1] == "pause"
        await hand.press("enter")
        assert [row["kind"] for row in hand.trail()][-1] == "proceed"
        assert "Number check due (after a pause)" in hand.screen()
        assert hand.walk.entry.text == ""


# --- the meter's memory -------------------------------------------------------------------


async def test_a_number_check_that_agrees(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "s", "1", "c", "‹5›", "enter")
        (row,) = hand.rows("number")
        assert (row["number"], row["verdict"], row["ref"]) == ("5", "agree", "5")
        assert "NUMBERS AGREE  5" in hand.screen()
        assert "check due" not in hand.screen()


async def test_the_number_check_does_not_say_what_it_expects(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "asterisk")
        assert "last memory number" in hand.dialog()
        assert "5" not in hand.dialog()


async def test_unexplained_numbers_keep_a_warning(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "c", "‹9›", "enter", "escape")
        assert "OUT OF STEP" in hand.screen()
        await hand.press("‹1.1›", "enter")
        assert "OUT OF STEP" in hand.screen()


async def test_without_a_memory_there_is_nothing_to_check(workspace: Workspace, app_of: AppOf) -> None:
    meter = Instrument(id="m0", title="no memory", calibration_due=METER.calibration_due)
    desk = begin_desk(workspace, meter=meter, next_number=None)
    async with walking(app_of(desk), desk) as hand:
        assert "no memory" in hand.screen()
        await hand.press("c", "‹1›", "enter")
        assert "No memory run has begun" in hand.screen()


# --- menu, help, light, the end -----------------------------------------------------------


async def test_the_menu_reaches_every_action_by_number(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("slash")
        assert isinstance(hand.app.screen, MenuDialog)
        screen = hand.screen()
        await hand.press("slash")
        screen += hand.screen()
        await hand.press("slash")
        screen += hand.screen()
        await hand.press("slash")
        for action in actions_of("walk"):
            has_keypad_key = {"minus", "plus", "asterisk", "slash"} & set(action.keys)
            assert has_keypad_key or f" {action.label} " in screen, action.name
        await hand.press("2")
        assert len(hand.rows("attempt")) == 1
        await hand.press("slash", "9", "1")
        assert len(hand.rows("pause")) == 1


@pytest.mark.parametrize("size", [(80, 24), HIGH])
async def test_help_shows_every_key(desk: Desk, app_of: AppOf, size: tuple[int, int]) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("f1")
        assert isinstance(hand.app.screen, HelpDialog)
        seen = hand.screen()
        for _ in range(4):
            await hand.press("pagedown")
            seen += hand.screen()
        for action in actions_of("walk"):
            assert action.help[:40] in seen, action.name
        await hand.press("space")
        assert hand.app.screen is hand.walk


async def test_light_changes_round_and_round(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        seen = []
        for _ in range(3):
            seen.append(hand.app.theme)
            await hand.press("f2")
        assert seen == ["daylight", "dim", "night"]
        assert hand.app.theme == "daylight"


async def test_a_function_key_waits_its_turn(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        hand.walk.entry.hold()
        await hand.press("f1")
        assert hand.app.screen is hand.walk
        hand.walk.entry.accept()
        await hand.settle()
        assert isinstance(hand.app.screen, HelpDialog)


async def test_the_palette_offers_the_actions_of_the_table(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk, HIGH) as hand:
        await hand.press("ctrl+p", "‹no value›")
        await hand.app.workers.wait_for_complete()
        await hand.pilot.pause()
        assert "no value (x)" in hand.screen()


async def test_after_a_void_it_is_said_that_the_point_is_open_and_which_key_leads_back(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.1›", "enter", "v", "enter", "3")
        assert "SW-01 is OPEN again: o leads back to it" in " ".join(hand.screen().split())
        await hand.press("o", "enter")
        assert "Go to SW-01: why?" in hand.dialog()


async def test_the_title_says_who_records_and_follows_a_handover(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        assert "Bo records" in hand.screen().splitlines()[0]
        desk.hand_over("shift change", recorder="Cleo of a name that is very long")
        hand.walk.redraw()
        await hand.settle()
        title = hand.screen().splitlines()[0]
        assert "Cleo of a name that…" in title
        assert "Starboard wing bonds" in title


async def test_a_void_of_a_retake_says_that_it_is_still_wanted(desk: Desk, app_of: AppOf) -> None:
    """The walk has gone on, and the first take stands: nothing else says that its point is not done."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹3›", "enter", "t", "1", "‹1.2›", "enter", "v", "enter")
        assert "Value keyed wrong? Leave this: key w instead corrects it." in hand.dialog()
        await hand.press("1")
        said = " ".join(hand.screen().split())
        assert "SW-01 still wants its retake: o leads back to it" in said
        await hand.press("o", "enter", "1", "enter")
        assert desk.survey.position.here == "SW-01"


async def test_a_void_of_a_first_take_says_that_its_point_is_open(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "v", "enter", "1")
        assert "SW-01 is OPEN again: o leads back to it" in " ".join(hand.screen().split())


async def test_the_line_kept_back_by_a_full_memory_says_what_is_next(
    workspace: Workspace, app_of: AppOf
) -> None:
    small = replace(METER, memory_size=1, first_number=1)
    desk = begin_desk(workspace, meter=small, next_number=1)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.1›", "enter", "‹0.95›", "enter")
        assert "f or /: next run, then Enter" in hand.screen()
        await hand.press("f", "2", "9", "enter", "2")
        assert "f or /: next run" not in hand.screen() and "Enter records it" in hand.screen()
        await hand.press("f")  # leads nowhere any more
        assert hand.app.screen is hand.walk and len(hand.rows("run")) == 2
        await hand.press("enter")
        assert [(row["value"], row["run"]) for row in hand.rows("reading")] == [("1.1", "1"), ("0.95", "2")]


async def test_a_number_held_twice_stands_as_a_warning_until_it_is_settled(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "‹5 1.2›", "enter", "slash", "2")
        assert [row["number"] for row in hand.rows("reading")] == ["5", "5"]
        warning = "! Number 5 is held by records 1 and 2: which was not filed? d settles it."
        assert warning in hand.screen()
        await hand.press("c", "‹5›", "enter")
        assert "NUMBERS AGREE" in hand.screen() and warning in hand.screen()
        await hand.press("d")
        for _ in range(30):
            if "say which was not filed" not in hand.screen():
                await hand.press("down")
        assert "number 5 is held by records 1 and 2" in hand.screen()
        await hand.press("1", "1", "enter", "2")
        (row,) = hand.rows("unfiled")
        assert (row["ref"], row["reason"]) == ("1", desk.session.reasons.of("renumber")[1])
        assert "is held by records" not in hand.screen()
        await hand.press("escape")
        assert "is held by" not in hand.screen()
