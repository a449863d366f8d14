"""The brief is left with answers in it: nothing of them is kept, so it is asked once."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.dialogs.dialog import Dialog, Key

_LEAVE = ("escape", "1")


class LeaveBriefDialog(Dialog[bool]):
    """The answer is True where the brief is to be left."""

    IS_UNFORESEEN = True

    def __init__(self) -> None:
        super().__init__("Leave the brief?", "Esc again, or 1: leave it. Any other key: stay.")

    def compose_body(self) -> Iterable[Widget]:
        yield Static(Content("No session is begun, and what was keyed here is lost."))

    def leaves(self, event: Key) -> bool:
        return False

    def key_pressed(self, event: Key) -> None:
        self.answer(event.key in _LEAVE)
