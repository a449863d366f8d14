"""An answer to numbers that differ, taken back on the page that asks for it: on a walk and in the lesson."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fieldtui.desk.session_desk import Desk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.number import NumberDialog
from tests.ui.test_lesson import lesson
from tests.ui.walking import Hand, walking

AppOf = Callable[[Desk], FieldApp]


async def pick(hand: Hand, words: str, places: int = 0) -> None:
    """Choose the explanation with these words, the first of its places, and the first reason."""
    digit = next(line.strip(" ▶").split()[0] for line in hand.screen().splitlines() if f"%  {words}" in line)
    await hand.press(digit, "enter")
    for _ in range(places + 1):
        await hand.press("1", "enter")


async def test_a_wrong_answer_is_taken_back_with_the_true_number(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹7›", "enter")
        await pick(hand, "unannounced reading", places=1)
        await hand.press("‹1.2›", "enter", "c", "‹7›", "enter")
        screen = hand.screen()
        assert "%  the last answer was wrong: take it back" in screen
        assert "next number 8" in screen
        await pick(hand, "the last answer was wrong")
        assert hand.app.screen is hand.walk
        assert "IN STEP AGAIN" in hand.screen() and "OUT OF STEP" not in hand.screen()
        assert [each.number for each in hand.walk.desk.survey.records.values()] == [5, 6, 7]
        assert [row["number"] for row in hand.rows("renumber")] == ["8", "8"]
        assert [row["verdict"] for row in hand.rows("number")] == ["differ", "differ", "agree"]


async def test_what_went_wrong_besides_is_asked_at_once(desk: Desk, app_of: AppOf) -> None:
    """The second reading is stored twice, 7 is right; 8 is heard, and believed."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹8›", "enter")
        await pick(hand, "unannounced reading", places=1)
        await hand.press("c", "‹7›", "enter")
        await pick(hand, "the last answer was wrong")
        assert type(hand.app.screen).__name__ == "NumberDriftScreen"
        assert "Meter: last reading is 7.   Record: last reading is 6." in hand.screen()
        await pick(hand, "stored twice", places=1)
        assert hand.app.screen is hand.walk
        assert hand.walk.desk.survey.next_number == 8


async def test_a_run_begun_in_a_memory_that_was_not_cleared_is_gone_back_on(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter")
        desk.start_run(1, "memory cleared")
        await hand.press("‹1.2›", "enter", "c", "‹7›", "enter")
        screen = hand.screen()
        assert "%  the memory was not cleared" in screen
        assert "the meter still holds the memory of run 1, which goes on" in screen
        assert "run 1 goes on from record 3, which gets 7; next number 8" in screen
        await pick(hand, "the memory was not cleared")
        records = hand.walk.desk.survey.records.values()
        assert [(each.run, each.number) for each in records] == [(1, 5), (1, 6), (1, 7)]
        await hand.press("‹1.3›", "enter", "c", "‹8›", "enter")
        assert "NUMBERS AGREE" in hand.screen()


async def test_a_far_number_is_asked_for_again(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹81›", "enter")
        digit = next(line for line in hand.screen().splitlines() if "%  number misheard" in line)
        await hand.press(digit.strip(" ▶").split()[0], "enter")
        assert isinstance(hand.app.screen, NumberDialog)
        await hand.press("‹6›", "enter")
        assert "NUMBERS AGREE" in hand.screen()


async def test_in_the_lesson_a_wrong_answer_is_no_dead_end(tmp_path: Path) -> None:
    """9 is keyed for 8, and believed; then the coach asks for 8."""
    async with lesson(tmp_path) as (pupil, _):
        for keys in (
            ("‹.84›", "enter", "‹3.46›", "enter", "t", "1", "‹3.41›", "enter"),
            ("z", "1", "enter", "‹D-7›", "enter", "‹1.27›", "enter", "s", "1", "‹2.05›", "enter"),
            ("v", "‹5›", "1", "‹1.05›", "enter", "c", "‹6›", "enter", "‹1.38›", "enter"),
        ):
            await pupil.press(*keys)
        await pupil.sees("13 of 17: the numbers differ (Drift)")
        await pupil.press("c", "‹9›", "enter")
        await pick(pupil, "unannounced reading", places=1)
        await pupil.sees("meter's last memory number: 8")
        await pupil.press("c", "‹8›", "enter")
        await pupil.sees("14 of 17: say what happened (Drift)")
        await pick(pupil, "the last answer was wrong")
        await pupil.sees("THE NUMBERS DIFFER")
        await pick(pupil, "stored twice")
        await pupil.sees("15 of 17")
        await pupil.press("‹0.97›", "enter", "‹1.62›", "enter")
        await pupil.sees("17 of 17: reconcile")
