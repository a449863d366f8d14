"""Pick a reason: one digit, or 0 and own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from textual import events, on
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input

from fieldtui.core.text import normal, refusal
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.text_line import TextLine

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
        hint: str = "A digit picks. 0: own words. Esc: leave it.",
    ) -> None:
        super().__init__(heading, hint)
        self._reasons = list(reasons)[:9]
        self._switch = switch
        self._switched = False
        self._enter_picks = enter_picks

    def compose_body(self) -> Iterable[Widget]:
        rows = [Row(number, shown(reason)) for number, reason in enumerate(self._reasons, start=1)]
        rows.append(Row(OWN_WORDS, Content("own words …")))
        yield Choices(rows, enter_picks=self._enter_picks)
        words = TextLine()
        words.display = False
        yield words

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._say_switch()

    def on_key(self, event: events.Key) -> None:
        if self._switch and event.key == "slash" and not self.query_one(TextLine).display:
            event.stop()
            self._switched = not self._switched
            self._say_switch()

    @on(Choices.RowChosen)
    def _row_chosen(self, event: Choices.RowChosen) -> None:
        event.stop()
        if event.index < len(self._reasons):
            self.dismiss(Reason(self._reasons[event.index], self._switched))
            return
        words = self.query_one(TextLine)
        words.display = True
        words.focus()

    @on(Input.Submitted)
    def _words_keyed(self, event: Input.Submitted) -> None:
        event.stop()
        words = normal(event.value)
        why = refusal(words) if words else "a reason is wanted: a few words, or Esc"
        if why is None:
            self.dismiss(Reason(words, self._switched))
        else:
            self.say(why)

    @on(TextLine.PasteRefused)
    def _paste_refused(self, event: TextLine.PasteRefused) -> None:
        self.say(f"not pasted: {event.why}")

    def _say_switch(self) -> None:
        if self._switch:
            answer = "YES" if self._switched else "no"
            self.say(f"/  {self._switch}: {answer}", "bold")
