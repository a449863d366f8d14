"""The exceptions, each with where, why and what to do, under how far the sections are done."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from fieldtui.report.findings.finding import Finding
from fieldtui.report.sections import SectionCount, state_words
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review.sections import section_mark
from fieldtui.ui.widgets.review.sheet import has_words

_NONE = "✓ No exceptions: every point was measured, nothing was changed, struck out or overridden."
_SEARCHING = "… going through the trail"
_AT_ONCE = 400  # findings listed at first: laying out tens of thousands would hold the screen up


class FindingList(OptionList):
    """First things first; Enter tells the whole story of the point that the marked one is about."""

    def __init__(self, sections: Sequence[SectionCount], lacking: Sequence[str] = ()) -> None:
        """``lacking`` is what keeps the survey from being complete, in words."""
        super().__init__(id="review-exceptions", markup=False)
        self._lacking = lacking
        self._sections = sections
        self._findings: Sequence[Finding] | None = None  # None until the trail was gone through
        self._words: str | None = None  # those looked for; None before anything was shown
        self._room = _AT_ONCE
        self._found: Sequence[Finding] = ()
        self._first = 0  # options before the first finding

    @property
    def is_searching(self) -> bool:
        """Whether the trail is still being gone through."""
        return self._findings is None

    @property
    def marked(self) -> Finding | None:
        """The finding under the cursor."""
        at = (self.highlighted or 0) - self._first
        return self._found[at] if 0 <= at < min(len(self._found), self._room) else None

    def put(self, findings: Sequence[Finding]) -> None:
        """Put the findings in place."""
        self._findings = findings
        self._fill()

    def show(self, words: str) -> tuple[int, int]:
        """Show the findings with ``words``; returns how many there are, of how many."""
        if words != self._words:
            self._words = words
            self._room = _AT_ONCE
            self._fill()
        return len(self._found), len(self._findings or ())

    def watch_highlighted(self, highlighted: int | None) -> None:
        super().watch_highlighted(highlighted)
        at = (highlighted or 0) - self._first
        if at >= self._room - 1 and len(self._found) > self._room:
            more = self._found[self._room : self._room + _AT_ONCE]
            self._room += _AT_ONCE
            self.add_options(Option(_entry(finding)) for finding in more)

    def _fill(self) -> None:
        findings, words = self._findings or (), self._words or ""
        self._found = [finding for finding in findings if has_words(finding_text(finding), words)]
        options = [] if words else [Option(_completeness(self._sections, self._lacking), disabled=True)]
        self._first = len(options)
        options += [Option(_entry(finding)) for finding in self._found[: self._room]]
        if not self._found:
            options.append(Option(Content(self._nothing()), disabled=True))
        self.set_options(options)
        self.highlighted = self._first if self._found else None
        self.scroll_home(animate=False)

    def _nothing(self) -> str:
        if self._findings is None:
            return _SEARCHING
        return "no exception has these words" if self._findings else _NONE


def finding_text(finding: Finding) -> str:
    """What a search looks at in a finding."""
    parts = (finding.kind.value, finding.what, finding.where, finding.reason, finding.remedy)
    return "\n".join(parts).casefold()


def _completeness(sections: Sequence[SectionCount], words: Sequence[str]) -> Content:
    """One line where nothing is lacking; else what is, and a line for each section that is not settled."""
    if not words:
        return Content(f"✓ COMPLETE  every point of {len(sections)} sections was measured or waived")
    lines = [Content.styled(f"○ NOT COMPLETE  {', '.join(words)}", "bold")]
    for section in sections:
        if section.is_complete:
            continue
        name = f"{section.id} {section.title}".strip() or "no section"
        lines.append(
            shown(f"    {section_mark(section)} {name}: ", "bold")
            + Content(f"{section.settled} of {section.points} settled   ")
            + Content(state_words(section))
        )
    return Content("\n").join(lines)


def _entry(finding: Finding) -> Content:
    where = f"   [{finding.where}]" if finding.where else ""
    lines = [
        Content.styled(f"{finding.kind.value.upper()}  ", "bold") + shown(finding.what) + shown(where),
    ]
    if finding.reason:
        lines.append(shown(f"    reason: {finding.reason}"))
    if finding.remedy:
        lines.append(shown(f"    to do: {finding.remedy}"))
    return Content("\n").join(lines)
