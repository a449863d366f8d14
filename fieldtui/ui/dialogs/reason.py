"""Pick a reason: one digit, or 0 and own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget

from fieldtui.core.text import normal, refusal
from fieldtui.ui.dialogs.dialog import Dialog, Key
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
    """Digits 1 to 9 pick at once, 0 asks for own words, ``/`` turns the switch where there is one."""

    def __init__(
        self,
        heading: str | Content,
        reasons: Sequence[str],
        *,
        switch: str = "",
        enter_picks: bool = True,
        hint: str = "A digit picks. 0: own words. Esc or -: leave it.",
    ) -> None:
        super().__init__(heading, hint)
        self._reasons = list(reasons)[:9]
        self._switch = switch
        self._switched = False
        rows = [Row(number, shown(reason)) for number, reason in enumerate(self._reasons, start=1)]
        rows.append(Row(OWN_WORDS, Content("own words …")))
        self._choices = Choices(rows, enter_picks=enter_picks)
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
        takes_marked = isinstance(event, Key) and event.key == "enter" and not self._words.is_active
        return super().wants_seen(event) or takes_marked

    def key_pressed(self, event: Key) -> None:
        if self._words.is_active:
            self._word_key(event)
        elif self._switch and event.key == "slash":
            self._switched = not self._switched
            self._say_switch()
        else:
            self._list_key(event)

    def _list_key(self, event: Key) -> None:
        index = self._choices.press(event)
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
        if why is None:
            self.answer(Reason(words, self._switched))
        else:
            self.say(why)

    def _say_switch(self) -> None:
        if self._switch:
            self.say(f"/  {self._switch}: {'YES' if self._switched else 'no'}", "bold")
