"""The list of the close-out, driven by its screen: arrows mark a line."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.core.account.closing import Item
from fieldtui.ui.widgets.close_rows import CloseRow
from fieldtui.ui.widgets.moves import moved, window


class CloseList(Widget):
    """Draws only the lines there is room for, around the marked one; headings cannot be marked."""

    marked: reactive[int] = reactive(0)  # among the lines with an item

    def __init__(self) -> None:
        super().__init__()
        self._rows: Sequence[CloseRow] = ()
        self._places: list[int] = []  # of the lines with an item

    def show(self, rows: Sequence[CloseRow]) -> None:
        """Put lines in place; the mark stays where it was, so that it comes to the next line to do."""
        is_first = not self._rows
        self._rows = rows
        self._places = [place for place, row in enumerate(rows) if row.item is not None]
        self.marked = max(0, min(self.marked, len(self._places) - 1))
        if is_first or self.item is None or self.item.is_done:
            self.marked = self._next_to_do(0 if is_first else self.marked)
        self.refresh()

    @property
    def item(self) -> Item | None:
        """What is marked."""
        return self._rows[self._places[self.marked]].item if self._places else None

    def move(self, key: str) -> None:
        """Mark another line; ``key`` is one of those that move."""
        self.marked = moved(key, self.marked, len(self._places), self.size.height)

    def _next_to_do(self, start: int) -> int:
        """The first line to do from ``start`` on, else from the top; ``start`` where all is done."""
        items = [self._rows[place].item for place in self._places]
        to_do = [n for n, item in enumerate(items) if item is not None and not item.is_done]
        return next((n for n in to_do if n >= start), to_do[0] if to_do else start)

    def render(self) -> Content:
        height, width = max(1, self.size.height), max(1, self.size.width)
        marked = self._places[self.marked] if self._places else 0
        drawn = window(marked, len(self._rows), height)
        return Content("\n").join(self._line(place, place == marked, width) for place in drawn)

    def _line(self, place: int, is_marked: bool, width: int) -> Content:
        row = self._rows[place]
        if row.item is None:
            return row.content.truncate(width, ellipsis=True)
        line = (Content(" ▶ " if is_marked else "   ") + row.content).truncate(width, ellipsis=True, pad=True)
        return Content.styled(line.plain, "bold reverse") if is_marked else line
