"""Everything a walk leads to, done and left with the numeric keypad: digits, the point, / * - + and Enter."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.actions import ACTIONS
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.problems import ProblemsDialog
from fieldtui.ui.pages.close_out import CloseOutScreen
from fieldtui.ui.pages.drift import NumberDriftScreen
from fieldtui.ui.pages.drift_points import PointDriftScreen
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.widgets.reconcile_list import ReconcileList
from tests.ui.keystrokes import KEYPAD
from tests.ui.walking import Hand, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]


class Keypad(Hand):
    """A hand that has nothing else."""

    async def press(self, *keys: str) -> None:
        names = {".": "full_stop"}
        for key in keys:
            for each in key[1:-1] if key.startswith("‹") else [key]:
                assert each in KEYPAD, f"{each} is not on a numeric keypad"
                await super().press(names.get(each, each))


@pytest.fixture
def walked(workspace: Workspace) -> Desk:
    """Three readings, filed under 5 to 7."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12, restore='"coat"'), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in ("0.52", "1.90", "0.81"):
        desk.record(desk.weigh(value))
    return desk


PAGES = ("drift", "drift_points", "reconcile", "close_out")


def test_every_action_of_the_pages_over_the_walk_has_a_key_on_the_keypad() -> None:
    """Those of the walk itself are in its menu; the README's key page is made from this table."""
    pages = [action for action in ACTIONS if action.screen in PAGES]
    assert len(pages) > 12
    for action in pages:
        assert KEYPAD.intersection(action.keys), f"{action.screen} {action.name}: {action.keys}"


