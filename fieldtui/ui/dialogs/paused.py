"""The crew has stopped for a while; any key goes on."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown


class PausedDialog(Dialog[bool]):
    """Says PAUSED until a key is pressed."""

    IS_UNFORESEEN = True

    def __init__(self, reason: str) -> None:
        super().__init__(Content.styled("PAUSED", "bold reverse"), "Any key: go on. A number check follows.")
        self._reason = reason

    def compose_body(self) -> Iterable[Widget]:
        yield Static(shown(self._reason))

    def key_pressed(self, event: Key) -> None:
        self.answer(True)
