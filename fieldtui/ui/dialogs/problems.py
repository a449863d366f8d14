"""What is wrong with a file that was to be read, each problem with its place."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.dialogs.help import scrolled
from fieldtui.ui.shown import shown

_SHOWN = 200  # problems of a file that is wrong all over


class ProblemsDialog(Dialog[bool]):
    """A page to read; the arrows scroll it, any other key closes it."""

    IS_UNFORESEEN = True

    def __init__(self, error: FieldtuiError) -> None:
        super().__init__(
            shown(error.what, "bold $text-error"), "Arrows, + and * scroll. Any other key: back."
        )
        problems = error.further[:_SHOWN]
        lines = [shown(text) for text in (error.where, error.remedy) if text]
        for problem in problems:
            lines.append(shown(problem.where, "bold") + shown(f"  {problem.what}"))
            if problem.remedy:
                lines.append(shown(f"    {problem.remedy}"))
        self._page = VerticalScroll(Static(Content("\n").join(lines)), id="help-page")

    def compose_body(self) -> Iterable[Widget]:
        yield self._page

    def key_pressed(self, event: Key) -> None:
        if not scrolled(self._page, event.key):
            self.answer(True)
