"""What stands above every page of the review: which session, whose, and how far to trust it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.text import counted
from fieldtui.desk.reading import ReadSession
from fieldtui.report.identity import Line, describe_state
from fieldtui.report.unproven import unproven_words
from fieldtui.ui.shown import shown


def head_of(session: ReadSession) -> Content:
    """Three lines; whatever does not fit a line stands in full on the page of facts."""
    facts, survey = session.facts, session.survey
    state = describe_state(survey).upper()
    doubted = len(points_in_doubt(survey))
    doubt = f", {doubted} IN DOUBT" if doubted else ""
    chain = Content.styled("✓ chain INTACT", "bold") if session.is_intact else _broken()
    proof = f"seal {session.seal}" if session.is_whole else _what_is_wrong(session)
    lines = [
        shown(f"{facts.route.title}   {facts.route.asset}   job {facts.job or 'not given'}", "bold"),
        shown(f"{state}   {survey.settled} of {len(survey.points)} points settled{doubt}   ", "bold")
        + shown(f"{counted(len(survey.records), 'reading')}   {facts.id}"),
        chain + shown(f"   {session.rows} rows   {proof}"),
    ]
    return Content("\n").join(lines)


def crew_of(session: ReadSession) -> Content:
    """Who, and with which meter: one line, where there is room for it."""
    facts, survey = session.facts, session.survey
    crews = [facts.crew, *(handover.crew for handover in survey.handovers)]
    probers = _in_turn(crew.prober for crew in crews)
    recorders = _in_turn(crew.recorder for crew in crews)
    meters = _in_turn(f"{each.instrument.title} {each.instrument.serial}".strip() for each in survey.meters)
    return shown(f"prober {probers}   recorder {recorders}   {meters}")


def _in_turn(names: Iterable[str]) -> str:
    """``Ana, then Cleo``: each once, in the order in which they came."""
    return ", then ".join(dict.fromkeys(names))


def _what_is_wrong(session: ReadSession) -> str:
    """In place of the seal, which is none to be copied then."""
    if session.torn and not session.unproven_from:
        return "the row after them is INCOMPLETE"
    return f"of {session.rows_found}   {unproven_words(session)}"


def _broken() -> Content:
    return Content.styled("✗ CHAIN BROKEN", "bold reverse")


class ReviewTabs(Widget):
    """The pages, each with its key; in as many lines as they need, no key parted from its page."""

    page: reactive[str] = reactive("")

    def __init__(self, pages: Sequence[str]) -> None:
        super().__init__(id="review-tabs")
        self._pages = list(pages)

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        return len(self._lines(width))

    def render(self) -> Content:
        return Content("\n").join(self._lines(self.content_size.width))

    def _lines(self, width: int) -> list[Content]:
        lines = [Content("")]
        for key, name in enumerate(self._pages, 1):
            tab = Content.styled(f" {key} {name} ", "bold reverse" if name == self.page else "")
            if lines[-1].cell_length + tab.cell_length > width and lines[-1].cell_length:
                lines.append(Content(""))
            lines[-1] += tab
        return lines


class ReviewStatus(Static):
    """What was just done; how many rows are on show, which, in what order, and what is looked for."""

    def __init__(self) -> None:
        super().__init__(id="review-status", markup=False)
        self._news = self._rows = Content("")

    def tell(self, news: str) -> None:
        """What was just done, on this line: a message over the page would cover what is read next."""
        self._news = shown(news, "bold")
        self._draw()

    def show(self, counts: tuple[int, int] | None, state: str, words: str) -> None:
        """``counts`` are the rows on show, of how many; ``state`` says which and in what order."""
        parts = []
        if counts is not None:
            some, every = counts
            count = Content(f"{every} in all" if some == every and not words else f"{some} of {every}")
            parts.append(count + shown(f" with: {words}", "bold") if words else count)
        if state:
            parts.append(shown(state))
        self._rows = Content("   ").join(parts)
        self._draw()

    def _draw(self) -> None:
        self.update(Content("   ").join(part for part in (self._news, self._rows) if part.plain))


def facts_page(parts: Sequence[tuple[str, Sequence[Line]]]) -> Content:
    """Facts under their headings, a label and a text a line."""
    blocks = []
    for title, lines in parts:
        rows = [Content.styled(title, "bold underline")]
        rows += [shown(f"{label:<14}  ") + shown(text, "bold") for label, text in lines]
        blocks.append(Content("\n").join(rows))
    return Content("\n\n").join(blocks)
