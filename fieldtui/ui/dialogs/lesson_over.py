"""The end of a lesson: what was learned, what is left, and how to begin for real."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown

FOR_REAL = (
    "fieldtui new surveys       a folder for your own routes and meters",
    "fieldtui route check NAME  what is wrong with a route",
    "fieldtui walk NAME         the brief, then the walk",
)


class LessonOverDialog(Dialog[bool]):
    """Shown when the walk of a lesson is left; Enter leaves the program."""

    IS_UNFORESEEN = True

    def __init__(self, learned: Sequence[str], left: Sequence[str]) -> None:
        how = "Left early" if left else "The lesson is done"
        super().__init__(f"{how}. What you have learned:", "Enter: leave.")
        self._learned = list(learned)
        self._left = list(left)

    def compose_body(self) -> Iterable[Widget]:
        lines = [Content("✓ ") + shown(each) for each in self._learned] or [Content("nothing yet")]
        if self._left:
            lines.append(Content("○ Not yet: ") + shown(", ".join(self._left)))
        lines += [Content(""), Content.styled("For real:", "bold"), *map(shown, FOR_REAL)]
        yield Static(Content("\n").join(lines), id="lesson-over")

    def key_pressed(self, event: Key) -> None:
        if event.key in ("enter", "q"):
            self.answer(True)
