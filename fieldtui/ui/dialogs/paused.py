"""The crew has stopped for a while; any key goes on."""

from __future__ import annotations

from collections.abc import Iterable

from textual import events
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.dialogs.dialog import Dialog


class PausedDialog(Dialog[bool]):
    """Says PAUSED until a key is pressed."""

    def __init__(self, reason: str) -> None:
        super().__init__(Content.styled("PAUSED", "bold reverse"), "Any key: go on. A number check follows.")
        self._reason = reason

    def compose_body(self) -> Iterable[Widget]:
        yield Static(Content(self._reason or "The walk waits; nothing is recorded meanwhile."))

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        self.dismiss(True)
