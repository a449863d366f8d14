"""The exceptions, each with where, why and what to do."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from fieldtui.report.finding import Finding
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review_sheets import finding_text, has_words

_NONE = "✓ No exceptions: every point is settled, nothing was changed, struck out or overridden."


class FindingList(OptionList):
    """First things first; the list is only read, Enter does nothing."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        super().__init__(id="review-exceptions", markup=False)
        self._findings = findings
        self._words: str | None = None
        self._count = 0

    def show(self, words: str) -> tuple[int, int]:
        """Show the findings with ``words``; returns how many there are, of how many."""
        if words != self._words:
            self._words = words
            found = [finding for finding in self._findings if has_words(finding_text(finding), words)]
            self._count = len(found)
            self.set_options(Option(_entry(finding)) for finding in found)
            if not found:
                what = "no exception has these words" if self._findings else _NONE
                self.set_options([Option(Content(what), disabled=True)])
            self.highlighted = 0 if found else None
        return self._count, len(self._findings)


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
