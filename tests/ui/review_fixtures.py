"""Small surveys for the tests of reports and of the start, brief and review screens.

All invented: an island rescue service and its amphibious twin.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from textual.app import App
from textual.message import Message
from textual.pilot import Pilot
from textual.screen import Screen

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.route import Comparator, CriterionStatus, Limit, Point, Route, Section
from fieldtui.core.plan.session import Crew, Session
from fieldtui.core.plan.tables import Caution, CheckStandard, Instrument, Reasons, Tables
from fieldtui.core.survey.survey import fold
from fieldtui.core.trail import events as ev
from fieldtui.core.trail.chain import seal_groups
from fieldtui.desk.reading import ReadSession
from fieldtui.errors import Problem
from fieldtui.ui.themes import LIGHTS

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
TODAY = START.date()


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


# Comparator as published in FAA AC 43.13-1B 11-188f; the other figure is the crew's own.
FRAME = Limit(
    maximum=mohm("2.5"),
    upper=Comparator.LESS,
    criterion="equipment-frame",
    source="FAA AC 43.13-1B",
    status=CriterionStatus.QUOTED,
)
OWN = Limit(maximum=mohm("3.0"))
FROM_MEMORY = Limit(maximum=mohm("10"), criterion="enclosure", status=CriterionStatus.UNVERIFIED)

POINTS = (
    Point(id="SW-01", section="SW", title="Flap jumper", unit=Unit.MOHM, limit=FRAME, a="track", b="spar"),
    Point(id="SW-02", section="SW", title="Tank vent", unit=Unit.MOHM, limit=OWN, where="zone 620"),
    Point(id="HU-01", section="HU", title="Hull plate", unit=Unit.MOHM, limit=FROM_MEMORY),
    Point(id="HU-02", section="HU", title="Bilge pump", unit=Unit.OHM, limit=Limit(record_only=True)),
)

METER = Instrument(
    id="small-meter",
    title="Small bond meter",
    serial="0417",
    memory_size=128,
    calibration_due=date(2027, 1, 31),
    check_standard=CheckStandard(mohm("2.500"), mohm("0.050"), "resistor in the lid"),
)
PLAIN_METER = Instrument(id="plain", title="Meter without a memory", calibration_due=date(2026, 1, 31))

CAUTIONS = (
    Caution("first", "What comes first", "Local codes and the approved maintenance data decide."),
    Caution("static", "Static first", "Discharge static from yourself before the probes touch."),
)


def route_of(*points: Point, **changes: Any) -> Route:
    facts: dict[str, Any] = {
        "name": "twin-wing",
        "title": "Starboard wing bonds",
        "asset": "amphibious twin ZX-41",
        "revision": "B",
        "source": "invented",
        "unit": Unit.MOHM,
        "check_every": 0,
        "sections": (Section("SW", "Starboard wing"), Section("HU", "Hull")),
        "points": points or POINTS,
    }
    return Route(**{**facts, **changes})


def tables_of(*instruments: Instrument, cautions: tuple[Caution, ...] = CAUTIONS) -> Tables:
    meters = instruments or (METER, PLAIN_METER)
    return Tables({}, {meter.id: meter for meter in meters}, Reasons({}), cautions)


class Story:
    """A trail told event by event, a minute apart, each said as the survey would say it."""

    def __init__(self, route: Route | None = None, instrument: Instrument = METER, by: str = "Ana") -> None:
        self.route = route or route_of()
        self.instrument = instrument
        self.by = by
        self.time = START
        self.events: list[ev.Event] = []
        self.tell(ev.Started, ref="0" * 64)

    def tell(self, kind: type[ev.Event], *, after_min: float = 1, **fields: Any) -> Story:
        """One event more, ``after_min`` minutes after the one before."""
        self.time += timedelta(minutes=after_min)
        self.events.append(kind(time=self.time, by=self.by, **fields))
        return self

    def brief(self, **overrides: str) -> Story:
        """Every item answered well, or overridden with the reason given."""
        for item in ("cautions read", "calibration", "check standard", "battery", "probe tips"):
            reason = overrides.get(item.replace(" ", "_"), "")
            answer = ev.Answer.OVERRIDE if reason else ev.Answer.GOOD
            note = "calibration lapsed on 2026-01-31" if reason else ""
            self.tell(ev.Briefed, after_min=0, ref=item, verdict=answer, reason=reason, note=note)
        return self

    def read(self, point: str, value: str, *, said: str = "", **fields: Any) -> Story:
        """A reading, filed under the number the survey expects."""
        survey = self.survey()
        reading = parse_resistance(value, survey.points[point].unit)
        verdict = survey.would_say(point, reading)
        run = survey.run
        return self.tell(
            ev.ReadingTaken,
            record=survey.next_record,
            point=point,
            reading=reading,
            verdict=type(verdict)(said) if said else verdict,
            run=run.run if run else None,
            number=survey.next_number,
            **fields,
        )

    def clean(self) -> Story:
        """The whole route read without a fault, checked and closed."""
        self.brief().tell(ev.RunStarted, run=1, number=1)
        self.read("SW-01", "1.38").read("SW-02", "2.10")
        self.read("HU-02", "0.47")
        self.tell(ev.NumberChecked, run=1, number=3, verdict=ev.Agreement.AGREE, ref=3)
        self.tell(ev.Reconciled, run=1, ref="list.csv")
        if self.instrument.check_standard is not None:
            good, read = ev.Answer.GOOD, self.instrument.check_standard.value
            self.tell(ev.StandardRead, reading=read, verdict=good, ref=ev.CheckTime.AFTER)
        return self.signed().tell(ev.Closed)

    def signed(self) -> Story:
        """Signed by two."""
        for role, name, stamp in ((ev.Role.TECHNICIAN, "Ana", "T-12"), (ev.Role.INSPECTOR, "Ivo", "I-07")):
            self.time += timedelta(minutes=1)
            self.events.append(ev.Signed(time=self.time, by=name, ref=role, reason=stamp))
        return self

    def survey(self) -> Any:
        return fold(self.route, self.instrument, self.events)

    def session(
        self,
        *,
        problems: tuple[Problem, ...] = (),
        torn: bytes = b"",
        crew: Crew | None = None,
        cautions: tuple[Caution, ...] = CAUTIONS,
        job: str = "JC-2207",
    ) -> ReadSession:
        """The session as a reader would have it."""
        survey = self.survey()
        facts = Session(
            id="2026-05-04_zx-41_twin-wing_01",
            program="fieldtui 0.1.0",
            started=START,
            job=job,
            crew=crew or Crew("Ben", "Ana"),
            instrument=self.instrument,
            route=self.route,
            reasons=Reasons({}),
            cautions=cautions,
            first_link="0" * 32,
            ambient_c=Decimal("18.5"),
        )
        return ReadSession(
            folder=Path("sessions") / facts.id,
            facts=facts,
            events=tuple(self.events),
            survey=survey,
            seal=seal_groups("0123456789abcdef" * 2),
            rows=len(self.events),
            is_intact=not problems,
            problems=(*problems, *survey.problems),
            torn=torn,
        )


class Probe(App[None]):
    """An app with one screen in it that keeps the messages its screen sends up."""

    def __init__(self, screen: Screen[None]) -> None:
        super().__init__()
        self.first = screen
        self.heard: list[Message] = []
        for light in LIGHTS:
            self.register_theme(light)
        self.theme = LIGHTS[0].name

    def on_mount(self) -> None:
        self.push_screen(self.first)

    def hear(self, message: Message) -> None:
        """Keep a message of the screen itself; hand this to ``run_test`` as its hook."""
        name = type(message).__qualname__
        is_own = name.startswith(type(self.first).__name__) and name != "StartScreen.Listed"
        if is_own and all(message is not each for each in self.heard):
            self.heard.append(message)

    def page(self) -> str:
        """The screen as a person sees it, line by line."""
        lines = self.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in line).rstrip() for line in lines)


@asynccontextmanager
async def shown_screen(screen: Screen[None], size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[None]]:
    """``screen`` in a terminal of ``size``; the app is a :class:`Probe`."""
    app = Probe(screen)
    async with app.run_test(size=size, message_hook=app.hear) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        yield pilot


def page_of(pilot: Pilot[None]) -> str:
    assert isinstance(pilot.app, Probe)
    return pilot.app.page()


def heard_by(pilot: Pilot[None]) -> list[Any]:
    assert isinstance(pilot.app, Probe)
    return pilot.app.heard
