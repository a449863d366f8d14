"""One of a few answers on one line: arrows or digits choose, Enter moves on."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.ui.shown import shown

_FEW = 3  # answers that are all written out, each with its digit


class ChoiceLine(Widget, can_focus=True):
    """``< good >   1 good  2 weak``; ``chosen`` is None until something was chosen."""

    DEFAULT_CSS = """
    ChoiceLine { width: 1fr; height: 1; }
    """

    chosen: reactive[int | None] = reactive(None)

    class Chosen(Message):
        """Another answer was chosen."""

        def __init__(self, choice: ChoiceLine) -> None:
            super().__init__()
            self.choice = choice

    def __init__(self, answers: Sequence[str], *, chosen: int | None = None) -> None:
        super().__init__()
        self.answers = list(answers)
        self.set_reactive(ChoiceLine.chosen, chosen)

    def on_key(self, event: events.Key) -> None:
        if event.key in ("left", "right", "space"):
            self._step(-1 if event.key == "left" else 1)
        elif event.character is not None and event.character in "123456789"[: len(self.answers)]:
            self.chosen = int(event.character) - 1
        elif event.key == "enter":
            self.screen.focus_next()
        else:
            return
        event.stop()
        event.prevent_default()

    def watch_chosen(self) -> None:
        self.post_message(self.Chosen(self))

    def render(self) -> Content:
        words = "not answered" if self.chosen is None else self.answers[self.chosen]
        line = shown(f"< {words} >", "reverse" if self.has_focus else "bold")
        if len(self.answers) <= 1:
            return line
        if sum(map(len, self.answers)) > 24 or len(self.answers) > _FEW:
            if self.chosen is not None:
                return line + Content(f"  {self.chosen + 1} of {len(self.answers)}")
            return self._with_names(line + Content("   "))
        return line + shown("   " + "  ".join(f"{n} {answer}" for n, answer in enumerate(self.answers, 1)))

    def _with_names(self, line: Content) -> Content:
        """Every answer behind its digit; each is cut short alike where the line has too little room."""
        count = len(self.answers)
        room = max(6, (self.size.width - line.cell_length - 4 * count) // count)
        names = [
            Content(f"{number} ") + shown(answer).truncate(room, ellipsis=True)
            for number, answer in enumerate(self.answers, 1)
        ]
        return line + Content("  ").join(names)

    def _step(self, by: int) -> None:
        if self.chosen is None:
            self.chosen = 0 if by > 0 else len(self.answers) - 1
        else:
            self.chosen = (self.chosen + by) % len(self.answers)
