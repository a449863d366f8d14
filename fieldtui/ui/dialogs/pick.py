"""What the dialogs with one list have in common."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from textual.content import Content
from textual.widget import Widget

from fieldtui.ui.dialogs.dialog import LOOKS_LIKE_VALUE, Dialog, Key
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.widgets.choices import Choices, Row

T = TypeVar("T")


class PickDialog(Dialog[T]):
    """Rows, and the answer that each stands for."""

    def __init__(
        self,
        heading: str | Content,
        rows: Sequence[tuple[Row, T]],
        *,
        hint: str,
        enter_picks: bool = True,
        is_unforeseen: bool = False,
        is_marked: bool = True,
        digit_marks: bool = False,
    ) -> None:
        """With ``is_unforeseen`` no key counts that was pressed before it could be seen."""
        super().__init__(heading, hint)
        self._is_unforeseen = is_unforeseen
        self._answers = [answer for _, answer in rows]
        self._choices = Choices(
            [row for row, _ in rows], enter_picks=enter_picks, is_marked=is_marked, digit_marks=digit_marks
        )

    def compose_body(self) -> Iterable[Widget]:
        yield self._choices

    @property
    def minus_leaves(self) -> bool:
        return True

    def wants_seen(self, event: Pressed) -> bool:
        return super().wants_seen(event) or self._is_unforeseen or self._takes_marked(event)

    def _takes_marked(self, event: Pressed) -> bool:
        """Enter takes what is marked, and nobody may have seen what that is."""
        return isinstance(event, Key) and event.key == "enter"

    def key_pressed(self, event: Key) -> None:
        was_value = self._choices.is_value
        index = self._choices.press(event)
        if self._choices.is_value or was_value:
            self.say(LOOKS_LIKE_VALUE if self._choices.is_value else "")
        if index is not None:
            self.answer(self._answers[index])
