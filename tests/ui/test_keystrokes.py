"""How many keys a task may take, by the plain keys and from the numeric keypad alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.actions import ACTIONS, actions_of
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.menu import MenuDialog, menu_pages
from tests.ui.keystrokes import KEYPAD, TASKS, Task, keys_of, play
from tests.ui.walking import walking

AppOf = Callable[[Desk], FieldApp]

# What never arrives, or arrives as something else. Terminals: Ctrl with h, i, j, m and [ are
# Backspace, Tab, line feed, Enter and Escape (ECMA-48 C0 set), Ctrl with s and q may be flow control
# (termios IXON), Ctrl with c, z and \ signals; F10 and F11 belong to many windows (menu, full screen).
# A terminal multiplexer takes its prefix, by default Ctrl+B or Ctrl+A. The Windows console keeps
# Alt+Enter, Alt+F4, Alt+Space, Ctrl+V, Ctrl+A, Ctrl+F, Ctrl+M and Shift with arrows for itself. Alt or
# Meta comes as Escape and a key, which over a slow line are two keys. Common practice; from memory.
SWALLOWED = frozenset({"f10", "f11", *(f"ctrl+{key}" for key in "abcfhijmvzq[\\")})
NEVER_WITH = ("alt+", "meta+", "super+", "hyper+", "shift+", "ctrl+shift+")


@pytest.mark.parametrize("task", TASKS, ids=lambda task: task.name)
@pytest.mark.parametrize("way", ["plain", "keypad"])
async def test_no_task_takes_more_keys_than_its_budget(
    workspace: Workspace, app_of: AppOf, task: Task, way: str
) -> None:
    keys = keys_of(task.plain if way == "plain" else task.keypad)
    assert len(keys) <= task.most, f"{task.name}: {len(keys)} keys, the goal is {task.goal}"
    if way == "keypad":
        assert set(keys + keys_of(task.before)) <= KEYPAD
    desk = task.begin(workspace)
    async with walking(app_of(desk), desk) as hand:
        await play(task, keys, hand)


async def test_a_list_in_a_file_takes_five_keys_and_its_path(workspace: Workspace, app_of: AppOf) -> None:
    task = next(task for task in TASKS if task.is_small)
    path = workspace.root / "list.csv"
    rows = "".join(f"1,{number},{value},mohm,\n" for number, value in enumerate(("1.10", "1.24", "1.31"), 1))
    path.write_text("run,number,value,unit,state\n" + rows, encoding="utf-8")
    desk = task.begin(workspace)
    async with walking(app_of(desk), desk) as hand:
        await play(task, ["f", "4", f"‹{path}›", "enter", "1", "1", "enter"], hand)
        assert hand.rows("run")[-1]["reason"] == "memory full, read out and reconciled"


async def test_every_action_is_four_keypad_keys_away_at_most(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter")
        lines = []
        for _ in range(3):
            await hand.press("slash")
            assert isinstance(hand.app.screen, MenuDialog)
            lines += hand.dialog().splitlines()
        for action in actions_of("walk"):
            if KEYPAD.isdisjoint(action.keys):
                (line, *_) = [line for line in lines if f"  {action.label} " in line] or [""]
                assert line.strip("▶ ")[:1].isdigit(), action.name


async def test_the_menu_turns_back_and_is_left_from_the_keypad(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        before = hand.trail()
        pages = len(menu_pages((), is_full=False))
        await hand.press("slash", *["slash"] * pages)
        assert "void the last reading" in hand.screen()
        await hand.press("minus")
        assert hand.app.screen is hand.walk
        for opens in (["minus"], ["asterisk"], ["slash", "9"], ["slash", "slash", "3"]):
            await hand.press(*opens)
            assert hand.app.screen is not hand.walk, opens
            await hand.press("minus")
            assert hand.app.screen is hand.walk, opens
        assert hand.trail() == before


async def test_minus_is_a_letter_like_any_other_in_own_words(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "0", "‹lock-out tag›", "enter")
        assert hand.rows("skip")[0]["reason"] == "lock-out tag"


async def test_a_menu_digit_answers_with_the_reason_it_shows(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("slash", "4")
        assert [row["reason"] for row in hand.rows("attempt")] == [desk.session.reasons.of("attempt")[3]]


async def test_a_void_from_the_menu_without_a_reading_forgets_its_keys(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("slash", "5")
        assert "No reading has been taken yet" in hand.screen()
        await hand.press("‹1.38›", "enter")
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]


def test_no_key_is_one_that_terminals_swallow() -> None:
    """Where a key of the table may be swallowed, another of the same action is not."""
    for action in ACTIONS:
        arriving = [key for key in action.keys if key not in SWALLOWED and not key.startswith(NEVER_WITH)]
        assert arriving, f"{action.screen} {action.name}: {action.keys}"
        swallowed = set(action.keys) - set(arriving)
        assert not swallowed, f"{action.screen} {action.name}: {swallowed}"
        if "ctrl+s" in action.keys:  # flow control stops the screen where a line still has it
            assert len(arriving) > 1, action.name
