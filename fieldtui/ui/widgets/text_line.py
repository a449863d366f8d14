"""An input for free text that takes nothing which could drive a terminal."""

from __future__ import annotations

from textual import events
from textual.message import Message
from textual.widgets import Input

from fieldtui.core.text import MAX_LENGTH, refusal
from fieldtui.ui.widgets.word_line import as_decimal


class TextLine(Input):
    """One line of words. A paste with control or invisible characters is refused whole."""

    class PasteRefused(Message):
        """The pasted text may not enter the record; ``why`` says what is in it."""

        def __init__(self, why: str) -> None:
            super().__init__()
            self.why = why

    def __init__(self, value: str = "", *, is_value: bool = False) -> None:
        """``is_value``: the comma key of a numeric keypad is its decimal point."""
        self._is_value = is_value
        super().__init__(
            value if refusal(value) is None else "",
            max_length=MAX_LENGTH,
            select_on_focus=True,  # an offered answer gives way to the first key
            compact=True,
        )

    def _on_key(self, event: events.Key) -> None:  # type: ignore[override]
        """The toolkit calls the handler of Input after this one."""
        if self._is_value and event.character == ",":
            if not self.selection.is_empty:
                self.delete_selection()  # what was there gives way, its point as well
            event.character = as_decimal(self.value, event.character)

    def _on_paste(self, event: events.Paste) -> None:
        why = refusal(event.text)
        if why is None:
            return  # the toolkit calls the handler of Input after this one
        event.stop()
        event.prevent_default()
        self.post_message(self.PasteRefused(why))
