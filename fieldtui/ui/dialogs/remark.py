"""Ask for a reviewer's remark, and hold the words on the screen until they are on the disk."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted

MAX_NAME = 120  # characters

Save = Callable[[str, str], Awaitable[None]]  # a name and words, put on the disk


class RemarkDialog(FormDialog):
    """The answer comes once ``save`` has succeeded; where it fails the words stay, marked NOT SAVED."""

    def __init__(self, heading: str, words: str, save: Save, *, by: str = "") -> None:
        questions = [Question("your name", _name_refusal, by), Question(words, wanted("a few words"))]
        super().__init__(heading, questions, "Enter: go on, then save. Up: the name. Esc: leave it.")
        self._save = save
        self._is_saving = False
        if by:
            self._go_to(1)

    def key_pressed(self, event: Key) -> None:
        if not self._is_saving:
            super().key_pressed(event)

    def answer(self, answer: list[str] | None) -> None:
        if self._is_saving:
            return  # its words are on the way; Escape would leave open whether they got there
        if answer is None:
            super().answer(None)
            return
        self._is_saving = True
        self.say("saving …", "bold")
        self.run_worker(self._put_on_disk(answer))

    async def _put_on_disk(self, answer: list[str]) -> None:
        name, words = answer
        try:
            await self._save(name, words)
        except FieldtuiError as error:
            self._is_saving = False
            parts = (error.what, error.where, error.remedy)
            self.say("NOT SAVED: " + ". ".join(part.rstrip(".") for part in parts if part))
        else:
            self._is_saving = False
            super().answer(answer)


def _name_refusal(name: str) -> str | None:
    if not name:
        return "a name is wanted"
    return None if len(name) <= MAX_NAME else f"a name has at most {MAX_NAME} characters"
