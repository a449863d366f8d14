"""A numbered list: digits pick, arrows move, Enter takes the marked row.

A number is taken as soon as no longer one can be meant: with nine rows every digit picks at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget


@dataclass(frozen=True, slots=True)
class Row:
    """One choice. ``number`` is what is keyed for it; None where only the arrows reach it."""

    number: int | None
    content: Content


class Choices(Widget, can_focus=True):
    """Rows to choose from; as many are drawn as there is room for, around the marked one."""

    DEFAULT_CSS = """
    Choices { height: auto; max-height: 12; }
    """

    cursor: reactive[int] = reactive(0)
    typed: reactive[str] = reactive("")

    class RowChosen(Message):
        """A row was picked, by its place in the list."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, rows: Sequence[Row], *, cursor: int = 0, enter_picks: bool = True) -> None:
        super().__init__()
        self.rows = list(rows)
        self._enter_picks = enter_picks
        self.set_reactive(Choices.cursor, cursor)

    def show(self, rows: Sequence[Row]) -> None:
        """Put other rows in place."""
        self.rows = list(rows)
        self.cursor = 0
        self.refresh(layout=True)

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if event.is_printable and event.character is not None and event.character.isdecimal():
            self._type(event.character)
        elif event.key in ("up", "down", "pageup", "pagedown", "home", "end"):
            self.move(event.key)
        elif event.key == "backspace":
            self.typed = self.typed[:-1]
        elif event.key == "enter" and self._enter_picks:
            self.pick_marked()
        else:
            return
        event.stop()
        event.prevent_default()

    def move(self, key: str) -> None:
        """Move the mark as the arrow keys do."""
        page = max(1, self.size.height - 1)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -(10**9), "end": 10**9}
        self.typed = ""
        self.cursor = max(0, min(len(self.rows) - 1, self.cursor + steps[key]))

    def pick_marked(self) -> None:
        """Take the marked row, if there is one."""
        self.typed = ""
        if self.rows:
            self.post_message(self.RowChosen(self.cursor))

    def _type(self, digit: str) -> None:
        typed = self.typed + digit
        numbers = [row.number for row in self.rows]
        found = numbers.index(int(typed)) if int(typed) in numbers else None
        may_go_on = int(typed) > 0 and any(
            number is not None and number != int(typed) and str(number).startswith(typed)
            for number in numbers
        )
        if found is not None:
            self.cursor = found
        if found is not None and not may_go_on:
            self.pick_marked()
        else:
            self.typed = typed if may_go_on else ""

    # --- drawing --------------------------------------------------------------------------

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        return max(1, len(self.rows))

    def render(self) -> Content:
        height = max(1, self.size.height)
        first = max(0, min(self.cursor - height // 2, len(self.rows) - height))
        shown = range(first, min(len(self.rows), first + height))
        return Content("\n").join(self._line(index) for index in shown) if self.rows else Content(" nothing")

    def _line(self, index: int) -> Content:
        row = self.rows[index]
        marked = index == self.cursor and self._enter_picks
        number = "" if row.number is None else str(row.number)
        line = Content(f"{'▶' if marked else ' '}{number:>4}  ") + row.content
        line = line.truncate(max(1, self.size.width), ellipsis=True, pad=True)
        return line.stylize("reverse") if marked else line
