"""The dialogs by themselves, over an empty screen."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.memory_run import UnreconciledDialog
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.dialogs.points import PointsDialog
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog
from fieldtui.ui.dialogs.records import RecordDialog
from fieldtui.ui.held_keys import KeyedApp
from fieldtui.ui.themes import LIGHTS
from fieldtui.ui.widgets.word_line import WordLine
from tests.ui.walking import Desk, screen_text

UNANSWERED = object()


class Asking(KeyedApp[None]):
    """Asks one thing and keeps the answer."""

    def __init__(self, dialog: Dialog[Any]) -> None:
        super().__init__()
        self._dialog = dialog
        self.answer: object = UNANSWERED
        for theme in LIGHTS:
            self.register_theme(theme)
        self.theme = LIGHTS[0].name

    def on_mount(self) -> None:
        self.push_screen(self._dialog, self._keep)

    def _keep(self, answer: object) -> None:
        self.answer = answer


@asynccontextmanager
async def asked(dialog: Dialog[Any]) -> AsyncIterator[tuple[Asking, Pilot[None]]]:
    app = Asking(dialog)
    async with app.run_test(size=(80, 24)) as pilot:
        while not app.takes_keys:
            await pilot.pause()
        yield app, pilot


async def answer_to(dialog: Dialog[Any], *keys: str) -> object:
    async with asked(dialog) as (app, pilot):
        await pilot.press(*keys)
        await pilot.pause()
        return app.answer


@pytest.mark.parametrize(
    ("keys", "answer"),
    [
        (["2"], Reason("fog")),
        (["enter"], Reason("wind")),
        (["down", "enter"], Reason("fog")),
        (["escape"], None),
        (["9"], UNANSWERED),
        (["0", "o", "w", "l", "enter"], Reason("owl")),
        (["0", "enter"], UNANSWERED),
        (["0", "1", "escape"], None),
        (["slash", "1"], Reason("wind", switched=True)),
        (["slash", "slash", "1"], Reason("wind")),
        (["0", "1", "slash", "2", "enter"], Reason("1/2")),
    ],
)
async def test_reasons(keys: list[str], answer: object) -> None:
    assert await answer_to(ReasonDialog("Why?", ["wind", "fog"], switch="both"), *keys) == answer


async def test_without_a_switch_the_slash_does_nothing() -> None:
    assert await answer_to(ReasonDialog("Why?", ["wind"]), "slash", "1") == Reason("wind")


async def test_only_nine_reasons_are_offered() -> None:
    async with asked(ReasonDialog("Why?", [f"reason {number}" for number in range(1, 12)])) as (app, _):
        assert "9  reason 9" in screen_text(app)
        assert "reason 10" not in screen_text(app)


async def test_reasons_are_no_markup() -> None:
    async with asked(ReasonDialog("Leave [P-014] for later: why?", ["[b]wind[/b]", "[/x]"])) as (app, _):
        assert "Leave [P-014] for later: why?" in screen_text(app)
        assert "1  [b]wind[/b]" in screen_text(app)
        assert "2  [/x]" in screen_text(app)


@pytest.mark.parametrize("pasted", ["\x1b]52;c;x\x07", "a\u202eb", "two\nlines", "nul\x00"])
async def test_unsafe_text_is_not_pasted(pasted: str) -> None:
    async with asked(ReasonDialog("Why?", ["wind"])) as (app, pilot):
        await pilot.press("0")
        app.post_message(events.Paste(pasted))
        await pilot.pause()
        await pilot.pause()
        assert app.screen.query_one(WordLine).text == ""
        assert "not pasted: character \\u{" in screen_text(app).replace("U+", "\\u{")


async def test_plain_text_is_pasted() -> None:
    async with asked(ReasonDialog("Why?", ["wind"])) as (app, pilot):
        await pilot.press("0")
        app.post_message(events.Paste("under the nacelle"))
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert app.answer == Reason("under the nacelle")


@pytest.mark.parametrize(
    ("keys", "answer"),
    [
        (["a", "enter", "b", "enter"], ["a", "b"]),
        (["enter", "a", "enter", "enter"], ["a", "two"]),
        (["enter"], UNANSWERED),
        (["a", "enter", "escape"], None),
    ],
)
async def test_forms(keys: list[str], answer: object) -> None:
    form = FormDialog("Tell", [Question("one", wanted("one")), Question("two", answer="two")])
    assert await answer_to(form, *keys) == answer


@pytest.mark.parametrize(
    ("keys", "answer"), [(["1", "7", "enter"], ["17"]), (["x", "7", "enter"], ["7"]), (["enter"], UNANSWERED)]
)
async def test_numbers_are_digits(keys: list[str], answer: object) -> None:
    assert await answer_to(NumberDialog(), *keys) == answer


@pytest.mark.parametrize(
    ("keys", "answer"),
    [
        (["enter"], 12),
        (["1", "2"], 12),
        (["1", "enter"], 1),
        (["1", "1"], 11),
        (["7"], 7),
        (["down", "down", "enter"], 10),
        (["end", "enter"], 1),
        (["1", "backspace", "2"], 2),
    ],
)
async def test_records_are_picked_by_their_number(desk: Desk, keys: list[str], answer: int) -> None:
    for _ in range(12):
        desk.record(desk.weigh("1.2"))
        desk.redo("again")
    records = desk.survey.last_records(12)
    assert await answer_to(RecordDialog("Which?", records), *keys) == answer


async def test_points_are_filtered(desk: Desk) -> None:
    points = list(desk.survey.points.values())
    dialog = PointsDialog("Which?", desk.survey, points)
    async with asked(dialog) as (app, pilot):
        await pilot.press(*"track", "space", "3")
        await pilot.pause()
        assert "SW-03" in screen_text(app)
        assert "SW-01" not in screen_text(app)
        await pilot.press("x", "enter")
        await pilot.pause()
        assert app.answer is UNANSWERED  # nothing is listed, nothing is taken
        await pilot.press("backspace", "enter")
        await pilot.pause()
        assert app.answer == "SW-03"


async def test_help_of_other_screens() -> None:
    async with asked(HelpDialog("review")) as (app, _):
        assert "Every row of the trail in order." in screen_text(app)
        assert "IEC 60062" not in screen_text(app)


async def test_a_sentence_is_folded_once_and_has_no_line_of_one_word() -> None:
    async with Asking(UnreconciledDialog(1)).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        page = screen_text(pilot.app)
    lines = [line.strip(" ┃") for line in page.splitlines()]
    assert "the" not in lines
    assert "held against the record" in " ".join(lines)
