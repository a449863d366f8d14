"""The stage of the walk: what is on it, how it is drawn, and how things are asked and written.

The screen holds no facts of the survey: after every event the desk's survey is handed to the
parts, and they draw it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, ClassVar, ParamSpec, TypeVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.reactive import reactive
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from fieldtui.desk.copying import CopyState
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import FieldtuiError, NotSavedError
from fieldtui.ui.actions import actions_of
from fieldtui.ui.held_keys import KeyedPage
from fieldtui.ui.phrases import copy_in_words, keyed_unit, sleep_in_words
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.alerts import Alerts
from fieldtui.ui.widgets.coach import Coaching, CoachStrip, Prober
from fieldtui.ui.widgets.coming_list import ComingList
from fieldtui.ui.widgets.counters import Counters
from fieldtui.ui.widgets.entry_line import BLINK_S, EntryLine
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.point_card import ComingPoint, PointCard
from fieldtui.ui.widgets.progress import Progress, SectionList
from fieldtui.ui.widgets.readings import LastReadings
from fieldtui.ui.widgets.survey_view import SurveyView
from fieldtui.ui.widgets.way_line import WayLine
from fieldtui.ui.writer import Writer

if TYPE_CHECKING:
    from fieldtui.ui.dialogs.dialog import Dialog

P = ParamSpec("P")
T = TypeVar("T")

RING_GAP_S = 0.25  # between the rings of one signal, so that they are heard apart
RECORDER_CELLS = 20  # of the title, for who records
ROUTE_CELLS = 16  # of the title, for which route it is, before who records gives way
COPY_LOOK_S = 0.5  # between two looks at the second copy
RINGS_PASS, RINGS_FAIL, RINGS_STOP = 1, 2, 3


class WalkStage(Screen[None], KeyedPage):
    """Parts and means of the walk screen."""

    CSS_PATH = "../styles/walk.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("walk", "act('{name}')")]
    # The toolkit declares these without ClassVar.
    HORIZONTAL_BREAKPOINTS = [(0, "-slim"), (60, "-narrow"), (110, "-wide"), (150, "-broad")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-tiny"), (16, "-short"), (22, "-low"), (32, "-high")]  # noqa: RUF012
    AUTO_FOCUS = "EntryLine"

    saving: reactive[bool] = reactive(False, repaint=False)  # it draws the title, not the whole screen

    def __init__(self, desk: Desk, *, prober: Prober | None = None) -> None:
        super().__init__()
        self.desk = desk
        self._prober = prober
        self._copy_state: CopyState | None = None
        self._countdown: Timer | None = None
        self._titled: Content | None = None
        self.writer = Writer()

    def compose(self) -> ComposeResult:
        yield Static(id="walk-title", markup=False)
        with Horizontal(id="walk-top"):
            yield PointCard(self.desk.previous, self.desk.history.in_doubt)
            yield Counters()
        yield ComingPoint()
        yield Progress()
        with Horizontal(id="walk-middle"):
            yield LastReadings()
            yield ComingList()
            yield SectionList()
        yield Alerts()
        if self._prober is not None:
            yield CoachStrip(id="prober")
        yield Static(id="result", markup=False)
        yield WayLine()
        yield EntryLine([key for action in actions_of("walk") for key in action.keys])
        yield Static(id="read-back", markup=False)
        yield KeyBar("walk")

    def on_mount(self) -> None:
        self.redraw()
        self.count_down()
        if self.desk.copying is not None:
            self.look_at_copy()
            self.set_interval(COPY_LOOK_S, self.look_at_copy)
        if self.desk.recovered:
            self.say(shown(self.desk.recovered), "warning")

    def on_unmount(self) -> None:
        self.writer.close()
        self.desk.leave()

    @property
    def entry(self) -> EntryLine:
        return self.query_one(EntryLine)

    @property
    def takes_keys(self) -> bool:
        return not self.entry.is_busy

    # --- drawing --------------------------------------------------------------------------

    def redraw(self) -> None:
        """Hand the survey as it stands to every part."""
        survey = self.desk.survey
        for view in self.query(SurveyView):
            view.survey = survey
        self.set_class(self.query_one(WayLine).display, "-led")
        self.query_one(Counters).survey = survey
        self.entry.unit = keyed_unit(survey.here) if survey.here is not None else ""
        self.entry.is_signed = survey.here is not None and survey.here.current_ma is not None
        if self._prober is not None:
            said = self._prober.calls(survey)
            self.query_one("#prober", CoachStrip).say(said)
            self.set_class(bool(said), "-prompted")
        self._draw_title()

    def count_down(self) -> None:
        """Look at the clock every second from here on, if the meter in use switches itself off."""
        if self.desk.survey.instrument.auto_off_s and self._countdown is None:
            self._countdown = self.set_interval(1, self.look_at_clock)

    def look_at_clock(self) -> None:
        """Count down quietly to the meter switching itself off, while nothing is being keyed."""
        if not self.entry.text:
            words = sleep_in_words(self.desk.seconds_to_sleep)
            self.query_one("#read-back", Static).update(Content(f" {words}"), layout=False)

    def look_at_copy(self) -> None:
        """Say how the second copy stands, wherever that has changed."""
        state = self.desk.copying.state if self.desk.copying is not None else None
        if state != self._copy_state:
            self._copy_state = state
            self.query_one(Alerts).beside = (state.trouble,) if state is not None and state.trouble else ()
            self._draw_title()

    def _look_saving(self) -> None:
        self.saving = True

    def watch_saving(self) -> None:
        if self.is_mounted:
            self._draw_title()

    def _draw_title(self) -> None:
        survey = self.desk.survey
        said = []
        if self.saving:
            said.append("SAVING")
        if self.desk.is_failed:
            said.append("CANNOT SAVE")
        if self._copy_state is not None:
            said.append(copy_in_words(self._copy_state))
        if survey.paused:
            said.append("PAUSED")
        if survey.position.second_pass and survey.here is not None:
            said.append("SECOND PASS: open and skipped points")
        if self.desk.session.practice:
            said.append("PRACTICE")
        recorder = shown(f"{self.desk.crew.recorder} records").truncate(RECORDER_CELLS, ellipsis=True)
        room_left = self.size.width - sum(len(words) + 2 for words in said) - recorder.cell_length
        told = [*map(Content, said), *([recorder] if room_left > ROUTE_CELLS else [])]
        right = Content("  ").join(told).stylize("bold")
        route = self.desk.session.route
        room = max(1, self.size.width - 4 - right.cell_length)
        left = (shown(route.title) + Content("  ") + shown(route.asset)).truncate(
            room, ellipsis=True, pad=True
        )
        title = Content(" ") + left + Content("  ") + right
        if self._titled is None or not title.is_same(self._titled):  # after most readings it is the same
            self._titled = title
            self.query_one("#walk-title", Static).update(title, layout=False)

    def on_resize(self) -> None:
        self._draw_title()

    def say(self, words: Content, tone: str = "") -> None:
        """Put the outcome of the last action on the result line. ``tone``: good, bad, warning or none."""
        line = self.query_one("#result", Static)
        line.set_classes([tone] if tone else [])
        is_one = words.cell_length < line.size.width and line.size.height == 1
        line.update(Content(" ") + words, layout=not is_one)

    def say_trouble(self, error: FieldtuiError) -> None:
        """Say what went wrong and what to do; an event that did not reach the disk in capitals."""
        what = error.what
        if isinstance(error, NotSavedError) and not what.startswith("NOT SAVED"):
            what = f"NOT SAVED: {what}"
        parts = [shown(what.rstrip("."), "bold"), shown(error.remedy)]
        self.say(Content(": ").join([part for part in parts if part.plain]), "bad")
        self.ring(RINGS_STOP)

    def ring(self, times: int) -> None:
        """Ring the bell: once for a pass, twice for a fail, three times for a stopped line."""
        self.app.bell()
        for ring in range(1, times):
            self.set_timer(ring * RING_GAP_S, self.app.bell)

    # --- asking and writing ---------------------------------------------------------------

    async def ask(self, dialog: Dialog[T]) -> T | None:
        """Show a dialog and wait for its answer, None where it was left. Call it from a worker."""
        coach = self._prober if isinstance(self._prober, Coaching) else None
        asked = type(dialog).__name__
        if coach is not None and (said := coach.calls_over(self.desk.survey, asked)):
            dialog.above = partial(CoachStrip.over, said)
        answer = await self.app.push_screen_wait(dialog)
        self.entry.follows_pick(dialog.picked, dialog.keyed_at)
        if coach is not None and answer is not None:
            coach.answered(asked)
        return answer

    async def write(self, deed: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Do something that ends on the disk, and draw what it led to.

        Raises:
            FieldtuiError: it was refused or not saved; nothing has changed.
        """
        until_seen = asyncio.get_running_loop().call_later(BLINK_S, self._look_saving)
        try:
            return await self.writer.do(deed, *args, **kwargs)
        finally:
            until_seen.cancel()
            self.saving = False
            if self.is_mounted:
                self.redraw()
