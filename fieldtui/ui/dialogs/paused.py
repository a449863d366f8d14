"""The crew has stopped for a while; a key goes on, but for those of a value."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown


class PausedDialog(Dialog[bool]):
    """Says PAUSED until a key is pressed. A value keyed here would lose its first digit to the walk."""

    IS_UNFORESEEN = True

    def __init__(self, reason: str, *, has_memory: bool = True) -> None:
        then = " A number check is due then: c." if has_memory else ""
        super().__init__(Content.styled("PAUSED", "bold reverse"), f"Enter or any letter: go on.{then}")
        self._reason = reason
        self.dropped = ""  # what was keyed here, as far as it may have been a value

    def compose_body(self) -> Iterable[Widget]:
        yield Static(shown(self._reason))

    def key_pressed(self, event: Key) -> None:
        if event.character is not None and event.character in "0123456789.,":
            self.dropped += event.character
            self.say("Nothing is recorded while it is paused. Enter: go on.")
        else:
            self.answer(True)