async def test_a_run_is_reconciled_and_left(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as plain:
        hand = Keypad(plain.pilot, walked.folder)
        await plain.press("h")  # from the menu: see the test of every action
        await hand.press("2", "‹0.52›", "enter", "‹0.91›", "enter")
        assert "number 7: value?" in hand.dialog()
        await hand.press("asterisk")  # the last one back
        assert "number 6: value?" in hand.dialog() and "0.91" in hand.dialog()
        await hand.press("slash")  # nothing is left for later while a value stands on the line
        assert "number 6: value?" in hand.dialog() and "0.91" in hand.dialog()
        await hand.press("minus")
        assert "0.91 mohm-" not in hand.dialog()
        await hand.press("asterisk")  # the wrong value away, the entry before stays
        assert "number 6: value?" in hand.dialog() and "0.91" not in hand.dialog()
        await hand.press("slash")  # later
        assert "1 keyed so far: go on" in hand.dialog()
        await hand.press("2", "‹1.90›", "enter", "minus", "enter", "enter")
        assert isinstance(hand.app.screen, ReconcileScreen) and "keyed blind" in hand.screen()
        await hand.press("3")
        marked = hand.app.screen.query_one(ReconcileList)
        await hand.press("plus", "plus")
        assert marked.marked == 2
        await hand.press("asterisk")
        assert marked.marked == 1
        await hand.press("slash")
        assert isinstance(hand.app.screen, HelpDialog)
        await hand.press("enter", "1", "1")
        assert len(hand.rows("reconcile")) == 1
        await hand.press("minus")
        assert hand.app.screen is hand.walk and "RECONCILED" in hand.screen()


async def test_the_close_out_is_gone_through_and_left(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as plain:
        hand = Keypad(plain.pilot, walked.folder)
        await plain.press("d")
        for _ in range(30):
            if "it is restored" not in hand.screen():
                await hand.press("plus")
        await hand.press("plus", "asterisk", "1")
        assert len(hand.rows("restored")) == 1
        await hand.press("9")
        assert "why it is closed all the same" in hand.screen()
        await hand.press("minus")
        assert isinstance(hand.app.screen, CloseOutScreen)
        await hand.press("minus")
        assert hand.app.screen is hand.walk
        await plain.press("d")
        await hand.press("9", "‹0›", "enter")
        assert walked.survey.closed and "CLOSED" in hand.screen()


async def test_numbers_that_differ_are_looked_at_and_left(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as plain:
        hand = Keypad(plain.pilot, walked.folder)
        await hand.press("asterisk", "‹8›", "enter")
        assert isinstance(hand.app.screen, NumberDriftScreen)
        page = hand.app.screen.query_one("#explanations")
        page.styles.max_height = 6  # as where there is less room
        await hand.settle()
        assert page.max_scroll_y > 0 and page.scroll_y == 0
        await hand.press("plus", "plus", "plus")
        assert page.scroll_y > 0
        await hand.press("asterisk", "asterisk")
        assert page.scroll_y == 0
        await hand.press("enter")
        assert "where? Undecided" in hand.screen()
        await hand.press("minus", "minus")
        assert hand.app.screen is hand.walk and hand.rows("renumber") == []


async def test_readings_are_moved_and_the_preview_is_left(workspace: Workspace, app_of: AppOf) -> None:
    values = "0.52 1.9 0.81 1.4 0.33 1.1 2.2 0.64 1.7 0.45 1.25 0.92".split()
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    for _ in range(2):
        with begin_desk(workspace) as earlier:
            for value in values:
                entry = earlier.weigh(value)
                earlier.record(entry, "ok" if entry.doubts else "")
    desk = begin_desk(workspace)
    for value in values[:6]:
        entry = desk.weigh(value)
        desk.record(entry, "ok" if entry.doubts else "")
    async with walking(app_of(desk), desk) as plain:
        hand = Keypad(plain.pilot, desk.folder)
        await hand.press("‹0.64›", "enter", "‹0.64›", "enter")
        for _ in range(50):
            if not isinstance(hand.app.screen, PointDriftScreen):
                await hand.settle()
        await hand.press("plus", "enter", "asterisk")
        assert "▶    6       1.1 mΩ  SW-06        → SW-07" in hand.screen()
        await hand.press("plus", "9")
        assert "▶    7      0.64 mΩ  SW-07        → SW-09" in hand.screen()
        await hand.press("7")
        assert "▶    7      0.64 mΩ  SW-07        → SW-08" in hand.screen()
        await hand.press("minus")
        assert "◀ closer" in hand.screen()
        await hand.press("enter", "enter", "1", "enter")
        assert len(hand.rows("shift")) == 1


async def test_a_point_is_found_by_its_digits(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as plain:
        hand = Keypad(plain.pilot, walked.folder)
        await plain.press("j")
        await hand.press("minus")
        assert hand.app.screen is hand.walk
        await plain.press("j")
        await hand.press("‹0›", "plus", "plus", "asterisk", "minus")  # a minus belongs to what is looked for
        assert hand.app.screen is not hand.walk
        await plain.press("backspace")
        await hand.press("‹7›", "enter", "1", "enter")
        assert [row["point"] for row in hand.rows("jump")] == ["SW-07"]


@pytest.mark.parametrize("opens", [["i"], ["a"], ["w", "enter"], ["s", "0"], ["n", "0"]], ids=" ".join)
async def test_what_wants_words_is_left_by_a_minus_on_the_empty_line(
    workspace: Workspace, app_of: AppOf, opens: list[str]
) -> None:
    desk = begin_desk(workspace)
    desk.record(desk.weigh("0.52"))
    async with walking(app_of(desk), desk) as plain:
        before = plain.trail()
        await plain.press(*opens)
        await Keypad(plain.pilot, desk.folder).press("minus")
        assert plain.app.screen is plain.walk and plain.trail() == before


async def test_pages_to_be_read_scroll(walked: Desk, app_of: AppOf, workspace: Workspace) -> None:
    path = workspace.root / "bad.csv"
    bad = "".join(f"1,{number},x,mohm,\n" for number in range(1, 60))
    path.write_text("run,number,value,unit,state\n" + bad, encoding="utf-8")
    async with walking(app_of(walked), walked) as plain:
        hand = Keypad(plain.pilot, walked.folder)
        for opens, page in ((["f1"], HelpDialog), (["h", "1", f"‹{path}›", "enter"], ProblemsDialog)):
            await plain.press(*opens)
            assert isinstance(hand.app.screen, page)
            top = hand.screen()
            await hand.press("plus")
            assert hand.screen() != top
            await hand.press("asterisk")
            assert hand.screen() == top
            await hand.press("enter")
            assert not isinstance(hand.app.screen, page)


async def test_a_line_keyed_wrong_is_cleared(desk: Desk, app_of: AppOf) -> None:
    """All of it, never a part: what is left of a value is another value."""
    async with walking(app_of(desk), desk) as plain:
        hand = Keypad(plain.pilot, desk.folder)
        await hand.press("‹13.8›", "minus")
        assert hand.walk.entry.text == "" and hand.app.screen is hand.walk
        await hand.press("‹1.38›", "enter")
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]


async def test_with_voltages_a_minus_is_a_sign_and_skip_is_in_the_menu(
    workspace: Workspace, app_of: AppOf
) -> None:
    fields = {"method": '"reversed"', "current_ma": "100"}
    (workspace.root / "routes" / "wing.toml").write_text(route_text(**fields), encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as plain:
        hand = Keypad(plain.pilot, desk.folder)
        entry = hand.walk.entry
        await hand.press("‹5.1›", "minus")
        assert entry.text == "-"  # begun anew with a sign; a value never loses one
        await hand.press("‹5›", "minus", "minus")
        assert entry.text == ""
        rows: list[str] = []
        for _ in range(4):
            await hand.press("slash")
            rows = [line for line in hand.dialog().splitlines() if " skip " in line]
            if rows:
                break
        await hand.press(rows[0].strip("▶ ")[0], "1")
        assert [row["point"] for row in hand.rows("skip")] == ["SW-01"]
