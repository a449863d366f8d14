"""What every dialog has in common: a heading, a line for trouble, Escape to leave without an answer.

A dialog takes every key itself and drives its parts by calls. Keys pressed before it could be seen count
in their order (:mod:`fieldtui.ui.held_keys`), but for those that would answer what nobody has seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, ClassVar, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.text import refusal
from fieldtui.ui.held_keys import KeyedPage, Pressed
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.word_line import WordLine

T = TypeVar("T")
Key = events.Key
LOOKS_LIKE_VALUE = "That looks like a value: nothing was done. Enter or Backspace, then pick."


class Dialog(ModalScreen[T | None], KeyedPage):
    """A question over the walk. The answer is None where it was left with Escape."""

    CSS_PATH = "../styles/dialogs.tcss"
    AUTO_FOCUS = None
    IS_UNFORESEEN: ClassVar[bool] = False  # comes up unasked, or says what must be read before any key counts

    def __init__(self, heading: str | Content, hint: str = "") -> None:
        super().__init__()
        self._heading = heading if isinstance(heading, Content) else shown(heading, "bold")
        self._hint = hint
        self.above: Callable[[], Widget] | None = None  # makes what stays in sight over the dialog
        self._is_answered = False
        self._key = ""
        self.keyed_at = 0.0  # when the last key was pressed, by the clock of key events
        self.picked = ""  # the digit that answered, empty where another key did

    # --- what a dialog is made of ---------------------------------------------------------

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            yield Static(self._heading, classes="dialog-heading")
            yield from self.compose_body()
            trouble = Static("", id="dialog-trouble")
            trouble.display = False
            yield trouble
            if self._hint:
                yield Static(Content(self._hint), classes="dialog-hint")

    def compose_body(self) -> Iterable[Widget]:
        """The widgets between heading and hint."""
        raise NotImplementedError

    def key_pressed(self, event: Key) -> None:
        """A key, in its turn; Escape never comes here."""
        raise NotImplementedError

    @property
    def minus_leaves(self) -> bool:
        """Whether ``-`` leaves as Escape does: the numeric keypad has no Escape."""
        return False

    def leaves(self, event: Key) -> bool:
        """Whether a key leaves what is in front."""
        return event.key == "escape" or (event.key == "minus" and self.minus_leaves)

    def answer(self, answer: T | None) -> None:
        """Close the dialog with its answer."""
        self._is_answered = True
        self.picked = self._key if self._key.isdecimal() else ""
        self.dismiss(answer)

    def was_asked(self, dialog: Dialog[Any]) -> None:
        """Another dialog was asked over this one: the key pressed last was pressed there."""
        self._key, self.keyed_at = dialog._key, dialog.keyed_at

    def say(self, words: str, style: str = "bold $text-error") -> None:
        """Say what is wrong with the answer; the dialog stays."""
        line = self.query_one("#dialog-trouble", Static)
        line.display = bool(words)
        line.update(shown(words, style))

    # --- keys -----------------------------------------------------------------------------

    def on_mount(self) -> None:
        if self.above is not None:
            self.mount(self.above())
            self.add_class("-under")  # there are fewer rows for what is asked

    @property
    def takes_keys(self) -> bool:
        return not self._is_answered

    def wants_seen(self, event: Pressed) -> bool:
        return self.IS_UNFORESEEN

    def keys_dropped(self) -> None:
        self.say("Keys pressed before this was shown do not count.", "bold")

    def on_key(self, event: Key) -> None:
        event.stop()
        event.prevent_default()
        if not self._is_answered:
            self._take(event)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        why = refusal(event.text)
        line = next((line for line in self.query(WordLine) if line.is_active), None)
        if why is not None:
            self.say(f"not pasted: {why}")
        elif line is not None:
            line.add(event.text)
            self.text_changed()

    def text_changed(self) -> None:
        """The text on the active line is another one now."""

    def _take(self, event: Key) -> None:
        self._key, self.keyed_at = event.key, event.time
        if self.leaves(event):
            self.answer(None)
        else:
            self.key_pressed(event)
