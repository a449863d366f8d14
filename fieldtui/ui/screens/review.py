"""Review: read-only, exceptions first. The session's files are not touched, not even looked at again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widget import Widget
from textual.widgets import ContentSwitcher, Input, OptionList, Static

from fieldtui.core.account.completeness import lacking
from fieldtui.desk.earlier import NO_EARLIER, Earlier
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import place_of
from fieldtui.report.identity import (
    Line,
    describe_counts,
    describe_identity,
    describe_meter,
    describe_signatures,
    describe_trust,
)
from fieldtui.report.point.story import Stories
from fieldtui.report.sections import count_sections
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.pages.point_story import PointStoryPage
from fieldtui.ui.screens.review_remarks import RemarkActions
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.review.charts import ReviewCharts
from fieldtui.ui.widgets.review.find import FindLine
from fieldtui.ui.widgets.review.findings import FindingList
from fieldtui.ui.widgets.review.head import ReviewStatus, ReviewTabs, crew_of, facts_page, head_of
from fieldtui.ui.widgets.review.remarks import RemarkList
from fieldtui.ui.widgets.review.sections import TextPage, sections_page
from fieldtui.ui.widgets.review.sheets import SHEETS
from fieldtui.ui.widgets.review.table import ReviewTable

# In the order of their digits. A page is a widget with the id review-NAME, and an action NAME.
PAGES = ("exceptions", "readings", "points", "trail", "facts", "remarks", "charts", "sections", "checks")
LONG = 5_000  # rows from which on the exceptions are looked for while the other pages can be read


class ReviewScreen(RemarkActions):
    """Pages over one reading of a session; another program may write it meanwhile."""

    CSS_PATH = "../styles/review.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("review")]
    AUTO_FOCUS = "#review-exceptions"
    # The toolkit declares this without ClassVar.
    VERTICAL_BREAKPOINTS = [(0, "-low"), (32, "-high")]  # noqa: RUF012

    class Left(Message):
        """The review was closed."""

    def __init__(
        self,
        session: ReadSession,
        remarks: RemarkDesk | None = None,
        read_earlier: Callable[[], Earlier] = lambda: NO_EARLIER,
    ) -> None:
        super().__init__(remarks)
        self._session = session
        self._read_earlier = read_earlier  # of the same route and asset; it waits for the disk
        self._stories = Stories(session)
        self._words = ""

    def compose(self) -> ComposeResult:
        session = self._session
        yield Static(head_of(session), id="review-head", markup=False)
        yield Static(crew_of(session), id="review-crew", markup=False)
        yield ReviewTabs(PAGES)
        yield ReviewStatus()
        with ContentSwitcher(id="review-pages", initial="review-exceptions"):
            unproven = unproven_points(session)
            lacks = [*lacking(session.survey), *([f"{len(unproven)} UNPROVEN"] if unproven else [])]
            yield FindingList(count_sections(session.survey, unproven), lacks)
            for sheet in SHEETS:
                yield ReviewTable(sheet, session)
            yield TextPage("facts", lambda: facts_page(_facts(session)))
            yield RemarkList()
            yield ReviewCharts(session, self._stories)
            yield TextPage("sections", lambda: sections_page(session))
        yield FindLine()
        yield KeyBar("review")

    def on_mount(self) -> None:
        if self._session.rows < LONG:
            self.query_one(FindingList).put(find_exceptions(self._session))
        else:
            self._find_meanwhile()
        self._show("exceptions")
        self._read_earlier_meanwhile()

    @work
    async def _find_meanwhile(self) -> None:
        found = await asyncio.to_thread(find_exceptions, self._session)
        self.query_one(FindingList).put(found)
        self._fill()
        await asyncio.to_thread(self._stories.prepare)  # so that the first one opens at once

    @work
    async def _read_earlier_meanwhile(self) -> None:
        self._stories.earlier = await asyncio.to_thread(self._read_earlier)
        self.query_one(ReviewCharts).refresh()
        if isinstance(self.app.screen, PointStoryPage):
            self.app.screen.refresh_story()

    # --- pages ----------------------------------------------------------------------------

    def action_exceptions(self) -> None:
        self._show("exceptions")

    def action_readings(self) -> None:
        self._show("readings")

    def action_points(self) -> None:
        self._show("points")

    def action_trail(self) -> None:
        self._show("trail")

    def action_facts(self) -> None:
        self._show("facts")

    def action_sections(self) -> None:
        self._show("sections")

    def action_checks(self) -> None:
        self._show("checks")

    def action_charts(self) -> None:
        """The charts; the next one where they are in front already."""
        current = self._pages.visible_content
        if isinstance(current, ReviewCharts):
            current.next_chart()
        self._show("charts")

    def go_to_page(self, page: str) -> None:
        self._words = self._find_line.value = ""
        found = self._pages.query_one(f"#review-{page}")
        if isinstance(found, ReviewTable):
            found.show_every()
        self._show(page)

    @property
    def page_in_front(self) -> Widget | None:
        return self._pages.visible_content

    def remarks_changed(self) -> None:
        self._fill()

    @property
    def _page(self) -> str:
        return str(self._pages.current).removeprefix("review-")

    @property
    def _pages(self) -> ContentSwitcher:
        return self.query_one("#review-pages", ContentSwitcher)

    def _show(self, page: str) -> None:
        """Bring a page to the front, with only the rows that have the words looked for."""
        self._pages.current = f"review-{page}"
        self.query_one(ReviewStatus).tell("")
        self._fill()
        self._focus_page()

    def _fill(self) -> None:
        current = self._pages.visible_content
        counts, state, words = None, "", ""
        if isinstance(current, FindingList | ReviewTable | RemarkList):
            counts, words = current.show(self._words), self._words
        elif isinstance(current, TextPage):
            current.show()
        if isinstance(current, ReviewTable):
            state = current.state_words
        elif isinstance(current, FindingList) and current.is_searching:
            counts, state = None, "the trail is long; other pages can be read meanwhile"
        self.query_one(ReviewTabs).page = self._page
        self.query_one(ReviewStatus).show(counts, state, words)

    def _focus_page(self) -> None:
        current = self._pages.visible_content
        target = current.view if isinstance(current, ReviewTable) else current
        if target is not None:
            target.focus()

    # --- order and choice -----------------------------------------------------------------

    def action_sort(self) -> None:
        self._with_table(ReviewTable.sort_next)

    def action_turn(self) -> None:
        self._with_table(ReviewTable.turn)

    def action_which(self) -> None:
        self._with_table(ReviewTable.narrow_next)

    def _with_table(self, change: Callable[[ReviewTable], None]) -> None:
        current = self._pages.visible_content
        if not isinstance(current, ReviewTable):
            self.notify("Tables are sorted: readings, points, trail, checks.", markup=False)
            return
        change(current)
        self._fill()

    # --- the story of a point -------------------------------------------------------------

    @on(OptionList.OptionSelected, "#review-exceptions")
    def _finding_chosen(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.action_story()

    def action_story(self) -> None:
        """Tell the marked point on a page of its own; afterwards the point it was left at is marked."""
        points, point = self._points_in_front()
        if point not in self._session.survey.points:
            self.notify("This is about no single point.", markup=False)
            return
        among = points if point in points else [point]
        page = PointStoryPage(self._stories, among, among.index(point))
        self.app.push_screen(page, self._story_left)

    def _points_in_front(self) -> tuple[Sequence[str], str]:
        """The points of the page in front in their order, and the marked one; empty for none."""
        current = self._pages.visible_content
        if isinstance(current, ReviewTable):
            return current.points_on_show, current.marked.point if current.marked is not None else ""
        if isinstance(current, ReviewCharts):
            return current.points_on_show, current.marked_point
        if isinstance(current, FindingList) and current.marked is not None:
            place = place_of(current.marked)
            record = self._session.survey.records.get(place.record or 0)
            point = place.point or (record.point if record is not None else "")
            return self._session.survey.order.ids, point
        return (), ""

    def _story_left(self, point: str | None) -> None:
        current = self._pages.visible_content
        if point is not None and isinstance(current, ReviewTable):
            marked = current.marked
            if marked is None or marked.point != point:
                current.mark_point(point)
        elif point is not None and isinstance(current, ReviewCharts):
            current.mark_point(point)

    # --- finding --------------------------------------------------------------------------

    @property
    def _find_line(self) -> FindLine:
        return self.query_one(FindLine)

    def action_find(self) -> None:
        self._find_line.display = True
        self._find_line.focus()

    @on(Input.Changed)
    def _words_changed(self, event: Input.Changed) -> None:
        event.stop()
        self._words = event.value.strip()
        self._fill()

    @on(Input.Submitted)
    def _words_kept(self, event: Input.Submitted) -> None:
        event.stop()
        self._find_line.display = False
        self._focus_page()

    # --- leaving --------------------------------------------------------------------------

    def action_leave(self) -> None:
        """Show everything again where rows are held back, else close the review."""
        current = self._pages.visible_content
        is_narrowed = isinstance(current, ReviewTable) and current.is_narrowed
        if not self._words and not self._find_line.display and not is_narrowed:
            self.post_message(self.Left())
            return
        if isinstance(current, ReviewTable):
            current.show_every()
        self._words = self._find_line.value = ""
        self._find_line.display = False
        self._fill()
        self._focus_page()

    def action_help(self) -> None:
        self.app.push_screen(HelpDialog("review"))


def _facts(session: ReadSession) -> list[tuple[str, list[Line]]]:
    cautions = [(caution.title, caution.text) for caution in session.facts.cautions]
    return [
        ("Session", describe_identity(session)),
        ("Meter and brief", describe_meter(session)),
        ("Result", describe_counts(session)),
        ("Signatures", describe_signatures(session.survey)),
        ("To hold against the signed job card", describe_trust(session)),
        ("Cautions", cautions),
    ]
