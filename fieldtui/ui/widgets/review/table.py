"""One table of the review, with the whole of the row under the cursor written out below it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from fieldtui.desk.reading import ReadSession
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review.sheet import Sheet, SheetRow, matching, sort_rows
from fieldtui.ui.widgets.review.sheet_view import SheetView

_MORE = " … more: Enter"


class RowInFull(Widget):
    """The marked row, as much of it as there is room for; where that is not all of it, it says so."""

    _told = Content("")

    def tell(self, told: Content) -> None:
        """Show another row."""
        self._told = told
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._told.wrap(max(1, width)))

    def render(self) -> Content:
        width, height = max(1, self.content_size.width), max(1, self.content_size.height)
        lines = self._told.wrap(width)
        if len(lines) > height:
            last = lines[height - 1].rstrip().truncate(max(1, width - len(_MORE)))
            lines = [*lines[: height - 1], last + Content.styled(_MORE, "bold")]
        return Content("\n").join(lines)


class ReviewTable(Vertical):
    """Rows are made when the table is first shown: most reviews never look at the trail."""

    def __init__(self, sheet: Sheet, session: ReadSession) -> None:
        super().__init__(id=f"review-{sheet.name}", classes="review-table")
        self.sheet = sheet
        self._session = session
        self._rows: Sequence[SheetRow] | None = None
        self._shown: Sequence[SheetRow] = ()
        self._words: str | None = None  # those the rows on show were looked for with
        self._order = 0
        self._is_turned = False
        self._which = 0

    def compose(self) -> ComposeResult:
        yield SheetView(self.sheet.columns)
        yield RowInFull(classes="review-detail")

    @property
    def view(self) -> SheetView:
        return self.query_one(SheetView)

    @property
    def marked(self) -> SheetRow | None:
        """The row under the cursor."""
        at = self.view.marked
        return self._shown[at] if at < len(self._shown) else None

    @property
    def points_on_show(self) -> list[str]:
        """The points of the rows on show, each once, in their order."""
        return list(dict.fromkeys(row.point for row in self._shown if row.point))

    @property
    def state_words(self) -> str:
        """Which rows are on show, and in what order."""
        order = self.sheet.orders[self._order]
        first = order.high if self._is_turned else order.low
        return f"{self.sheet.which[self._which].name}, by {order.name}: {first}"

    def mark(self, first_cell: str) -> bool:
        """Mark the row that begins with this cell; whether there is one on show."""
        return self._mark(lambda row: row.cells[0] == first_cell)

    def mark_point(self, point: str) -> bool:
        """Mark the first row that is about the point."""
        return self._mark(lambda row: row.point == point)

    def _mark(self, is_meant: Callable[[SheetRow], bool]) -> bool:
        found = next((at for at, row in enumerate(self._shown) if is_meant(row)), None)
        if found is not None:
            self.view.marked = found
        return found is not None

    # --- what is on show ------------------------------------------------------------------

    def show(self, words: str) -> tuple[int, int]:
        """Show the rows with ``words``; returns how many there are, of how many."""
        if self._rows is None:
            self._rows = self.sheet.rows(self._session)
        if words != self._words:
            self._words = words
            self._refill()
        return len(self._shown), len(self._rows)

    def sort_next(self) -> None:
        """Sort by the next order."""
        self._order = (self._order + 1) % len(self.sheet.orders)
        self._is_turned = False
        self._refill()

    def turn(self) -> None:
        """Turn the order round."""
        self._is_turned = not self._is_turned
        self._refill()

    def narrow_next(self) -> None:
        """Show the next choice of rows."""
        self._which = (self._which + 1) % len(self.sheet.which)
        self._refill()

    def show_every(self) -> None:
        """Hold no row back."""
        self._which = 0
        self._words = None

    @property
    def is_narrowed(self) -> bool:
        """Whether rows are held back by choice."""
        return self._which != 0

    def _refill(self) -> None:
        """Rows by words, choice and order; the row that was marked stays so where it still shows."""
        marked = self.marked
        rows: Sequence[SheetRow] = matching(self._rows or (), self._words or "")
        if self._which:
            holds = self.sheet.which[self._which].choose(self._session)
            rows = [row for row in rows if holds(row)]
        if self._order or self._is_turned:
            order = self.sheet.orders[self._order]
            rows = sort_rows(rows, self._session, order, is_turned=self._is_turned)
        self._shown = rows
        self.view.show(rows)
        if marked is not None:
            self._mark(lambda row: row is marked)
        self._detail(self.view.marked)

    # --- the row in full ------------------------------------------------------------------

    @on(SheetView.RowMarked)
    def _row_marked(self, event: SheetView.RowMarked) -> None:
        event.stop()
        self._detail(event.index)

    def _detail(self, index: int) -> None:
        detail = self.query_one(RowInFull)
        if index >= len(self._shown):
            is_narrowed = self._words or self.is_narrowed
            detail.tell(Content("no row is like that" if is_narrowed else "nothing yet"))
            return
        row = self._shown[index]
        sheet = self.sheet
        cells = [(column.label, cell) for column, cell in zip(sheet.columns, row.cells, strict=True)]
        further = sheet.further(self._session, row) if sheet.further is not None else ()
        told = {label for label, _ in further}
        before, after = (
            [(label, text) for label, text in some if label not in told]
            for some in (cells[: sheet.further_at], cells[sheet.further_at :])
        )
        parts = [
            Content.styled(f"{label} " if label else "", "underline") + shown(text, "bold")
            for label, text in (*before, *further, *after)
            if text
        ]
        detail.tell(Content("   ").join(parts))
