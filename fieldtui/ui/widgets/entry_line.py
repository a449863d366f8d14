"""The line on which values are keyed. It has the focus for the whole walk.

One thing is handed up at a time: a keyed line, or a key that is a command while the line is empty.
Until the screen answers with ``accept`` or ``refuse``, further keys wait in their order, so
that a slow disk can neither double a value nor swallow a digit of the next one.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Sequence
from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.ui.shown import shown

MAX_LENGTH = 32  # a memory number, a value and a unit
VALUE_STARTS = frozenset("0123456789.,RLKMrkmuµ")  # what a value may begin with (IEC 60062)


class EntryLine(Widget, can_focus=True):
    """A line of text that only grows and shrinks at its end; Enter hands it up."""

    DEFAULT_CSS = """
    EntryLine { height: 1; }
    """
    ALLOW_SELECT: ClassVar[bool] = False

    text: reactive[str] = reactive("")
    unit: reactive[str] = reactive("")
    is_signed: reactive[bool] = reactive(False)  # voltages are keyed: the minus is one, and no command
    is_busy: reactive[bool] = reactive(False)
    hint: reactive[str] = reactive("")  # what can be done with a line that was refused

    class TextChanged(Message):
        """What stands on the line is another text now."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class LineKeyed(Message):
        """Enter was pressed on a line that is not empty. Wants ``accept`` or ``refuse``."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class CommandKeyed(Message):
        """A command key was pressed on the empty line. Wants ``accept`` or ``refuse``."""

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    class PasteRefused(Message):
        """Text was pasted; values are keyed, never pasted."""

    def __init__(self, commands: Collection[str]) -> None:
        super().__init__()
        self._commands = frozenset(commands)
        self._held: deque[events.Key] = deque()
        self._is_refused = False
        self._is_unsaved = False

    # --- what the screen answers ----------------------------------------------------------

    def hold(self) -> None:
        """Let further keys wait."""
        self.is_busy = True

    def accept(self, *, clear: bool = False) -> None:
        """What was handed up is done: empty the line if asked, and go on with the keys that waited."""
        if clear:
            self.text = ""
        self.is_busy = False
        while self._held and not self.is_busy:
            self._take(self._held.popleft())

    def refuse(self, *, unsaved: bool = False) -> None:
        """What was handed up did not happen: keep the line and forget the keys pressed in the meantime.

        The next value keyed takes the refused one's place. One that could not be saved gives way only
        to Escape or Backspace: it may be all that is left of the reading.
        """
        self._held.clear()
        self.is_busy = False
        self._is_refused, self._is_unsaved = bool(self.text), bool(self.text) and unsaved
        again = "Enter tries again, Esc clears it" if unsaved else "key it again, or Backspace to correct it"
        self.hint = again if self.text else ""

    def take_held(self) -> list[events.Key]:
        """The keys that waited, for a dialog that is about to open."""
        keys = list(self._held)
        self._held.clear()
        return keys

    def put_first(self, names: Sequence[str]) -> None:
        """Keys that count as pressed before those that wait."""
        keys = [events.Key(name, name if len(name) == 1 else None) for name in names]
        self._held.extendleft(reversed(keys))

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if not (event.is_printable or event.key in ("enter", "escape", "backspace")):
            return
        event.stop()
        event.prevent_default()
        self.press(event)

    def press(self, event: events.Key) -> None:
        """Take a key in its turn."""
        if self.is_busy:
            self._held.append(event)
        else:
            self._take(event)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        self.post_message(self.PasteRefused())

    def _take(self, event: events.Key) -> None:
        if self._is_refused and event.key not in ("enter", "backspace", "escape"):
            if self._is_unsaved or not self._begins_value(event):
                return
            self.text = ""
        self._is_refused, self.hint = False, ""
        if event.key == "enter":
            if self.text.strip():
                self.hold()
                self.post_message(self.LineKeyed(self.text))
        elif event.key == "escape":
            self.text = ""
        elif event.key == "backspace":
            self.text = self.text[:-1]
        elif self.text or self._begins_value(event):
            self.text = (self.text + (event.character or ""))[:MAX_LENGTH]
        elif (key := event.key if len(event.key) > 1 else event.key.lower()) in self._commands:
            self.hold()  # a command is one with the shift lock on, too
            self.post_message(self.CommandKeyed(key))

    def _begins_value(self, event: events.Key) -> bool:
        return event.character in VALUE_STARTS or (self.is_signed and event.character == "-")

    def watch_text(self, text: str) -> None:
        self.post_message(self.TextChanged(text))

    # --- drawing --------------------------------------------------------------------------

    def render(self) -> Content:
        return Content("").join(
            [
                Content(" value "),
                shown(self.unit),
                Content(" > "),
                shown(self.text, "bold"),
                Content.styled("…" if self.is_busy else "█", "bold"),
                Content(f"   {self.hint}" if self.hint else ""),
            ]
        )
