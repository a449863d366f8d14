"""Free text: what it takes, and what it refuses."""

from __future__ import annotations

import pytest
from textual import events
from textual.app import App, ComposeResult

from fieldtui.ui.widgets.text_line import TextLine


class OneLine(App[None]):
    def __init__(self) -> None:
        super().__init__()
        self.refused: list[str] = []

    def compose(self) -> ComposeResult:
        yield TextLine("offered")

    def on_text_line_paste_refused(self, event: TextLine.PasteRefused) -> None:
        self.refused.append(event.why)


@pytest.mark.parametrize(
    ("pasted", "kept", "refused"),
    [("plain", "plain", 0), ("a\x1b]0;x", "offered", 1), ("a\u202eb", "offered", 1)],
)
async def test_pasting(pasted: str, kept: str, refused: int) -> None:
    app = OneLine()
    async with app.run_test() as pilot:
        app.query_one(TextLine).focus()
        await pilot.pause()
        app.post_message(events.Paste(pasted))
        await pilot.pause()
        await pilot.pause()
        assert app.query_one(TextLine).value == kept
        assert len(app.refused) == refused


def test_unsafe_text_is_not_offered() -> None:
    assert TextLine("a\x1bb").value == ""


class OneValue(App[None]):
    def compose(self) -> ComposeResult:
        yield TextLine("2.51", is_value=True)
        yield TextLine(is_value=True)
        yield TextLine()


async def test_a_comma_key_is_the_point_of_a_value_and_a_comma_in_words() -> None:
    app = OneValue()
    async with app.run_test() as pilot:
        for line in app.query(TextLine):
            line.focus()
            await pilot.pause()
            await pilot.press("2", ",", "4", ",", "9")
        # the offered one gave way whole, its point too; a second comma stays, to be seen
        assert [line.value for line in app.query(TextLine)] == ["2.4,9", "2.4,9", "2,4,9"]
