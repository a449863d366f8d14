"""A numbered list, driven by its dialog: digits pick, arrows move, Enter takes the marked row.

A number is taken as soon as no longer one can be meant: with nine rows every digit picks at once. Where a
digit only marks, Enter takes what it marked.

A decimal point belongs to no number of a row: somebody keys a value, and nothing is taken of it up to its
Enter. So is a second digit where a digit marks.
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

NONE_MARKED = -1


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

    def __init__(
        self,
        rows: Sequence[Row],
        *,
        enter_picks: bool = True,
        is_marked: bool = True,
        digit_marks: bool = False,
    ) -> None:
        """Without ``is_marked`` no row is marked at first, so that Enter takes none."""
        super().__init__()
        self.rows = list(rows)
        self._enter_picks = enter_picks
        if not is_marked:
            self.set_reactive(Choices.cursor, NONE_MARKED)
        self._typed = ""
        self._digit_marks = digit_marks
        self.was_marked = False  # by its digit: whoever keyed that knows which one it is
        self.is_value = False  # what is keyed looks like one

    def show(self, rows: Sequence[Row]) -> None:
        """Put other rows in place."""
        self.rows = list(rows)
        self.cursor = 0
        self.refresh(layout=True)

    # --- keys -----------------------------------------------------------------------------

    def press(self, event: events.Key) -> int | None:
        """Take a key; the place of the row it picked, if it picked one."""
        if event.key in MOVES:
            self._typed, self.is_value, self.was_marked = "", False, False
            self.cursor = moved(event.key, self.cursor, len(self.rows), self.size.height)
        elif self.is_value:
            self.is_value = event.key not in ("enter", "backspace")
        elif event.key == "enter":
            is_typed, self._typed = bool(self._typed), ""
            return self.cursor if (self._enter_picks or is_typed) and self.rows and self.cursor >= 0 else None
        elif event.key == "backspace":
            self._typed = self._typed[:-1]
            self.refresh()
        elif event.character in (".", ","):
            self._see_value()
        elif event.character is not None and event.character in "0123456789":
            if not self._digit_marks:
                return self._type(event.character)
            self._mark(event.character)
        return None

    def _see_value(self) -> None:
        self._typed, self.is_value, self.was_marked = "", True, False

    def _mark(self, digit: str) -> None:
        """Mark the row with that number; two digits are none of them."""
        if self._typed:
            self._see_value()
            return
        self._typed = digit
        place = next((place for place, row in enumerate(self.rows) if row.number == int(digit)), None)
        if place is not None:
            self.cursor, self.was_marked = place, True

    def _type(self, digit: str) -> int | None:
        typed = self._typed + digit
        numbers = [None if row.number is None else str(row.number) for row in self.rows]
        found = numbers.index(typed) if typed in numbers else None
        may_go_on = any(
            number is not None and number != typed and number.startswith(typed) for number in numbers
        )
        self._typed = typed if may_go_on else ""
        self.refresh()
        if found is not None:
            self.cursor = found
        return None if may_go_on else found

    # --- drawing --------------------------------------------------------------------------

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return max(1, len(self.rows))

    def render(self) -> Content:
        height = max(1, self.size.height)
        drawn = window(self.cursor, len(self.rows), height)
        lines = [self._line(index) for index in drawn] or [Content(" nothing")]
        if self._typed and not self._digit_marks:
            lines[-1] = Content.styled(f" {self._typed}█  one digit more, or Enter: {self._typed}", "bold")
        return Content("\n").join(lines)

    def _line(self, index: int) -> Content:
        row = self.rows[index]
        marked = index == self.cursor and self._enter_picks
        number = "" if row.number is None else str(row.number)
        line = Content(f"{'▶' if marked else ' '}{number:>4}  ") + row.content
        line = line.truncate(max(1, self.size.width), ellipsis=True, pad=True)
        return line.stylize("reverse") if marked else line
