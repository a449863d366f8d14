"""The two numbers that hold the paper trail together, large enough to be read at arm's length."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.reactive import reactive
from textual.widgets import Digits, Static

from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import room_in_words


class Counters(Vertical):
    """The record number the next reading takes, and the memory number it will get."""

    survey: reactive[Survey | None] = reactive(None, always_update=True, repaint=False)

    def compose(self) -> ComposeResult:
        yield Static("RECORD", classes="counter-label", markup=False)
        yield Digits("", id="record-number")
        yield Static("METER MEMORY", classes="counter-label", markup=False)
        yield Digits("", id="memory-number")
        yield Static("", id="memory-room", markup=False)

    def watch_survey(self, survey: Survey | None) -> None:
        if survey is None or not self.is_mounted:
            return
        number = survey.next_number
        self.query_one("#record-number", Digits).update(str(survey.next_record))
        self.query_one("#memory-number", Digits).update("--" if number is None else str(number))
        self.query_one("#memory-room", Static).update(room_in_words(survey.run), layout=False)
