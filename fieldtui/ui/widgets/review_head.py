"""What stands above every page of the review: which session, whose, and how far to trust it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static

from fieldtui.desk.reading import ReadSession
from fieldtui.report.identity import Line, describe_state
from fieldtui.ui.shown import shown


def head_of(session: ReadSession) -> Content:
    """Four lines; whatever does not fit a line stands in full on the page of facts."""
    facts, survey = session.facts, session.survey
    state = describe_state(survey).upper()
    chain = Content.styled("✓ chain INTACT", "bold") if session.is_intact else _broken()
    meter = facts.instrument
    lines = [
        shown(f"{facts.route.title}   {facts.route.asset}   job {facts.job or 'not given'}", "bold"),
        shown(f"prober {facts.crew.prober}   recorder {facts.crew.recorder}   {meter.title} {meter.serial}"),
        shown(f"{state}   {survey.settled} of {len(survey.points)} points settled   ", "bold")
        + shown(f"{len(survey.records)} readings   {facts.id}"),
        chain + shown(f"   {session.rows} rows   seal {session.seal}"),
    ]
    return Content("\n").join(lines)


def _broken() -> Content:
    return Content.styled("✗ CHAIN BROKEN", "bold reverse")


class ReviewTabs(Static):
    """The pages, each with its key, and what is being looked for."""

    def __init__(self, pages: Sequence[str]) -> None:
        super().__init__(id="review-tabs", markup=False)
        self._pages = list(pages)

    def show(self, page: str, words: str, counts: tuple[int, int] | None) -> None:
        """``page`` is the one in front; ``counts`` its rows on show, of how many."""
        parts = [
            Content.styled(f" {key} {name} ", "bold reverse" if name == page else "")
            for key, name in enumerate(self._pages, 1)
        ]
        line = Content("").join(parts)
        if counts is not None:
            some, every = counts
            line += Content(f"   {every} in all" if not words else f"   {some} of {every}")
        if words:
            line += shown(f" with: {words}", "bold")
        self.update(line)


def facts_page(parts: Sequence[tuple[str, Sequence[Line]]]) -> Content:
    """Facts under their headings, a label and a text a line."""
    blocks = []
    for title, lines in parts:
        rows = [Content.styled(title, "bold underline")]
        rows += [shown(f"{label:<14}  ") + shown(text, "bold") for label, text in lines]
        blocks.append(Content("\n").join(rows))
    return Content("\n\n").join(blocks)
