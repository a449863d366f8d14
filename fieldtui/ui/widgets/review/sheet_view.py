"""A table of plain cells that draws only the rows in sight, so that ten thousand come up at once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from fieldtui.ui.shown import shown_cell
from fieldtui.ui.widgets.review.sheet import Column, SheetRow

_GAP = "  "
_SIDEWAYS = 10  # characters a press of an arrow moves


class SheetView(ScrollView, can_focus=True):
    """A head line that stays, rows below it, one of them marked."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"sheet--head", "sheet--marked"}
    DEFAULT_CSS = """
    SheetView { height: 1fr; }
    SheetView .sheet--head { background: $panel; text-style: bold; }
    SheetView .sheet--marked { text-style: reverse; }
    """

    marked: reactive[int] = reactive(0)

    class RowMarked(Message):
        """Another row is marked, by its place."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, columns: Sequence[Column]) -> None:
        super().__init__()
        self._columns = columns
        self._rows: Sequence[SheetRow] = ()

    def show(self, rows: Sequence[SheetRow]) -> None:
        """Put rows in place and mark the first."""
        self._rows = rows
        width = sum(column.width + len(_GAP) for column in self._columns)
        self.virtual_size = Size(width, len(rows) + 1)
        self.marked = 0
        self.scroll_home(animate=False, immediate=True)
        self.refresh()

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        page = max(1, self.size.height - 2)
        every = len(self._rows)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -every, "end": every}
        if event.key in steps:
            self.marked = max(0, min(every - 1, self.marked + steps[event.key]))
        elif event.key in ("left", "right"):
            self.scroll_relative(x=_SIDEWAYS if event.key == "right" else -_SIDEWAYS, animate=False)
        else:
            return
        event.stop()
        event.prevent_default()

    def watch_marked(self) -> None:
        top, height = self.scroll_offset.y, max(1, self.size.height - 1)
        if not top <= self.marked < top + height:
            self.scroll_to(y=self.marked if self.marked < top else self.marked - height + 1, animate=False)
        self.refresh()
        self.post_message(self.RowMarked(self.marked))

    # --- drawing --------------------------------------------------------------------------

    def render_line(self, y: int) -> Strip:
        index = self.scroll_offset.y + y - 1
        if y == 0:
            strip = self._strip([column.head or column.label for column in self._columns], "sheet--head")
        elif index < len(self._rows):
            strip = self._row(index)
        else:
            strip = Strip([])
        left = self.scroll_offset.x
        return strip.crop_extend(left, left + self.size.width, self.rich_style)

    def _row(self, index: int) -> Strip:
        row = self._rows[index]
        style = "bold" if row.is_loud else ""
        return self._strip(row.cells, "sheet--marked" if index == self.marked else "", style)

    def _strip(self, cells: Sequence[str], part: str, style: str = "") -> Strip:
        line = Text(end="")
        for column, cell in zip_longest(self._columns, cells):
            text = shown_cell(cell)
            text.truncate(column.width, overflow="ellipsis", pad=True)
            line.append_text(text).append(_GAP)
        base = self.get_component_rich_style(part) if part else self.rich_style
        return Strip(line.render(self.app.console)).apply_style(base + Style.parse(style))
