"""Ask for a few lines of text, one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.text import normal, refusal
from fieldtui.desk.entry import looks_like_value
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.word_line import WordLine


@dataclass(frozen=True, slots=True)
class Question:
    """One line to fill in. ``check`` says what is wrong with an answer, or None."""

    label: str
    check: Callable[[str], str | None] = lambda _: None
    answer: str = ""
    is_number: bool = False  # no letters; ``check`` refuses what else is no digit
    is_value: bool = False  # a comma key is its decimal point
    is_signed: bool = False  # a minus begins an answer


class FormDialog(Dialog[list[str]]):
    """Enter goes to the next line, on the last one it answers; what is wrong is said and kept."""

    def __init__(
        self,
        heading: str | Content,
        questions: Sequence[Question],
        hint: str = "",
    ) -> None:
        super().__init__(heading, hint or "Enter: go on. Esc, or - on an empty line: leave it.")
        self._questions = list(questions)
        self._lines = [
            WordLine(each.answer, is_number=each.is_number, is_value=each.is_value)
            for each in self._questions
        ]
        self._at = 0
        self._lines[0].is_active = True

    def compose_body(self) -> Iterable[Widget]:
        for question, line in zip(self._questions, self._lines, strict=True):
            yield Static(shown(question.label), classes="dialog-label")
            yield line

    @property
    def minus_leaves(self) -> bool:
        question, line = self._questions[self._at], self._lines[self._at]
        if question.is_signed:
            return line.text == "-"  # one begins a value, two leave
        return question.is_number or line.is_untouched

    def wants_seen(self, event: Pressed) -> bool:
        """Enter alone takes what a line offers, or leaves it empty, and nobody may have seen that."""
        is_enter = isinstance(event, Key) and event.key == "enter"
        return super().wants_seen(event) or (is_enter and self._lines[self._at].is_untouched)

    def key_pressed(self, event: Key) -> None:
        if event.key == "enter":
            self._go_on()
        elif event.key in ("up", "down"):
            self._go_to(self._at + (1 if event.key == "down" else -1))
        else:
            self._lines[self._at].press(event)

    def _go_on(self) -> None:
        if not self._is_good(self._at):
            return
        if self._at + 1 < len(self._lines):
            self._go_to(self._at + 1)
        elif all(self._is_good(index) for index in range(len(self._lines))):
            self.answer([normal(line.text) for line in self._lines])

    def _go_to(self, index: int) -> None:
        if 0 <= index < len(self._lines):
            self._lines[self._at].is_active = False
            self._at = index
            self._lines[index].is_active = True

    def start_again(self) -> None:
        """The first line is to be filled in once more; the others stay."""
        self._lines[0].text = ""
        self._go_to(0)

    def _is_good(self, index: int) -> bool:
        text = normal(self._lines[index].text)
        why = refusal(text) or self._questions[index].check(text)
        self.say(why or "")
        if why is not None:
            self._go_to(index)
        return why is None


def wanted(what: str) -> Callable[[str], str | None]:
    """A check that some words are there, and not a value that somebody keyed on."""
    return lambda text: _trouble(what, text, is_value=looks_like_value(text))


def paper(what: str) -> Callable[[str], str | None]:
    """The same of what a paper is known by, which may be a whole number."""
    return lambda text: _trouble(what, text, is_value=looks_like_value(text) and not text.isdecimal())


def _trouble(what: str, text: str, *, is_value: bool) -> str | None:
    if is_value:
        return f"that looks like a value, and nothing was recorded: key {what}, or Esc"
    return None if text else f"{what} is wanted"


reference = paper("a reference")
