"""Record and memory list side by side, driven by its screen: arrows mark a row."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.survey.standing import Record
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.moves import moved, window
from fieldtui.ui.widgets.reconcile_rows import ReconcileRow

HEADING = f"{'rec':>5} {'point':<12}{'on record':>12} {'no':>5}  │ {'no':>5} {'in memory':>12}  finding"


class ReconcileList(Widget):
    """Draws only the rows there is room for, around the marked one."""

    marked: reactive[int] = reactive(0)

    def __init__(self) -> None:
        super().__init__()
        self.rows: Sequence[ReconcileRow] = ()
        self._nothing = ""

    def show(self, rows: Sequence[ReconcileRow], nothing: str) -> None:
        """Put rows in place; ``nothing`` is said where there are none."""
        self.rows = rows
        self._nothing = nothing
        self.marked = max(0, min(self.marked, len(rows) - 1))
        self.refresh()

    @property
    def marked_row(self) -> ReconcileRow | None:
        return self.rows[self.marked] if self.rows else None

    def move(self, key: str) -> None:
        """Mark another row; ``key`` is one of those that move."""
        self.marked = moved(key, self.marked, len(self.rows), self.size.height)

    def render(self) -> Content:
        height, width = max(1, self.size.height), max(1, self.size.width)
        if not self.rows:
            return Content(f" {self._nothing}")
        drawn = window(self.marked, len(self.rows), height)
        return Content("\n").join(self._line(index, width) for index in drawn)

    def _line(self, index: int, width: int) -> Content:
        row = self.rows[index]
        mark = "▶" if index == self.marked else " "
        left = _record_side(row.record) if row.record is not None else Content(" " * 35)
        right = _memory_side(row.entry) if row.entry is not None else Content(" " * 18)
        parts = [Content(f"{mark}"), left, Content("  │ "), right, Content("  "), row.mark.as_content()]
        line = Content("").join(parts).truncate(width, ellipsis=True, pad=True)
        return line.stylize("reverse") if index == self.marked else line


def _record_side(record: Record) -> Content:
    number = "" if record.number is None else str(record.number)
    value = shown(f"{record.reading!s:>12}", "" if record.is_valid else "strike")
    point = shown(record.point).truncate(12, ellipsis=True, pad=True)
    return Content("").join([Content(f"{record.record:>4} "), point, value, Content(f" {number:>5}")])


def _memory_side(entry: MemoryEntry) -> Content:
    number = "" if entry.number is None else str(entry.number)
    value = "erased" if entry.erased else "no value" if entry.reading is None else str(entry.reading)
    return Content(f"{number:>5} ") + shown(f"{value:>12}")
