"""Drift between record and prober: the evidence, and what each remedy would do, before one is taken.

It comes up where the drift watch speaks up; without an alarm it is opened by the crew, which knows by itself
that readings stand at other points than they were taken at, or moves back what was moved.

The screen only asks. What was chosen goes back to the walk, which writes it down.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from fieldtui.core.drift.watch import Alarm
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import WrongUseError
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog
from fieldtui.ui.pages.asking import AskingScreen
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.drift_evidence import alarm_in_words, elsewhere, evidence_table
from fieldtui.ui.widgets.drift_preview import DriftPreview
from fieldtui.ui.widgets.key_bar import KeyHints

_FIRST = {"up": -1, "asterisk": -1, "down": 1, "plus": 1}  # the first record, one earlier or later
# What fits whichever remedy was chosen; the crew's own reasons for a correction are of values.
_GROUNDS = ("the values fit there", "the prober says so")
_LOOK_FIRST = "Look first: nothing changes, a warning stays"
_NO_READING = "Nothing keyed here is a reading: NOT RECORDED. Answer this page first, or leave it with Esc."
_BY = {"left": -1, "7": -1, "right": 1, "9": 1}  # points
_LAST = {"4": -1, "6": 1}  # the last record that moves


class Remedy(Enum):
    """What is to be done about record and prober."""

    SHIFT = "shift"
    MIRROR = "mirror"
    IN_STEP = "in step"


@dataclass(frozen=True, slots=True)
class PointChoice:
    """What the crew decided. ``last`` is None where the readings up to now are meant."""

    remedy: Remedy
    first: int = 1
    by: int = 0
    last: int | None = None
    reason: str = ""


class PointDriftScreen(AskingScreen[PointChoice]):
    """Record and prober may have parted: the evidence, then what each remedy would do."""

    _HINTS: ClassVar = {
        False: "↑ ↓ * +: mark one. Enter: take it; what it would change is shown first.",
        True: "* + ↑ ↓: first record. 4 6: last. 7 9 ← →: how far. Enter: take it. Esc: back",
    }

    def __init__(self, desk: Desk, alarm: Alarm | None = None, earlier: Alarm | None = None) -> None:
        """``earlier`` is the alarm that ``alarm`` says is over, where it says so.

        Without an alarm there is at least one reading.
        """
        super().__init__()
        self._desk = desk
        self._survey = desk.survey
        self._alarm = alarm
        self._offered = list(offered(alarm, earlier)) if alarm is not None else []
        self._tried: PointChoice | None = None  # what the preview shows
        self._is_value = False  # what is keyed at the preview looks like one

    def compose(self) -> ComposeResult:
        alarm = self._alarm
        yield Static(shown(f" {self._title()}"), classes="asking-title", markup=False)
        words = alarm_in_words(alarm) if alarm is not None else ""
        yield Static(shown(words, "bold"), classes="asking-line", id="what")
        with VerticalScroll(id="evidence", can_focus=False):
            yield Static(evidence_table(alarm, self._survey) if alarm is not None else "")
        preview = DriftPreview(self._survey)
        preview.display = False
        yield preview
        trouble = Static("", id="dialog-trouble")
        trouble.display = False
        yield trouble
        yield Choices(
            # No numbers: the page opens by itself, and the next values called out must not answer it.
            [Row(None, Content(words)) for words in (*map(remedy_in_words, self._offered), _LOOK_FIRST)],
            is_marked=False,
        )
        yield Static(self._HINTS[False], classes="asking-hint", id="drift-hint", markup=False)
        yield KeyHints("drift_points")

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        if self._alarm is None:
            self._show(PointChoice(Remedy.SHIFT, first=max(self._survey.records), by=1))

    def _title(self) -> str:
        if self._alarm is None:
            return "MOVE READINGS  to the points they were taken at"
        parted = "PARTED" if self._alarm.shift != 0 else "MET AGAIN"
        return f"DRIFT  RECORD AND PROBER {'MAY ' if parted == 'PARTED' else ''}HAVE {parted}"

    # --- keys -----------------------------------------------------------------------------

    def _take(self, event: Key) -> None:
        if self._tried is not None and self._alarm is not None and self.leaves(event):
            self._show(None)  # from the preview back to the evidence, not out
        else:
            super()._take(event)

    def key_pressed(self, event: Key) -> None:
        if event.key in ("f1", "slash"):
            self.begin(self._help())
        elif self._tried is not None:
            self._preview_key(event, self._tried)
        elif event.character is not None and event.character in "0123456789.,":
            self.say(_NO_READING)
        elif (index := self.query_one(Choices).press(event)) is not None:
            self.say("")
            self._choose(index)

    def _choose(self, index: int) -> None:
        if index == len(self._offered):
            self.answer(None)
        elif self._offered[index].remedy is Remedy.IN_STEP:
            self.answer(self._offered[index])
        else:
            self._show(self._offered[index])

    @property
    def minus_leaves(self) -> bool:
        """Not where it begins a voltage: the page opens by itself, and the digits would be one without it."""
        here = self._survey.here
        return self._tried is not None or here is None or here.current_ma is None

    def _preview_key(self, event: Key, tried: PointChoice) -> None:
        key = event.key
        if self._is_value:  # up to its end
            self._is_value = key not in ("enter", "backspace")
            self.say(_NO_READING if self._is_value else "")
            return
        if event.character is not None and event.character in "0123458.," and key not in _LAST:
            self._is_value = True
            self.say(_NO_READING)
            return
        last = tried.last or len(self._survey.records)
        if key in _FIRST:
            first = tried.first + _FIRST[key]
            self._show(replace(tried, first=max(1, min(last, first))))
        elif key in _LAST and tried.remedy is Remedy.SHIFT:
            newest = max(self._survey.records)
            to = max(tried.first, last + _LAST[key])
            self._show(replace(tried, last=None if to >= newest else to))
        elif key in _BY and tried.remedy is Remedy.SHIFT:
            by = tried.by + _BY[key]
            self._show(replace(tried, by=by or _BY[key]))
        elif key == "enter" and self.query_one(DriftPreview).after is not None:
            self.begin(self._take_it(tried))

    async def _help(self) -> None:
        await self.ask(HelpDialog("drift_points"))

    async def _take_it(self, tried: PointChoice) -> None:
        heading = f"{remedy_in_words(tried)}: why?"
        reasons = [self._cause_of(tried), *_GROUNDS]
        reason: Reason | None = await self.ask(ReasonDialog(heading, reasons, digit_marks=True))
        if reason is not None:
            self.answer(replace(tried, reason=reason.text))

    def _cause_of(self, tried: PointChoice) -> str:
        """What must have happened if the remedy is right; in the alarm's own words where it says the same."""
        is_mirror = tried.remedy is Remedy.MIRROR
        if self._alarm is not None and (
            self._alarm.shift is None if is_mirror else tried.by == self._alarm.shift
        ):
            return self._alarm.cause
        if is_mirror:
            return "section walked from its far end"
        return f"the prober was {elsewhere(tried.by)}"

    # --- drawing --------------------------------------------------------------------------

    def _show(self, tried: PointChoice | None) -> None:
        """The preview of a remedy, or the evidence again."""
        self._tried = tried
        is_preview = tried is not None
        preview = self.query_one(DriftPreview)
        preview.display = is_preview
        self.query_one("#evidence").display = not is_preview
        self.query_one(Choices).display = not is_preview
        self.query_one("#drift-hint", Static).update(self._HINTS[is_preview])
        words = f"{remedy_in_words(tried)}?" if tried is not None else ""
        if tried is None and self._alarm is not None:
            words = alarm_in_words(self._alarm)
        self.query_one("#what", Static).update(shown(words, "bold"))
        self.say("")
        if tried is not None:
            preview.first = tried.first
            preview.after = self._after(tried)

    def _after(self, tried: PointChoice) -> Survey | None:
        """The survey as the remedy would leave it, None (and why said) where it cannot be."""
        try:
            if tried.remedy is Remedy.MIRROR:
                return self._desk.try_mirror(tried.first)
            return self._desk.try_shift(tried.first, tried.by, tried.last)
        except WrongUseError as error:
            self.say(f"{error.what}. {error.remedy}")
            return None


def offered(alarm: Alarm, earlier: Alarm | None) -> Iterable[PointChoice]:
    """The remedies, the one that the alarm speaks for first."""
    mirror = PointChoice(Remedy.MIRROR, first=alarm.began_at)
    if alarm.shift == 0:
        if earlier is not None and earlier.shift and earlier.began_at < alarm.began_at:
            yield PointChoice(Remedy.SHIFT, earlier.began_at, earlier.shift, last=alarm.began_at - 1)
    elif alarm.shift is None:
        yield from (mirror, PointChoice(Remedy.SHIFT, alarm.began_at, 1))
    else:
        yield from (PointChoice(Remedy.SHIFT, alarm.began_at, alarm.shift), mirror)
    yield PointChoice(Remedy.IN_STEP)


def remedy_in_words(choice: PointChoice) -> str:
    """One line for a list or a heading."""
    if choice.remedy is Remedy.IN_STEP:
        return "Prober and record are in step after all"
    if choice.remedy is Remedy.MIRROR:
        return f"From record {choice.first} on the section was walked from its far end"
    until = "on" if choice.last is None else f"to record {choice.last}"
    return f"Readings from record {choice.first} {until} belong {elsewhere(choice.by)}"
