"""Drift between record and meter memory: the numbers differ. What may have happened?

The screen only asks. What was chosen goes back to the walk, which writes it down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from fieldtui.core.drift.explanations import Change, Explanation, Kind
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.dialogs.dialog import LOOKS_LIKE_VALUE, Key
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.pages.asking import AskingScreen
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.widgets.drift_readings import HEADING, NumberedReadings
from fieldtui.ui.widgets.drift_words import change_in_words, percent

_DIGITS = 9  # places that a digit reaches; the arrows reach the others
_LINES = 3  # of an explanation
_MOVES = {"up": -1, "pageup": -1, "asterisk": -1, "down": 1, "pagedown": 1, "plus": 1}
# What fits whichever explanation was chosen; the crew's own reasons name other ones.
_GROUNDS = ("seen in the meter's memory", "the prober says so")
_FOR_THE_CREW = (Kind.MISHEARD, Kind.SEVERAL)  # nothing is written: somebody has to do something first


@dataclass(frozen=True, slots=True)
class NumberChoice:
    """What the crew says happened; ``reason`` is empty where nothing is to be written."""

    kind: Kind
    change: Change
    reason: str = ""


class NumberDriftScreen(AskingScreen[NumberChoice]):
    """The numbers differ: last readings, ranked explanations, and what each would change."""

    HINT: ClassVar = "A digit or ↑ ↓ * + marks, Enter takes it. Esc or -: leave it; a warning stays."

    def __init__(self, survey: Survey, called: int, explanations: Sequence[Explanation]) -> None:
        super().__init__()
        self._survey = survey
        self._called = called
        self._explanations = list(explanations)
        self._marked: int | None = None  # so that Enter takes nothing at first
        self._typed = ""  # a digit marks; more than one, or a point, is a value that somebody keys

    def compose(self) -> ComposeResult:
        yield Static(" DRIFT  THE NUMBERS DIFFER", classes="asking-title", markup=False)
        yield Static(self._numbers(), classes="asking-line")
        yield Static(HEADING, classes="asking-head", markup=False)
        yield NumberedReadings(self._survey)
        yield Static("What may have happened", classes="asking-head", markup=False)
        with VerticalScroll(id="explanations", can_focus=False):
            yield Static(explanation_lines(self._explanations, self._survey), id="explained")
        trouble = Static("", id="dialog-trouble")
        trouble.display = False
        yield trouble
        yield Static(self.HINT, classes="asking-hint", markup=False)

    def key_pressed(self, event: Key) -> None:
        if event.key in ("f1", "slash"):
            self.begin(self._help())
        elif event.key in _MOVES:
            self._typed = ""
            at = -1 if self._marked is None and _MOVES[event.key] > 0 else self._marked or 0
            self._mark(max(0, min(len(self._explanations) - 1, at + _MOVES[event.key])))
        elif event.key == "enter":
            self._typed = ""
            self.say("")
            if self._marked is not None:
                self.begin(self._choose(self._explanations[self._marked]))
        elif event.character is not None and event.character in "0123456789.,":
            self._type(event.character)
        elif event.key == "backspace" and self._typed:
            self._typed = ""
            self.say("")

    def _type(self, character: str) -> None:
        """One digit marks the explanation of that number; whatever else looks like a value marks none."""
        self._typed += character
        place = int(self._typed) - 1 if self._typed.isdecimal() and len(self._typed) == 1 else -1
        is_one = 0 <= place < len(self._explanations)
        self._mark(place if is_one else None)
        self.say("" if is_one else LOOKS_LIKE_VALUE)

    def _mark(self, place: int | None) -> None:
        self._marked = place
        lines = explanation_lines(self._explanations, self._survey, place)
        self.query_one("#explained", Static).update(lines)
        if place is not None:
            scroll = self.query_one("#explanations", VerticalScroll)
            scroll.scroll_to(y=max(0, place * _LINES - max(0, scroll.size.height - _LINES)), animate=False)

    async def _help(self) -> None:
        await self.ask(HelpDialog("drift"))

    async def _choose(self, explanation: Explanation) -> None:
        """Which place, then why; Escape on the way comes back here."""
        kind = explanation.kind
        if kind in _FOR_THE_CREW:
            self.answer(NumberChoice(kind, explanation.changes[0]))
            return
        change: Change | None = explanation.changes[0]
        if len(explanation.changes) > 1:
            change = await self.ask(PlaceDialog(explanation, self._survey))
        if change is None:
            return
        heading = Content("\n").join(
            [
                shown(f"{_sentence(change.words)} Why?", "bold"),
                shown(_sentence(change_in_words(kind, change, self._survey))),
            ]
        )
        reason = await self.ask(ReasonDialog(heading, [change.words, *_GROUNDS], digit_marks=True))
        if reason is not None:
            self.answer(NumberChoice(kind, change, reason.text))

    def _numbers(self) -> Content:
        run = self._survey.run
        filed = run.filed_last if run is not None else None
        times = self._survey.called[1]
        often = f", read out {times} times" if times > 1 else ""
        ours = "no reading of this memory run yet" if filed is None else f"last reading is {filed}"
        return Content.styled(f"Meter: last reading is {self._called}{often}.   Record: {ours}.", "bold")


class PlaceDialog(PickDialog[Change]):
    """Where it happened, the likeliest place first and marked; none is marked where several are as likely."""

    IS_UNFORESEEN = True

    def __init__(self, explanation: Explanation, survey: Survey) -> None:
        is_undecided = _as_likely(explanation) > 1
        which = "Undecided: nothing tells these apart" if is_undecided else "The likeliest place first"
        super().__init__(
            f"{explanation.kind.value}: where? {which}",
            [
                (Row(number if number <= _DIGITS else None, _place_words(change)), change)
                for number, change in enumerate(explanation.changes, start=1)
            ],
            hint="A digit or ↑ ↓ * + marks, Enter takes it. Esc or -: back.",
            is_marked=not is_undecided,
            digit_marks=True,
        )


def _place_words(change: Change) -> Content:
    return Content(f"{percent(change.probability):>5}  ") + shown(change.words)


def explanation_lines(
    explanations: Sequence[Explanation], survey: Survey, marked: int | None = None
) -> Content:
    """Three lines each: how likely, what happened where, and what it would change."""
    lines = []
    for number, each in enumerate(explanations, start=1):
        likeliest, places = each.changes[0], len(each.changes)
        has_places = places > 1 and each.kind not in _FOR_THE_CREW
        where = f"  (the likeliest of {places} places)" if has_places else ""
        what = likeliest.words if likeliest.settles else likeliest.words.split("; ")[0]
        change = change_in_words(each.kind, likeliest, survey)
        if has_places and (alike := _as_likely(each)) > 1:
            where = f"  (undecided: {alike} places, each as likely)"
            what = f"the numbers do not tell where it happened; {number} lists the places"
            change = f"what moves depends on the place; next number {likeliest.next_number}"
        is_marked = number - 1 == marked
        head = f"{'▶' if is_marked else ' '}{number} {percent(each.probability):>5}  {each.kind.value}"
        lines += [
            Content.styled(head, "bold reverse" if is_marked else "bold") + Content(where),
            shown(f"          {what}"),
            shown(f"        → {change}"),
        ]
    return Content("\n").join(lines)


def _as_likely(explanation: Explanation) -> int:
    """At how many places it is as likely as at the first, as far as the screen shows."""
    first = percent(explanation.changes[0].probability)
    return sum(percent(change.probability) == first for change in explanation.changes)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."
