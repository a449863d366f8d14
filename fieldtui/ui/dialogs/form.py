"""Ask for a few lines of text, one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from textual import on
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from fieldtui.core.text import normal, refusal
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.widgets.text_line import TextLine


@dataclass(frozen=True, slots=True)
class Question:
    """One line to fill in. ``check`` says what is wrong with an answer, or None."""

    label: str
    check: Callable[[str], str | None] = lambda _: None
    answer: str = ""
    is_number: bool = False  # digits only


class FormDialog(Dialog[list[str]]):
    """Enter goes to the next line, on the last one it answers; what is wrong is said and kept."""

    def __init__(
        self,
        heading: str | Content,
        questions: Sequence[Question],
        hint: str = "Enter: go on. Esc: leave it.",
    ) -> None:
        super().__init__(heading, hint)
        self._questions = list(questions)

    def compose_body(self) -> Iterable[Widget]:
        for question in self._questions:
            yield Static(Content(question.label), classes="dialog-label")
            yield TextLine(question.answer, is_number=question.is_number)

    @on(Input.Submitted)
    def _line_keyed(self, event: Input.Submitted) -> None:
        event.stop()
        lines = list(self.query(TextLine))
        index = lines.index(event.input)  # type: ignore[arg-type]  # every Input here is a TextLine
        if not self._is_good(lines, index):
            return
        if index + 1 < len(lines):
            lines[index + 1].focus()
            return
        if all(self._is_good(lines, each) for each in range(len(lines))):
            self.dismiss([normal(line.value) for line in lines])

    @on(TextLine.PasteRefused)
    def _paste_refused(self, event: TextLine.PasteRefused) -> None:
        self.say(f"not pasted: {event.why}")

    def _is_good(self, lines: Sequence[TextLine], index: int) -> bool:
        text = normal(lines[index].value)
        why = refusal(text) or self._questions[index].check(text)
        self.say(why or "")
        if why is not None:
            lines[index].focus()
        return why is None


def wanted(what: str) -> Callable[[str], str | None]:
    """A check that some text is there."""
    return lambda text: None if text else f"{what} is wanted"
