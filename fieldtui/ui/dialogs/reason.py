"""Pick a reason: one digit, or 0 and own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget

from fieldtui.core.text import normal, refusal
from fieldtui.desk.entry import looks_like_value
from fieldtui.ui.dialogs.dialog import LOOKS_LIKE_VALUE, Dialog, Key
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.word_line import WordLine

OWN_WORDS = 0


@dataclass(frozen=True, slots=True)
class Reason:
    """The reason given. ``switched`` where the dialog's switch, key ``/``, was on."""

    text: str
    switched: bool = False


class ReasonDialog(Dialog[Reason]):
    """Digits 1 to 9 pick at once, 0 asks for own words, ``/`` turns the switch where there is one.

    With ``digit_marks`` a digit marks and Enter takes it: for a list that an Enter opened, where the next
    keys may be those of a value that somebody keys without looking.
    """

    def __init__(
        self,
        heading: str | Content,
        reasons: Sequence[str],
        *,
        switch: str = "",
        enter_picks: bool = True,
        digit_marks: bool = False,
        hint: str = "",
        note: str = "",
    ) -> None:
        """``note`` is a line of its own before the hint."""
        picks = "A digit marks, Enter takes it." if digit_marks else "A digit picks."
        keys = hint or f"{picks} 0: own words. Esc or -: leave it."
        super().__init__(heading, f"{note}\n{keys}" if note else keys)
        self._reasons = list(reasons)[:9]
        self._switch = switch
        self._switched = False
        rows = [Row(number, shown(reason)) for number, reason in enumerate(self._reasons, start=1)]
        rows.append(Row(OWN_WORDS, Content("own words …")))
        self._choices = Choices(rows, enter_picks=enter_picks, digit_marks=digit_marks)
        self._words = WordLine()
        self._words.display = False

    def compose_body(self) -> Iterable[Widget]:
        yield self._choices
        yield self._words

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._say_switch()

    @property
    def minus_leaves(self) -> bool:
        return not self._words.is_active or self._words.is_untouched

    def wants_seen(self, event: Pressed) -> bool:
        is_enter = isinstance(event, Key) and event.key == "enter"
        takes_first = is_enter and not self._words.is_active and not self._choices.was_marked
        return super().wants_seen(event) or takes_first

    def key_pressed(self, event: Key) -> None:
        if self._words.is_active:
            self._word_key(event)
        elif self._switch and event.key == "slash":
            self._switched = not self._switched
            self._say_switch()
        else:
            self._list_key(event)

    def _list_key(self, event: Key) -> None:
        was_value = self._choices.is_value
        index = self._choices.press(event)
        if self._choices.is_value:
            self.say(LOOKS_LIKE_VALUE)
        elif was_value:
            self.say("")
            self._say_switch()
        if index is None:
            return
        if index < len(self._reasons):
            self.answer(Reason(self._reasons[index], self._switched))
        else:
            self._words.display = self._words.is_active = True

    def _word_key(self, event: Key) -> None:
        if event.key != "enter":
            self._words.press(event)
            return
        words = normal(self._words.text)
        why = refusal(words) if words else "a reason is wanted: a few words, or Esc or -"
        if looks_like_value(words):  # of 0.53 the nought opened this line
            why = "that looks like a value: nothing was done. A few words, or Esc or -"
        if why is None:
            self.answer(Reason(words, self._switched))
        else:
            self.say(why)

    def _say_switch(self) -> None:
        if self._switch:
            self.say(f"/  {self._switch}: {'YES' if self._switched else 'no'}", "bold")
