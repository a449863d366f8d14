"""The questions of the brief, and what was keyed in answer to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.resolving import coarse_words
from fieldtui.core.plan.route import Route
from fieldtui.core.plan.tables import Instrument, Tables
from fieldtui.core.survey.brief import (
    BATTERY,
    CALIBRATION,
    DECISION,
    ROUTE_ITEMS,
    STANDARD,
    TEMPERATURE,
    TIPS,
    Brief,
)
from fieldtui.report.identity import describe_calibration
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets import brief_answers as ask
from fieldtui.ui.widgets.brief_answers import Keyed
from fieldtui.ui.widgets.brief_begin import BeginLine
from fieldtui.ui.widgets.brief_cautions import CautionsBox
from fieldtui.ui.widgets.brief_choice import ChoiceLine
from fieldtui.ui.widgets.brief_field import Field
from fieldtui.ui.widgets.text_line import TextLine

METER = "meter"
NO_METER = Instrument(id="", title="")  # stands in until one is chosen
OF_THE_METER = frozenset({CALIBRATION, ask.NUMBER, STANDARD, DECISION})  # nothing is asked of these before
_SAID_OF_THE_METER = OF_THE_METER | {BATTERY}  # what was answered of one meter says nothing of another
_OVERRIDABLE = (CALIBRATION, STANDARD, BATTERY, TIPS, *ROUTE_ITEMS)


class BriefForm(VerticalScroll, can_focus=False):
    """A field a question; those a meter does not need are out of sight while it is chosen."""

    def __init__(self, route: Route, tables: Tables, today: date, suggested: Brief | None) -> None:
        super().__init__(id="brief-form")
        self._route = route
        self._cautions = tables.cautions
        self._today = today
        self._suggested = suggested
        self._meters = _meters(tables, suggested)
        self._reasons = tables.reasons.of("override")
        self._answered_of: Instrument | None = None  # the meter that the answers on the form are of
        self._put_away: dict[str, dict[str, tuple[str | int | None, str]]] = {}  # by meter, then field
        self.fields: Mapping[str, Field] = {field.field: field for field in self._questions()}

    def compose(self) -> ComposeResult:
        if self._cautions:
            yield CautionsBox(self._cautions)
        yield from self.fields.values()
        yield BeginLine()

    def _questions(self) -> Iterator[Field]:
        was, why = self._suggested, self._reasons
        yield Field(ask.PROBER, "Prober", TextLine(was.crew.prober if was else ""))
        yield Field(ask.RECORDER, "Recorder", TextLine(was.crew.recorder if was else ""))
        yield Field(ask.JOB, "Job reference", TextLine(was.job if was else ""))
        yield Field("asset", "Asset", _fact(self._route.asset or "not named in the route"))
        yield Field(METER, "Meter", self._meter_answer())
        yield Field(CALIBRATION, "Calibration", _fact(""), can_override=True, reasons=why)
        number = was.next_number if was else None
        yield Field(ask.NUMBER, "Next memory number", TextLine("" if number is None else str(number)))
        standard = was.standard if was else None
        line = TextLine(_keyed_as(standard), is_value=True)
        yield Field(STANDARD, "Check standard", line, can_override=True, reasons=why)
        battery = ChoiceLine(["good", "weak"], chosen=_place(was.battery_good if was else None))
        yield Field(BATTERY, "Battery", battery, can_override=True, reasons=why)
        tips = ChoiceLine(["good", "worn or dirty"], chosen=_place(was.tips_good if was else None))
        yield Field(TIPS, "Probe tips", tips, can_override=True, reasons=why)
        yield Field(
            DECISION, "Decision rule", _fact("asked for by the route"), can_override=True, reasons=why
        )
        yield Field(
            TEMPERATURE, "Temperature", _fact("correction to 20 °C asked for"), can_override=True, reasons=why
        )
        ambient = was.ambient_c if was else None
        yield Field(
            ask.AMBIENT, "Ambient, °C", TextLine("" if ambient is None else str(ambient), is_value=True)
        )
        if self._route.wants_temperature:
            warm = was.conductor_c if was else None
            line = TextLine("" if warm is None else str(warm), is_value=True)
            yield Field(ask.CONDUCTOR, "Conductor, °C", line)

    def _meter_answer(self) -> ChoiceLine | Static:
        if not self._meters:
            return _fact("none in shared/instruments.toml: add it there first")
        chosen = 0 if len(self._meters) == 1 else None  # one among several is the crew's to name
        if self._suggested is not None:
            chosen = [meter.id for meter in self._meters].index(self._suggested.instrument.id)
        return ChoiceLine([_meter_title(meter) for meter in self._meters], chosen=chosen, is_list=True)

    # --- what was keyed -------------------------------------------------------------------

    @property
    def has_meters(self) -> bool:
        return bool(self._meters)

    @property
    def meter(self) -> Instrument | None:
        """The meter chosen; None where none is, or none is known."""
        answer = self.fields[METER].answer
        chosen = answer.chosen if isinstance(answer, ChoiceLine) else None
        return self._meters[chosen] if chosen is not None else None

    def keyed(self, *, cautions_read: bool) -> Keyed:
        """The answers as they stand; while no meter is chosen, of one that asks nothing."""
        meter = self.meter or NO_METER
        answers = {name: field.answer for name, field in self.fields.items()}
        return Keyed(
            instrument=meter,
            texts={name: answer.value for name, answer in answers.items() if isinstance(answer, TextLine)},
            battery_good=self._is_good(BATTERY),
            tips_good=self._is_good(TIPS),
            cautions_read=cautions_read,
            overrides={item: self.fields[item].override for item in _OVERRIDABLE},
        )

    def _is_good(self, item: str) -> bool | None:
        answer = self.fields[item].answer
        assert isinstance(answer, ChoiceLine)
        return None if answer.chosen is None else answer.chosen == 0

    @property
    def answers(self) -> tuple[object, ...]:
        """Every answer and reason as it stands, to tell whether anything was keyed."""
        parts = [part for field in self.fields.values() for part in (field.answer, field.reason)]
        return tuple(
            part.value if isinstance(part, TextLine) else part.chosen
            for part in parts
            if isinstance(part, TextLine | ChoiceLine)
        )

    # --- what is shown --------------------------------------------------------------------

    def follow_meter(self) -> None:
        """Ask what this meter needs, in its own unit; nothing while none is chosen.

        What was keyed of another meter is out of the way until that one is chosen again.
        """
        meter = self.meter
        if meter is None:
            for name in OF_THE_METER:
                self.fields[name].display = False
            return
        self._change_answers(meter)
        self.fields[CALIBRATION].display = True
        calibration = self.fields[CALIBRATION].answer
        assert isinstance(calibration, Static)
        calibration.update(shown(describe_calibration(meter, self._today), "bold"))
        self.fields[ask.NUMBER].display = bool(meter.memory_size)
        standard = meter.check_standard
        self.fields[STANDARD].display = standard is not None
        if standard is not None:
            self.fields[STANDARD].relabel(f"Check standard, {standard.value.unit.symbol}")

    def _change_answers(self, meter: Instrument) -> None:
        """Put away what was said of the meter before; give back what was said of this one."""
        before, self._answered_of = self._answered_of, meter
        if before is None or before.id == meter.id:
            return
        self._put_away[before.id] = {name: self.fields[name].kept for name in _SAID_OF_THE_METER}
        kept = self._put_away.get(meter.id, {})
        for name in _SAID_OF_THE_METER:
            self.fields[name].give_back(kept.get(name, (None, "")))

    def say(self, brief: Brief, found: Mapping[str, str], mistakes: Mapping[str, str]) -> None:
        """Say under every answer how it stands, and ask for a reason where one lets the walk begin."""
        for name, field in self.fields.items():
            bad = mistakes.get(name, "") or found.get(name, "")
            if name == STANDARD and name in found and brief.standard is not None and name not in mistakes:
                bad += ". Gone on with all the same, its readings are IN DOUBT until a good check"
            # What is only missing stands in the list of blocks, not under each empty line.
            if name == METER and not bad and (coarse := coarse_words(self._route.points, brief.instrument)):
                field.say(coarse, is_bad=True)  # it does not block: the crew may have no other
            elif bad and (name not in mistakes or field.is_keyed):
                field.say(bad, is_bad=True)
            else:
                field.say(_good_word(name, brief))
            field.offer_override(name in found and name not in mistakes)
            if name in ROUTE_ITEMS:  # asked about only where the route asks for what is not there
                field.display = name in found


def _good_word(name: str, brief: Brief) -> str:
    standard = brief.instrument.check_standard
    if name == STANDARD and standard is not None and brief.standard is not None:
        return f"WITHIN {standard.tolerance} of {standard.value}"
    return ""


def _meters(tables: Tables, suggested: Brief | None) -> list[Instrument]:
    """The meters to choose from, the suggested one among them."""
    meters = dict(tables.instruments)
    if suggested is not None:
        meters.setdefault(suggested.instrument.id, suggested.instrument)
    return list(meters.values())


def _meter_title(meter: Instrument) -> str:
    return f"{meter.title}, serial {meter.serial}" if meter.serial else meter.title


def _fact(text: str) -> Static:
    return Static(shown(text, "bold"), classes="field-fact", markup=False)


def _keyed_as(reading: Resistance | None) -> str:
    """A reading as it would be keyed, in its own unit whatever the meter's is."""
    return "" if reading is None else f"{reading.digits} {reading.unit.value}"


def _place(is_good: bool | None) -> int | None:
    """Where an answer stands among good and bad."""
    return None if is_good is None else int(not is_good)
