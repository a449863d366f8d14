"""Brief: cautions, crew, meter, and what must be good before the walk begins."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Input, Static

from fieldtui.core.plan.route import Route
from fieldtui.core.plan.tables import Tables
from fieldtui.core.survey.brief import CAUTIONS, Brief, findings
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.leave_brief import LeaveBriefDialog
from fieldtui.ui.held_keys import KeyedPage, Pressed
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.brief_answers import Understood, understand
from fieldtui.ui.widgets.brief_begin import BeginLine
from fieldtui.ui.widgets.brief_cautions import CautionsBox
from fieldtui.ui.widgets.brief_choice import ChoiceLine
from fieldtui.ui.widgets.brief_form import METER, OF_THE_METER, BriefForm
from fieldtui.ui.widgets.brief_state import BriefState
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.text_line import TextLine

_CHOOSE = "choose it; what this meter needs is asked then"
_CONFIRMS = frozenset({"enter", "space", "pagedown", "f3", "f5", "ctrl+s"})


class BriefScreen(Screen[None], KeyedPage):
    """A form that is understood anew at every key, so that what blocks the walk is always true."""

    CSS_PATH = "../styles/brief.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("brief")]
    AUTO_FOCUS = "#brief-cautions, Field TextLine"

    class Briefed(Message):
        """The crew is briefed and nothing blocks the walk."""

        def __init__(self, brief: Brief) -> None:
            super().__init__()
            self.brief = brief

    class Left(Message):
        """The brief was left; nothing was begun."""

    def __init__(self, route: Route, tables: Tables, today: date, *, suggested: Brief | None = None) -> None:
        super().__init__()
        self._route = route
        self._today = today
        self._cautions_read = not tables.cautions  # where there are none there is nothing to read
        self._tables = tables
        self._suggested = suggested
        self._offered: tuple[object, ...] = ()  # the answers before anything was keyed

    def compose(self) -> ComposeResult:
        title = "   ".join(part for part in ("Brief", self._route.title, self._route.asset) if part)
        yield Static(shown(title, "bold"), id="brief-title", markup=False)
        yield BriefForm(self._route, self._tables, self._today, self._suggested)
        yield BriefState()
        yield KeyBar("brief")

    def on_mount(self) -> None:
        self._form.follow_meter()
        self._offered = self._form.answers
        self._look()

    @property
    def _form(self) -> BriefForm:
        return self.query_one(BriefForm)

    def wants_seen(self, event: Pressed) -> bool:
        """What says that something was read, or begins the walk."""
        return isinstance(event, events.Key) and event.key in _CONFIRMS

    # --- how the brief stands -------------------------------------------------------------

    def _understood(self) -> Understood:
        return understand(self._form.keyed(cautions_read=self._cautions_read))

    def _stops(self, understood: Understood) -> dict[str, str]:
        """Everything that keeps the walk from beginning, in the order of the form."""
        stops = understood.stops(self._today, self._route)
        if self._form.meter is None:  # what it is asked for cannot be known yet, all else can
            stops = {name: why for name, why in stops.items() if name not in OF_THE_METER}
            known = self._form.has_meters
            stops[METER] = _CHOOSE if known else "none is known; add it to shared/instruments.toml"
        return {name: stops[name] for name in (CAUTIONS, *self._form.fields) if name in stops}

    def _look(self) -> None:
        """Say of every answer, and of the brief as a whole, how it stands."""
        understood = self._understood()
        found = findings(understood.brief, self._today, self._route)
        if self._form.meter is None:
            found = {name: why for name, why in found.items() if name not in OF_THE_METER}
        self._form.say(understood.brief, found, understood.mistakes)
        stops = self._stops(understood)
        self.query_one(BriefState).show(stops, understood.brief.overrides)
        self.query_one(BeginLine).is_blocked = bool(stops)

    # --- answers --------------------------------------------------------------------------

    @on(Input.Changed)
    def _text_changed(self, event: Input.Changed) -> None:
        event.stop()
        self._look()

    @on(Input.Submitted)
    def _text_entered(self, event: Input.Submitted) -> None:
        event.stop()
        for field in self._form.fields.values():
            if event.input is field.reason:
                field.write_out_reason()
        self.focus_next()

    @on(BeginLine.Begun)
    def _begun(self, event: BeginLine.Begun) -> None:
        event.stop()
        self.action_begin()

    @on(ChoiceLine.Chosen)
    def _choice_made(self, event: ChoiceLine.Chosen) -> None:
        event.stop()
        if event.choice is self._form.fields[METER].answer:
            self._form.follow_meter()
        self._look()

    @on(TextLine.PasteRefused)
    def _paste_refused(self, event: TextLine.PasteRefused) -> None:
        event.stop()
        for field in self._form.fields.values():
            if self.focused in (field.answer, field.reason):
                field.say(f"not pasted: {event.why}", is_bad=True)

    @on(CautionsBox.Read)
    def _cautions_were_read(self) -> None:
        self.action_read()
        self.focus_next()

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if event.key in ("up", "down"):
            event.stop()
            event.prevent_default()
            (self.focus_next if event.key == "down" else self.focus_previous)()

    def action_read(self) -> None:
        self._cautions_read = True
        for box in self.query(CautionsBox):
            box.say_read(True)
        self._look()

    def action_begin(self) -> None:
        understood = self._understood()
        stops = self._stops(understood)
        if not stops:
            self.post_message(self.Briefed(understood.brief))
            return
        self.app.bell()
        first = next(iter(stops))
        if first == CAUTIONS:
            self.query_one(CautionsBox).focus()
        else:
            self._form.fields[first].focus_answer()

    def action_help(self) -> None:
        self.app.push_screen(HelpDialog("brief"))

    def action_leave(self) -> None:
        """Leave; where something was keyed, once it is said that nothing of it is kept."""
        if self._form.answers == self._offered:
            self.post_message(self.Left())
        else:
            self.app.push_screen(LeaveBriefDialog(), self._leave_if)

    def _leave_if(self, is_left: bool | None) -> None:
        if is_left:
            self.post_message(self.Left())

    # The lines themselves take these keys first; see also the palette.

    def action_next_line(self) -> None:
        self.focus_next()

    def action_choose(self) -> None:
        if isinstance(self.focused, ChoiceLine):
            self.focused.step(1)

    def action_move(self) -> None:
        self.focus_next()
