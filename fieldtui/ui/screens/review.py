"""Review: read-only, exceptions first. The session's files are not touched, not even looked at again."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.message import Message
from textual.screen import Screen
from textual.widgets import ContentSwitcher, Input, Static

from fieldtui.desk.reading import ReadSession
from fieldtui.report.findings import find_exceptions
from fieldtui.report.identity import (
    Line,
    describe_counts,
    describe_identity,
    describe_meter,
    describe_signatures,
    describe_trust,
)
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.review_find import FindLine
from fieldtui.ui.widgets.review_findings import FindingList
from fieldtui.ui.widgets.review_head import ReviewTabs, facts_page, head_of
from fieldtui.ui.widgets.review_sheets import SHEETS
from fieldtui.ui.widgets.review_table import ReviewTable

PAGES = ("exceptions", "readings", "points", "trail", "facts")


class ReviewScreen(Screen[None]):
    """Pages over one reading of a session; another program may write it meanwhile."""

    CSS_PATH = "../styles/review.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("review")]
    AUTO_FOCUS = "#review-exceptions"

    class Left(Message):
        """The review was closed."""

    def __init__(self, session: ReadSession) -> None:
        super().__init__()
        self._session = session
        self._words = ""

    def compose(self) -> ComposeResult:
        yield Static(head_of(self._session), id="review-head", markup=False)
        yield ReviewTabs(PAGES)
        with ContentSwitcher(id="review-pages", initial="review-exceptions"):
            yield FindingList(find_exceptions(self._session))
            for sheet in SHEETS:
                yield ReviewTable(sheet, self._session)
            with VerticalScroll(id="review-facts"):
                yield Static(facts_page(_facts(self._session)), markup=False)
        yield FindLine()
        yield KeyBar("review")

    def on_mount(self) -> None:
        self._show("exceptions")

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

    @property
    def _page(self) -> str:
        return str(self._pages.current).removeprefix("review-")

    @property
    def _pages(self) -> ContentSwitcher:
        return self.query_one("#review-pages", ContentSwitcher)

    def _show(self, page: str) -> None:
        """Bring a page to the front, with only the rows that have the words looked for."""
        self._pages.current = f"review-{page}"
        self._fill()
        self._focus_page()

    def _fill(self) -> None:
        current = self._pages.visible_content
        counts = current.show(self._words) if isinstance(current, FindingList | ReviewTable) else None
        self.query_one(ReviewTabs).show(self._page, self._words, counts)

    def _focus_page(self) -> None:
        current = self._pages.visible_content
        target = current.view if isinstance(current, ReviewTable) else current
        if target is not None:
            target.focus()

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
        if not self._words and not self._find_line.display:
            self.post_message(self.Left())
            return
        self._find_line.value = ""
        self._find_line.display = False
        self._focus_page()

    def action_help(self) -> None:
        self.app.push_screen(HelpDialog("review"))


def _facts(session: ReadSession) -> list[tuple[str, list[Line]]]:
    cautions = [(caution.title, caution.text) for caution in session.facts.cautions]
    return [
        ("Session", describe_identity(session)),
        ("Meter and brief", describe_meter(session)),
        ("Result", describe_counts(session.survey)),
        ("Signatures", describe_signatures(session.survey)),
        ("To hold against the signed job card", describe_trust(session)),
        ("Cautions", cautions),
    ]
