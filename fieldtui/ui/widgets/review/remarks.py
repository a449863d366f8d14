"""The page of reviewers' remarks, and what place of the record is marked on any page of the review."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from fieldtui.core.remarks import WHOLE, Place
from fieldtui.desk.remarks import NO_REMARKS, Entry, Remarks
from fieldtui.report.findings.finding import place_of
from fieldtui.report.remark_words import remark_head, remark_notes, trouble_lines
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review.charts import ReviewCharts
from fieldtui.ui.widgets.review.findings import FindingList
from fieldtui.ui.widgets.review.sheet import has_words
from fieldtui.ui.widgets.review.table import ReviewTable

_NONE = "No remarks yet. N on any page writes one on what is marked there."


class RemarkList(OptionList):
    """Every reviewer's remarks, oldest first; what cannot be read is told at the end."""

    def __init__(self) -> None:
        super().__init__(id="review-remarks", markup=False)
        self._remarks: Remarks = NO_REMARKS
        self._shown: Sequence[Entry] = ()
        self._words = ""

    @property
    def marked(self) -> Entry | None:
        """The remark under the cursor."""
        at = self.highlighted
        return self._shown[at] if at is not None and at < len(self._shown) else None

    def put(self, remarks: Remarks, newest: bool = False) -> None:
        """Put other remarks in place; ``newest`` marks the last one."""
        self._remarks = remarks
        self._fill()
        if newest and self._shown:
            self.highlighted = len(self._shown) - 1

    def show(self, words: str) -> tuple[int, int]:
        """Show the remarks with ``words``; returns how many there are, of how many."""
        if words != self._words:
            self._words = words
            self._fill()
        return len(self._shown), len(self._remarks.entries)

    def _fill(self) -> None:
        entries = self._remarks.entries
        self._shown = [each for each in entries if has_words(_searched(each), self._words)]
        options = [Option(_entry(each)) for each in self._shown]
        if not options:
            options = [Option(Content("no remark has these words" if entries else _NONE), disabled=True)]
        for line in trouble_lines(self._remarks):
            options.append(Option(Content.styled("NOT READ  ", "bold") + shown(line), disabled=True))
        self.set_options(options)
        self.highlighted = 0 if self._shown else None


def _entry(entry: Entry) -> Content:
    lines = [shown(remark_head(entry), "bold"), shown(f"    {entry.remark.text}")]
    lines += [shown(f"    note: {note}") for note in remark_notes(entry)]
    return Content("\n").join(lines)


def _searched(entry: Entry) -> str:
    return "\n".join((remark_head(entry), entry.remark.text, *remark_notes(entry))).casefold()


# --- the place that is marked --------------------------------------------------------------


def marked_place(page: Widget | None) -> Place:
    """What the cursor stands on; the whole session where a page has no cursor."""
    if isinstance(page, FindingList) and page.marked is not None:
        return place_of(page.marked)
    if isinstance(page, RemarkList) and page.marked is not None:
        return page.marked.remark.about
    if isinstance(page, ReviewTable) and page.marked is not None:
        labels = (column.label for column in page.sheet.columns)
        return _place_in_row(dict(zip(labels, page.marked.cells, strict=True)))
    if isinstance(page, ReviewCharts) and page.marked_point:
        return Place(point=page.marked_point)
    return WHOLE


def _place_in_row(cells: dict[str, str]) -> Place:
    return Place(
        point=cells.get("point", ""), record=_number(cells.get("rec", "")), row=_number(cells.get("row", ""))
    )


def _number(cell: str) -> int | None:
    return int(cell) if cell.isascii() and cell.isdigit() and int(cell) > 0 else None
