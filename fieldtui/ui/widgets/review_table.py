"""One table of the review, with the whole of the row under the cursor written out below it."""

from __future__ import annotations

from collections.abc import Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from fieldtui.desk.reading import ReadSession
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review_sheet_view import SheetView
from fieldtui.ui.widgets.review_sheets import Sheet, SheetRow, matching


class ReviewTable(Vertical):
    """Rows are made when the table is first shown: most reviews never look at the trail."""

    def __init__(self, sheet: Sheet, session: ReadSession) -> None:
        super().__init__(id=f"review-{sheet.name}", classes="review-table")
        self.sheet = sheet
        self._session = session
        self._rows: Sequence[SheetRow] | None = None
        self._shown: Sequence[SheetRow] = ()
        self._words: str | None = None  # those the rows on show were looked for with

    def compose(self) -> ComposeResult:
        yield SheetView(self.sheet.columns)
        yield Static(classes="review-detail", markup=False)

    @property
    def view(self) -> SheetView:
        return self.query_one(SheetView)

    def show(self, words: str) -> tuple[int, int]:
        """Show the rows with ``words``; returns how many there are, of how many."""
        if self._rows is None:
            self._rows = self.sheet.rows(self._session)
        if words != self._words:
            self._words = words
            self._shown = matching(self._rows, words)
            self.view.show(self._shown)
            self._detail(0)
        return len(self._shown), len(self._rows)

    @on(SheetView.RowMarked)
    def _row_marked(self, event: SheetView.RowMarked) -> None:
        event.stop()
        self._detail(event.index)

    def _detail(self, index: int) -> None:
        detail = self.query_one(".review-detail", Static)
        if index >= len(self._shown):
            detail.update("no row has these words" if self._words else "nothing yet")
            return
        cells = zip(self.sheet.columns, self._shown[index].cells, strict=True)
        parts = [
            Content.styled(f"{column.label} " if column.label else "", "underline") + shown(cell, "bold")
            for column, cell in cells
            if cell
        ]
        detail.update(Content("   ").join(parts))
