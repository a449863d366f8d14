"""The line for the words that rows are looked for with."""

from __future__ import annotations

from fieldtui.ui.widgets.text_line import TextLine


class FindLine(TextLine):
    """Out of sight until it is wanted."""

    def on_mount(self) -> None:
        self.border_title = "find: Enter keeps these rows, Esc shows all again"
        self.display = False
