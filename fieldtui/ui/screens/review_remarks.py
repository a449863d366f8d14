"""What the review does with remarks: write one, withdraw one, go to what one is about."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from textual import on, work
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import OptionList

from fieldtui.core.remarks import Place
from fieldtui.core.text import visible
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.report.remark_words import remark_head
from fieldtui.ui.dialogs.remark import RemarkDialog
from fieldtui.ui.widgets.review.head import ReviewStatus
from fieldtui.ui.widgets.review.remarks import RemarkList, marked_place
from fieldtui.ui.widgets.review.table import ReviewTable
from fieldtui.ui.writer import Writer


class RemarkActions(Screen[None]):
    """The part of the review that writes: into the reviewer's own file, never into the session's."""

    def __init__(self, remarks: RemarkDesk | None) -> None:
        super().__init__()
        self._remark_desk = remarks
        self._remark_writer = Writer()
        self._reviewer = ""  # as last given
        self._is_asking = False

    def on_mount(self) -> None:  # the toolkit calls the one of the review as well
        self._read_remarks()

    def on_unmount(self) -> None:
        self._remark_writer.close()

    # --- what the review gives -------------------------------------------------------------

    @property
    def page_in_front(self) -> Widget | None:
        """The page that is on show."""
        raise NotImplementedError

    def go_to_page(self, page: str) -> None:
        """Bring a page to the front with all its rows."""
        raise NotImplementedError

    # --- what it does ----------------------------------------------------------------------

    def action_remarks(self) -> None:
        self.go_to_page("remarks")

    @work
    async def action_remark(self) -> None:
        """Remark on what is marked on the page in front."""
        desk = self._desk_or_say()
        if desk is not None:
            place = marked_place(self.page_in_front)
            await self._ask(
                desk, f"Remark on {place.words}", "remark", lambda by, text: desk.add(by, text, place)
            )

    @work
    async def action_withdraw(self) -> None:
        """Say that the remark under the cursor no longer holds."""
        desk, page = self._desk_or_say(), self.page_in_front
        entry = page.marked if isinstance(page, RemarkList) else None
        if desk is None:
            return
        if entry is None:
            self.notify("No remark is marked: 6 shows them.", markup=False)
            return
        heading = f"Withdraw: {remark_head(entry)}"
        await self._ask(desk, heading, "why it no longer holds", partial(desk.withdraw, entry))

    async def _ask(self, desk: RemarkDesk, heading: str, words: str, put: Callable[[str, str], Path]) -> None:
        saved_in: list[Path] = []

        async def save(by: str, text: str) -> None:
            saved_in[:] = [await self._remark_writer.do(put, by, text)]

        if self._is_asking:
            return  # the key was pressed twice in a hurry
        self._is_asking = True
        answer = await self.app.push_screen_wait(RemarkDialog(heading, words, save, by=self._reviewer))
        self._is_asking = False
        if answer is not None:
            self._reviewer = answer[0]
            self._read_remarks(newest=True)
            for path in saved_in:  # on a line of its own: a toast covers what is read next
                self.query_one(ReviewStatus).tell(f"Saved in {path.name}, folder {path.parent}")

    def _desk_or_say(self) -> RemarkDesk | None:
        if self._remark_desk is None:
            self.notify("Remarks cannot be written here.", markup=False)
        return self._remark_desk

    @work
    async def _read_remarks(self, newest: bool = False) -> None:
        if self._remark_desk is not None:
            remarks = await self._remark_writer.do(self._remark_desk.read)
            self.query_one(RemarkList).put(remarks, newest)
            self.remarks_changed()

    def remarks_changed(self) -> None:
        """The list of remarks is another one now."""
        raise NotImplementedError

    @on(OptionList.OptionSelected, "#review-remarks")
    def _go_to_place(self, event: OptionList.OptionSelected) -> None:
        """Show what the remark is about, on the page where that is listed."""
        event.stop()
        entry = self.query_one(RemarkList).marked
        if entry is None:
            return
        page, cell = page_of(entry.remark.about)
        self.go_to_page(page)
        table = self.page_in_front
        if isinstance(table, ReviewTable) and not table.mark(cell):
            self.notify(visible(f"This record has no {entry.remark.about.words}."), markup=False)


def page_of(about: Place) -> tuple[str, str]:
    """The page that lists what a remark is about, and what its first cell says there."""
    if about.record is not None:
        return "readings", str(about.record)
    if about.point:
        return "points", about.point
    return ("trail", str(about.row)) if about.row is not None else ("facts", "")
