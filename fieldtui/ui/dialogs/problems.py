"""What is wrong with a file that was to be read, each problem with its place."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown

_SHOWN = 200  # problems of a file that is wrong all over


class ProblemsDialog(Dialog[bool]):
    """A page to read; the arrows scroll it, any other key closes it."""

    TAKES_KEYS_AHEAD = False

    def __init__(self, error: FieldtuiError) -> None:
        super().__init__(shown(error.what, "bold $text-error"), "Arrows scroll. Any other key: back.")
        problems = error.problems[:_SHOWN]
        lines = [shown(text) for text in (error.where, error.remedy) if text]
        for problem in problems:
            lines.append(shown(problem.where, "bold") + shown(f"  {problem.what}"))
            if problem.remedy:
                lines.append(shown(f"    {problem.remedy}"))
        self._page = VerticalScroll(Static(Content("\n").join(lines)), id="help-page")

    def compose_body(self) -> Iterable[Widget]:
        yield self._page

    def key_pressed(self, event: Key) -> None:
        if event.key in ("up", "pageup"):
            self._page.scroll_page_up(animate=False)
        elif event.key in ("down", "pagedown"):
            self._page.scroll_page_down(animate=False)
        else:
            self.answer(True)
