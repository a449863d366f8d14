"""The line has stopped: a keyed value is doubtful, and nothing is recorded until the meter was read again.

What is read is keyed here, so that the digits of a value are those of a value and never an answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from enum import Enum
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.desk.entry import DoubtKind, Entry
from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.held_keys import keys_go_on
from fieldtui.ui.phrases import VERDICTS
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.entry_line import MAX_LENGTH, begins_value
from fieldtui.ui.widgets.word_line import WordLine

_OTHER_REASONS = ("slash", "w")  # the numeric keypad has no letters; W: why
_AS_CALLED = "The prober is elsewhere now: key it as it was called, or as the meter's memory shows it."
_SHOWN = 4  # doubts that there is room for


class Stands(Enum):
    """What is to become of the value as it was keyed first."""

    READ_AGAIN = "read again, the same"
    OTHER_REASON = "another reason is to be picked"


class StoppedDialog(Dialog[Entry | Stands]):
    """Says what is doubtful and takes what is read now. The answer is another value, or why the first stands.

    For ``LOOK_S`` seconds no key counts: a hand that was keying on has not seen yet that the line stopped.
    """

    IS_UNFORESEEN = True
    # The toolkit declares this without ClassVar.
    VERTICAL_BREAKPOINTS = [(0, "-tiny"), (18, "-high")]  # noqa: RUF012
    LOOK_S: ClassVar[float] = 0.4  # from the bell to the hand at rest; common practice, no source

    def __init__(
        self,
        entry: Entry,
        weigh: Callable[[str], Entry],
        *,
        unit: str,
        is_signed: bool = False,
        what: str = "",
    ) -> None:
        """``weigh`` says what a text is for the same place; ``what`` is to be written, if no reading is."""
        number = "" if entry.number is None else f"memory number {entry.number}, "
        verdict = VERDICTS[entry.verdict].word.upper()
        said = f"{what or f'As keyed, at {entry.point}'}: {number}{entry.reading}, {verdict}."
        heading = Content("\n").join(
            [
                Content.styled("STOPPED: NOTHING IS RECORDED YET", "bold $text-error"),
                *(shown(doubt.what, "bold") for doubt in entry.doubts[:_SHOWN]),
                shown(said),
                Content("Ask the prober to read the meter again." if not what else _AS_CALLED),
            ]
        )
        back = "--" if is_signed else "-"
        super().__init__(
            heading,
            "The same again, Enter: it stands. Another value takes its place.\n"
            f"/ or w: another reason why it stands. Esc or {back}: back, nothing is recorded.",
        )
        is_number = any(doubt.kind is DoubtKind.NUMBER for doubt in entry.doubts)
        asked = (
            "What was called"
            if what
            else f"What the prober reads now{', number and value' if is_number else ''}"
        )
        self._asked = f"{asked} ({unit}):"
        self._wanted = (
            f"Key {asked[0].lower()}{asked[1:]}, then Enter. / or w: another reason. Esc or {back}: back."
        )
        self._wants_number = is_number and not what
        self._entry = entry
        self._weigh = weigh
        self._is_signed = is_signed
        self._line = WordLine(is_value=True)

    def compose_body(self) -> Iterable[Widget]:
        yield Static("", classes="dialog-label", id="stopped-asked")  # asked once it can be answered
        yield self._line

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self.set_timer(self.LOOK_S, self._looked)

    def _looked(self) -> None:
        self.query_one("#stopped-asked", Static).update(shown(self._asked))
        self._line.is_active = True
        keys_go_on(self)

    @property
    def is_looked_at(self) -> bool:
        """Whether it was there long enough for a key to be an answer to it."""
        return self._line.is_active

    @property
    def takes_keys(self) -> bool:
        return super().takes_keys and self.is_looked_at

    @property
    def minus_leaves(self) -> bool:
        return self._line.text == ("-" if self._is_signed else "")  # one begins a voltage, two leave

    # --- keys -----------------------------------------------------------------------------

    def key_pressed(self, event: Key) -> None:
        text = self._line.text
        self.say("")
        if event.key == "enter":
            self._enter(text)
        elif event.key == "backspace":
            self._line.press(event)
        elif text and event.key == "minus":  # the numeric keypad has no Backspace
            self._line.text = "-" if self._is_signed else ""
        elif not text and event.key.lower() in _OTHER_REASONS:
            self.answer(Stands.OTHER_REASON)
        elif not text and not begins_value(event.character, is_signed=self._is_signed):
            self.say(self._wanted)
        elif len(text) < MAX_LENGTH:
            self._line.press(event)

    def _enter(self, text: str) -> None:
        if not text.strip():
            self.say(self._wanted)
            return
        try:
            again = self._weigh(text)
        except FieldtuiError as error:
            self.say(error.what)
            return
        if self._wants_number and again.number is None:
            self.say(f"The number is in doubt: key it with the value, such as {self._entry.number} {text}.")
            return
        self.answer(Stands.READ_AGAIN if again.is_same(self._entry) else again)


class WhyStandsDialog(ReasonDialog):
    """The reasons why a doubtful value stands. It comes up unasked where its number was keyed again."""

    IS_UNFORESEEN = True

    def __init__(self, entry: Entry, reasons: Sequence[str]) -> None:
        is_number = entry.number is not None
        what = f"Memory number {entry.number}, {entry.reading}" if is_number else f"{entry.reading}"
        super().__init__(
            f"{what} at {entry.point}, not recorded yet: why does it stand?",
            reasons,
            enter_picks=False,
            hint="A digit says why, and records it. 0: own words. Esc or -: back.",
        )
