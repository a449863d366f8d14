"""The dialogs by themselves, over an empty screen."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.ui.actions import ACTIONS, key_name
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.dialogs.help import WIDTH, HelpDialog, help_page
from fieldtui.ui.dialogs.memory_run import MemoryRunDialog, UnreconciledDialog
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.dialogs.other_meter import UnlistedMeterDialog
from fieldtui.ui.dialogs.points import PointsDialog
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog
from fieldtui.ui.dialogs.records import RecordDialog
from fieldtui.ui.dialogs.standard import StandardDialog
from fieldtui.ui.held_keys import KeyedApp
from fieldtui.ui.themes import LIGHTS
from fieldtui.ui.widgets.word_line import WordLine
from tests.ui.walking import METER, Desk, screen_text

UNANSWERED = object()
STANDARD = CheckStandard(parse_resistance("2.5", Unit.MOHM), parse_resistance("0.05", Unit.MOHM), "resistor")


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


@pytest.mark.parametrize("keyed", ["6.0", ".3", "6,0"])
@pytest.mark.parametrize(
    "dialog",
    [
        NumberDialog,
        lambda: MemoryRunDialog(METER),
        lambda: UnlistedMeterDialog(METER),
        lambda: StandardDialog(STANDARD, "Check", next_number=60),
    ],
)
async def test_a_point_in_a_number_is_shown_and_refused(
    dialog: Callable[[], Dialog[Any]], keyed: str
) -> None:
    """6.0 with its point left out would be 60, and .3 the number 3: a value keyed on the wrong line."""
    shown = dialog()
    async with asked(shown) as (app, pilot):
        before = {UnlistedMeterDialog: ["m", "enter"], StandardDialog: ["2", ".", "5", "enter"]}
        await pilot.press(*before.get(type(shown), []), *keyed, "enter")
        await pilot.pause()
        assert app.answer is UNANSWERED
        assert f"{keyed}: a memory number is digits only" in screen_text(app)
        await pilot.press("ctrl+u", "6", "0", "enter")
        await pilot.pause()
        assert app.answer == [
            *{UnlistedMeterDialog: ["m"], StandardDialog: ["2.5"]}.get(type(shown), []),
            "60",
        ]


async def test_a_point_pasted_into_a_number_is_shown_and_refused() -> None:
    async with asked(NumberDialog()) as (app, pilot):
        app.post_message(events.Paste("6.0"))
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert app.answer is UNANSWERED
        assert "6.0: a memory number is digits only" in screen_text(app)


@pytest.mark.parametrize("dialog", [MemoryRunDialog, UnlistedMeterDialog])
async def test_a_number_the_meter_cannot_file_is_refused_on_its_own_line(
    dialog: Callable[[Instrument], Dialog[Any]],
) -> None:
    shown = dialog(METER)  # 1 to 100
    async with asked(shown) as (app, pilot):
        name = ["m", "enter"] if isinstance(shown, UnlistedMeterDialog) else []
        await pilot.press(*name, "0", "enter")
        await pilot.pause()
        assert app.answer is UNANSWERED
        assert "memory number 0 is below this meter's first, 1" in screen_text(app)
        await pilot.press("ctrl+u", *"101", "enter")
        await pilot.pause()
        assert app.answer is UNANSWERED
        assert "memory number 101 is beyond this meter's last, 100" in screen_text(app)
        await pilot.press("ctrl+u", *"100", "enter")
        await pilot.pause()
        assert app.answer == [*name[:1], "100"]


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


def test_the_help_parts_every_key_from_its_words() -> None:
    """The page of numbers that differ names the most keys in one line."""
    for action in ACTIONS:
        keys = " ".join(map(key_name, action.keys))
        lines = help_page(action.screen).plain.splitlines()
        assert any(line.startswith(f"{keys}  ") for line in lines), (action.screen, keys)
        assert max(map(len, lines)) <= WIDTH
