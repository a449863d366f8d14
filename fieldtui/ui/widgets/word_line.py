"""A line for free text, driven by its dialog. It grows and shrinks at its end."""

from __future__ import annotations

from textual import events
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.core.text import MAX_LENGTH
from fieldtui.ui.shown import shown

_OF_NUMBERS = frozenset("0123456789.,")


def as_decimal(text: str, character: str) -> str:
    """What a key adds to a value that stands on a line: the comma of a keypad is the decimal point.

    Many numeric keypads send one. Behind a point it stays a comma, so that nothing is put right in silence.
    """
    return "." if character == "," and "." not in text else character


class WordLine(Widget):
    """One line of words, of a number, or of a value. An offered answer gives way to the first key.

    A number line takes no letter. A point stays to be seen, and its dialog refuses it: 6.0 is not 60.
    """

    DEFAULT_CSS = """
    WordLine { height: 1; }
    """

    text: reactive[str] = reactive("")
    is_active: reactive[bool] = reactive(False)

    def __init__(
        self,
        offered: str = "",
        *,
        is_number: bool = False,
        is_value: bool = False,
        is_active: bool = False,
    ) -> None:
        super().__init__()
        self.set_reactive(WordLine.text, offered)
        self.set_reactive(WordLine.is_active, is_active)
        self._is_number = is_number
        self._is_value = is_value
        self._is_offered = bool(offered)

    def press(self, event: events.Key) -> None:
        """Take a key; those that edit nothing are left alone."""
        if event.key == "backspace":
            self._is_offered = False
            self.text = self.text[:-1]
        elif event.key == "ctrl+u":
            self.text = ""
        elif event.is_printable and event.character is not None:
            if self._is_number and event.character not in _OF_NUMBERS:
                return
            before = "" if self._is_offered else self.text
            self.add(as_decimal(before, event.character) if self._is_value else event.character)

    def add(self, text: str) -> None:
        """Put text at the end, or in place of the offered answer."""
        before = "" if self._is_offered else self.text
        self._is_offered = False
        self.text = (before + text)[:MAX_LENGTH]

    @property
    def is_untouched(self) -> bool:
        """Whether it is empty, or still holds what was offered."""
        return self._is_offered or not self.text

    def render(self) -> Content:
        room = max(1, self.size.width - 3)
        tail = self.text
        while len(tail) > 1 and shown(tail).cell_length > room:
            tail = tail[1:]  # the end is where the keys go
        style = "reverse" if self._is_offered and self.is_active else ""
        return Content(" ") + shown(tail, style) + Content("█" if self.is_active else "")
