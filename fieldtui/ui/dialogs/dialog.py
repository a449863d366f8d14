"""What every dialog has in common: a heading, a line for trouble, Escape to leave without an answer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, TypeVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.shown import shown

T = TypeVar("T")


class Dialog(ModalScreen[T | None]):
    """A question over the walk. The answer is None where it was left with Escape."""

    CSS_PATH = "../styles/dialogs.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", show=False)]
    AUTO_FOCUS = "Choices, TextLine"
    TAKES_KEYS_AHEAD: ClassVar[bool] = True  # False where a key in a hurry must not answer

    def __init__(self, heading: str | Content, hint: str = "") -> None:
        super().__init__()
        self._heading = heading if isinstance(heading, Content) else Content.styled(heading, "bold")
        self._hint = hint
        self._ahead: list[str] = []

    def type_ahead(self, keys: Iterable[str]) -> None:
        """Keys that were pressed before the dialog was there: its first ones, or forgotten."""
        self._ahead = list(keys) if self.TAKES_KEYS_AHEAD else []

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

    def on_mount(self) -> None:
        self.call_after_refresh(self._play_ahead)

    def say(self, words: str, style: str = "bold $text-error") -> None:
        """Say what is wrong with the answer; the dialog stays."""
        line = self.query_one("#dialog-trouble", Static)
        line.display = bool(words)
        line.update(shown(words, style))

    def action_leave(self) -> None:
        self.dismiss(None)

    def _play_ahead(self) -> None:
        keys, self._ahead = self._ahead, []
        for key in keys:
            self.app.simulate_key(key)
