"""The lesson on the real screens at 80x24: played to its end, and with wrong things done on the way."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from fieldtui.desk.practice import load_lesson, make_practice
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.dialogs.lesson_over import LessonOverDialog
from fieldtui.ui.practice import LessonApp
from tests.ui.walking import LOW, Hand, Ticking

_PATIENCE = 300  # looks at the screen


class Pupil(Hand):
    async def sees(self, words: str) -> None:
        for _ in range(_PATIENCE):
            if words in self.screen():
                return
            await self.pilot.pause(0.01)
        raise AssertionError(f"{words!r} is not on the screen:\n{self.screen()}")


@asynccontextmanager
async def lesson(folder: Path) -> AsyncIterator[tuple[Pupil, LessonApp]]:
    workspace = make_practice(Disk(), folder)
    app = LessonApp(workspace, load_lesson(workspace.disk), Ticking())
    async with app.run_test(size=LOW) as pilot:
        pupil = Pupil(pilot, _Session(workspace))  # type: ignore[arg-type]
        await pupil.sees("LESSON  the brief")
        await pupil.press("f3", "f5")
        await pupil.sees("1 of 17: a reading")
        yield pupil, app


class _Session:
    """The one practice session, once it is there."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    def __truediv__(self, name: str) -> Path:
        folder = next(each.folder for each in self._workspace.sessions() if each.is_practice)
        return folder / name


async def test_done_right_it_ends_with_what_was_learned(tmp_path: Path) -> None:
    async with lesson(tmp_path) as (pupil, app):
        steps: tuple[tuple[str, tuple[str, ...]], ...] = (
            ("1 of 17", ("‹.84›", "enter")),
            ("2 of 17", ("‹3.46›", "enter")),
            ("3 of 17: take it again (redo)", ("t", "1")),
            ("4 of 17", ("‹3.41›", "enter")),
            ("5 of 17: the bond is cleaned (rework)", ("z", "1", "enter", "‹D-7›", "enter")),
            ("6 of 17: the retest", ("‹1.27›", "enter")),
            ("7 of 17: leave a point for later (skip)", ("s", "1")),
            ("8 of 17", ("‹2.05›", "enter")),
            ("9 of 17: strike a reading out (void)", ("v", "‹5›", "1")),
            ("10 of 17", ("‹1.05›", "enter")),
            ("11 of 17: check the memory number", ("c", "‹6›", "enter")),
            ("12 of 17", ("‹1.38›", "enter")),
            ("13 of 17: the numbers differ (Drift)", ("c", "‹8›", "enter")),
        )
        for words, keys in steps:
            await pupil.sees(words)
            assert "Prober: “" in pupil.screen() and "You: " in pupil.screen()
            await pupil.press(*keys)
        await pupil.sees("14 of 17: say what happened (Drift)")
        await pupil.sees("THE NUMBERS DIFFER")  # the coach stays in sight over Drift
        digit = next(line.split()[0] for line in pupil.screen().splitlines() if "%  stored twice" in line)
        await pupil.press(digit, "enter", "1", "enter")
        await pupil.sees("15 of 17")
        await pupil.press("‹0.97›", "enter")
        await pupil.sees("16 of 17")
        await pupil.press("‹1.62›", "enter")
        await pupil.sees("17 of 17: reconcile")
        await pupil.press("h")
        await pupil.sees("The memory list of run 1")
        await pupil.press("2")
        await pupil.sees("number 1: value?")
        assert "10: 1.26" in pupil.screen()  # what there is to key stays in sight
        for value in ("0.84", "3.46", "3.41", "1.27", "2.05", "1.05", "1.38", "1.38", "0.97", "1.26"):
            await pupil.press(f"‹{value}›", "enter")
        await pupil.press("enter")
        await pupil.sees("memory 10: key it again")
        await pupil.press("‹1.26›", "enter")
        await pupil.sees("KEYED DIFFERENTLY")
        await pupil.press("1")
        await pupil.sees("Take over what is certain")
        await pupil.press("1")
        await pupil.sees("TAKEN OVER: 1")
        await pupil.press("escape")
        await pupil.sees("The lesson is done")
        await pupil.press("q")
        await pupil.sees("For real:")
        assert isinstance(app.screen, LessonOverDialog)
        screen = pupil.screen()
        assert "fieldtui new surveys" in screen and "fieldtui walk NAME" in screen
        assert "The lesson is done. What you" in screen and "Enter: leave." in screen  # all of it fits
        await pupil.press("enter")
    assert app.return_value == 0
    assert app.coach.left == ()
    kinds = [row["kind"] for row in pupil.trail()]
    for kind in ("skip", "redo", "rework", "void", "number", "renumber", "amend", "reconcile"):
        assert kind in kinds


async def test_wrong_things_are_answered_gently_and_nothing_goes_on(tmp_path: Path) -> None:
    async with lesson(tmp_path) as (pupil, _):
        await pupil.press("x", "2")  # a try without a value that nobody called
        await pupil.sees("That is on record, too; nothing is lost")
        await pupil.sees("1 of 17 ▸")
        await pupil.press("‹0.48›", "enter")  # digits swapped
        await pupil.sees("Record 1 has 0.48, called was 0.84: w, 1, 0.84, Enter, 1.")
        await pupil.press("w", "1", "‹0.84›", "enter", "1")
        await pupil.sees("2 of 17")
        await pupil.press("s", "escape")  # begun, and left
        await pupil.sees("2 of 17")
        assert "▸" not in pupil.screen()
        await pupil.press("s", "1")
        await pupil.sees("Walk at L-03, prober at L-02: j, L-02, Enter, 1, Enter.")
        await pupil.press("j", "‹L-02›", "enter", "1", "enter")
        await pupil.press("‹3.46›", "enter")
        await pupil.sees("3 of 17")
        await pupil.press("‹zz›")  # keys that mean nothing
        await pupil.sees("3 of 17")
        _fits(pupil.screen)


async def test_it_can_be_left_at_any_time(tmp_path: Path) -> None:
    async with lesson(tmp_path) as (pupil, app):
        await pupil.press("‹.84›", "enter")
        await pupil.sees("2 of 17")
        await pupil.press("q")
        await pupil.sees("Left early. What you have learned:")
        await pupil.sees("A value and Enter records it")
        assert "Not yet" in pupil.screen() and "reconcile" in pupil.screen()
        await pupil.press("enter")
    assert app.return_value == 0


async def test_left_at_the_brief_nothing_was_begun(tmp_path: Path) -> None:
    workspace = make_practice(Disk(), tmp_path)
    app = LessonApp(workspace, load_lesson(workspace.disk), Ticking())
    async with app.run_test(size=LOW) as pilot:
        pupil = Pupil(pilot, tmp_path)
        await pupil.sees("LESSON  the brief")
        await pupil.press("escape")
        await pilot.pause()
    assert app.return_value == 0
    assert not [each for each in workspace.sessions() if each.is_practice]


def _fits(screen: Callable[[], str]) -> None:
    """Entry line and keys are still to be seen below the coach."""
    lines = screen().splitlines()
    assert any(line.startswith(" value mΩ >") for line in lines), screen()
    assert "F1 help" in lines[-1], screen()
