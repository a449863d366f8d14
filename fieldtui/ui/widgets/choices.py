"""A numbered list, driven by its dialog: digits pick, arrows move, Enter takes the marked row.

A number is taken as soon as no longer one can be meant: with nine rows every digit picks at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.content import Content
from textual.geometry import Size
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.ui.widgets.moves import MOVES, moved, window


@dataclass(frozen=True, slots=True)
class Row:
    """One choice. ``number`` is what is keyed for it; None where only the arrows reach it."""

    number: int | None
    content: Content


class Choices(Widget):
    """Rows to choose from; as many are drawn as there is room for, around the marked one."""

    DEFAULT_CSS = """
    Choices { height: auto; max-height: 12; }
    """

    cursor: reactive[int] = reactive(0)

    def __init__(self, rows: Sequence[Row], *, enter_picks: bool = True) -> None:
        super().__init__()
        self.rows = list(rows)
        self._enter_picks = enter_picks
        self._typed = ""

    def show(self, rows: Sequence[Row]) -> None:
        """Put other rows in place."""
        self.rows = list(rows)
        self.cursor = 0
        self.refresh(layout=True)

    # --- keys -----------------------------------------------------------------------------

    def press(self, event: events.Key) -> int | None:
        """Take a key; the place of the row it picked, if it picked one."""
        if event.key in MOVES:
            self._typed = ""
            self.cursor = moved(event.key, self.cursor, len(self.rows), self.size.height)
        elif event.key == "enter":
            self._typed = ""
            return self.cursor if self._enter_picks and self.rows else None
        elif event.key == "backspace":
            self._typed = self._typed[:-1]
        elif event.character is not None and event.character in "0123456789":
            return self._type(event.character)
        return None

    def _type(self, digit: str) -> int | None:
        typed = self._typed + digit
        numbers = [None if row.number is None else str(row.number) for row in self.rows]
        found = numbers.index(typed) if typed in numbers else None
        may_go_on = any(
            number is not None and number != typed and number.startswith(typed) for number in numbers
        )
        self._typed = typed if may_go_on else ""
        if found is not None:
            self.cursor = found
        return None if may_go_on else found

    # --- drawing --------------------------------------------------------------------------

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return max(1, len(self.rows))

    def render(self) -> Content:
        height = max(1, self.size.height)
        drawn = window(self.cursor, len(self.rows), height)
        return Content("\n").join(self._line(index) for index in drawn) if self.rows else Content(" nothing")

    def _line(self, index: int) -> Content:
        row = self.rows[index]
        marked = index == self.cursor and self._enter_picks
        number = "" if row.number is None else str(row.number)
        line = Content(f"{'▶' if marked else ' '}{number:>4}  ") + row.content
        line = line.truncate(max(1, self.size.width), ellipsis=True, pad=True)
        return line.stylize("reverse") if marked else line
