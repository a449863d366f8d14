"""The line on which values are keyed. It has the focus for the whole walk.

One thing is handed up at a time: a keyed line, or a key that is a command while the line is empty.
Until the screen answers with ``accept`` or ``refuse`` the line is busy and further keys wait
(:mod:`fieldtui.ui.held_keys`), so that a slow disk can neither double a value nor swallow a digit of
the next one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.timer import Timer
from textual.widget import Widget

from fieldtui.ui.held_keys import KeyedLine, forget_keys, keys_go_on
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.word_line import as_decimal

MAX_LENGTH = 32  # a memory number, a value and a unit
# Seconds until it is shown that something takes its time: what is done by then is painted once, not twice.
BLINK_S = 0.05
NO_WAY_ON: Mapping[str, str] = MappingProxyType({})
VALUE_STARTS = frozenset("0123456789.,RLKMrkmuµ")  # what a value may begin with (IEC 60062)


def begins_value(character: str | None, *, is_signed: bool) -> bool:
    """Whether a value may begin with what a key wrote; a minus does where voltages are keyed."""
    return character in VALUE_STARTS or (is_signed and character == "-")


class EntryLine(KeyedLine, Widget, can_focus=True):
    """A line of text that only grows and shrinks at its end; Enter hands it up."""

    DEFAULT_CSS = """
    EntryLine { height: 1; }
    """
    ALLOW_SELECT: ClassVar[bool] = False
    # Seconds in which keys are of one number. Between two a mental act lies, 1.35 s (Card, Moran and Newell,
    # CACM 23(7), 1980; from memory), and the prober's way to the next point.
    ONE_NUMBER_S: ClassVar[float] = 1.0

    text: reactive[str] = reactive("")
    unit: reactive[str] = reactive("")
    is_signed: reactive[bool] = reactive(False)  # voltages are keyed: the minus is one, and no command
    is_busy: reactive[bool] = reactive(False, repaint=False)
    looks_busy: reactive[bool] = reactive(False)
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
        self._is_refused = False
        self._is_unsaved = False
        self._way_on = NO_WAY_ON
        self._is_handed_up = False  # the line itself, and not a command
        self._until_seen: Timer | None = None
        self._picked, self._picked_at = "", 0.0  # the digit that answered a question just before, and when
        self.rest_of = ""  # that digit, where the line goes on with the number that it began

    # --- what the screen answers ----------------------------------------------------------

    def say_hint(self, hint: str) -> None:
        """What can be done now with the line that was refused; a key that led on from it does so no more."""
        if self._is_refused:
            self.hint, self._way_on = hint, NO_WAY_ON

    def follows_pick(self, digit: str, when: float) -> None:
        """The digit, if any, that answered the question asked just before, and when it was pressed."""
        self._picked, self._picked_at = digit, when

    def hold(self) -> None:
        """Let further keys wait."""
        self.is_busy = True

    def accept(self, *, clear: bool = False) -> None:
        """What was handed up is done: empty the line if asked, and go on with the keys that waited."""
        if clear:
            self.text = ""
        self._is_handed_up = False
        self.is_busy = False

    def refuse(self, *, unsaved: bool = False, way_on: Mapping[str, str] = NO_WAY_ON, hint: str = "") -> None:
        """What was handed up did not happen: keep the line and forget the keys pressed in the meantime.

        The next value keyed takes the refused one's place. One that could not be saved gives way only
        to Escape or Backspace: it may be all that is left of the reading. ``way_on`` are keys that are
        commands all the same, each with the one it stands for; the line stays as it is meanwhile.

        Where it was a command that did not happen, what stands on the line was not asked for: it stays what
        it was, one that could not be saved or a value that is half keyed.
        """
        forget_keys(self)
        is_handed_up, self._is_handed_up = self._is_handed_up, False
        self.is_busy = False
        if not is_handed_up:
            return
        self._is_refused, self._is_unsaved = bool(self.text), bool(self.text) and unsaved
        self._way_on = way_on if self.text else NO_WAY_ON
        again = "key it again, or Backspace to correct it"
        again = "Enter tries again, Esc or - clears it" if unsaved else again
        self.hint = (hint or again) if self.text else ""

    def watch_is_busy(self, is_busy: bool) -> None:
        if self._until_seen is not None:
            self._until_seen.stop()
            self._until_seen = None
        if is_busy:
            self._until_seen = self.set_timer(BLINK_S, self._look_busy)
        else:
            self.looks_busy = False
            keys_go_on(self)

    def _look_busy(self) -> None:
        self.looks_busy = self.is_busy

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """Where no application hands the keys out itself."""
        if self.take_key(event):
            event.stop()
            event.prevent_default()

    def take_key(self, event: events.Key) -> bool:
        is_taken = event.is_printable or event.key in ("enter", "escape", "backspace")
        if is_taken and not self.is_busy:
            self._take(event)
        return is_taken

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        self.post_message(self.PasteRefused())

    def _take(self, event: events.Key) -> None:
        if self._is_refused and event.key.lower() in self._way_on:
            self._picked = ""
            self.hold()
            self.post_message(self.CommandKeyed(self._way_on[event.key.lower()]))
            return
        if self._is_refused and event.key not in ("enter", "backspace", "escape", "minus"):
            if self._is_unsaved or not self._begins_value(event):
                return
            self.text = ""
        self._is_refused, self.hint, self._way_on = False, "", NO_WAY_ON
        if event.key == "enter":
            if self.text.strip():
                self.hold()
                self._is_handed_up = True
                self.post_message(self.LineKeyed(self.text))
        elif event.key == "escape":
            self.text = ""
        elif self.text and event.key == "minus":  # the numeric keypad has neither Escape nor Backspace
            self.text = "-" if self.is_signed and self.text != "-" else ""
        elif event.key == "backspace":
            self.text = self.text[:-1]
        elif self.text or self._begins_value(event):
            if not self.text:
                self.rest_of = self._picked if self._goes_on(event) else ""
            self.text = (self.text + as_decimal(self.text, event.character or ""))[:MAX_LENGTH]
        elif (key := event.key if len(event.key) > 1 else event.key.lower()) in self._commands:
            self.hold()  # a command is one with the shift lock on, too
            self.post_message(self.CommandKeyed(key))
        self._picked = ""

    def _goes_on(self, event: events.Key) -> bool:
        """Whether a key rather goes on with a number than begins one: a point, or one that came very soon."""
        return event.character in (".", ",") or event.time - self._picked_at < self.ONE_NUMBER_S

    def _begins_value(self, event: events.Key) -> bool:
        return begins_value(event.character, is_signed=self.is_signed)

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
                Content.styled("…" if self.looks_busy else "█", "bold"),
                Content(f"   {self.hint}" if self.hint else ""),
            ]
        )
