"""Folders full of simulated sessions: redos, voids, corrections, rework, moved readings. All invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.session import Crew, Session
from fieldtui.core.plan.tables import Caution, Instrument, Reasons
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.files.route.file import RouteFile, load_route
from fieldtui.files.session.file import freeze_session
from fieldtui.files.trail.rows import HEADER, format_row

METER = Instrument(id="meter", title="Small bond meter", serial="0417", memory_size=2000)
ACCURATE = replace(
    METER,
    id="fine",
    accuracy=Accuracy(Decimal("0.5"), Resistance(Decimal("0.01"), Unit.MOHM), None, Decimal(2)),
)
CAUTIONS = (Caution("first", "What comes first", "Local codes and the approved data decide."),)
_HEAD = """format = 1
title = "{title}"
asset = "{asset}"
unit = "mohm"

[[sections]]
id = "S1"
title = "One"

[[sections]]
id = "S2"
title = "Two"
"""
_POINT = """
[[points]]
id = "{id}"
section = "{section}"
title = "Jumper {id}"
a = "bracket"
b = "spar"
limit = {{ max = 2.5, cmp = "<=" }}
retest = {{ max = 2.0 }}
{more}
"""


def route_file(name: str, asset: str, points: int, *, repeated: bool = False, top: str = "") -> RouteFile:
    """A route of ``points`` points in two sections; with ``repeated`` the first takes two readings."""
    text = f"{top}\n{_HEAD.format(title=f'Bonds of {name}', asset=asset)}"
    for number in range(1, points + 1):
        section = "S1" if number <= points // 2 else "S2"
        # an id may begin like a formula, and carries an apostrophe in the files then
        point = f"-P{number:02d}" if number == 2 else f"P{number:02d}"
        more = 'repeats = 2\nrule = "mean"' if repeated and number == 1 else ""
        text += _POINT.format(id=point, section=section, more=more)
    return load_route(text.encode(), f"{name}.toml", name, {})


@dataclass(frozen=True, slots=True)
class Chances:
    """How often something other than the next reading happens, per reading."""

    redo: float = 0.06
    void: float = 0.06
    amend: float = 0.06
    skip: float = 0.04
    attempt: float = 0.03
    rework: float = 0.05
    waive: float = 0.02
    jump: float = 0.03
    reopen: float = 0.01
    moved: float = 0.0  # shifts, mirrored sections, corrections of the point
    insert: float = 0.0


CALM = Chances(0.01, 0.01, 0.01, 0.01, 0.01, 0.005, 0.0, 0.005, 0.0)


class Walk:
    """One simulated survey, told event by event; what is said is what the survey would say."""

    def __init__(self, route: RouteFile, meter: Instrument, start: datetime, chance: Random) -> None:
        self.chance = chance
        self.time = start
        self.events: list[ev.Event] = []
        self.survey: Survey = fold(route.route, meter)

    def tell(self, kind: type[ev.Event], **fields: Any) -> None:
        self.time += timedelta(seconds=self.chance.randint(5, 40))
        event = kind(time=self.time, by="Rec", **fields)
        after = self.survey.after(event)
        if isinstance(event, ev.Amended) and event.reading is not None:
            event = replace(event, verdict=after.records[event.ref].verdict)
            after = self.survey.after(event)
        self.events.append(event)
        self.survey = after

    def read(self, point: str, ohms: float) -> None:
        reading = Resistance(Decimal(f"{max(ohms, 0.01):.2f}"), Unit.MOHM)
        if self.chance.random() < 0.2:  # the same in another unit, digits as a meter would show them
            reading = Resistance((reading.value * 1000).quantize(Decimal(1)), Unit.UOHM)
        run = self.survey.run
        self.tell(
            ev.ReadingTaken,
            record=self.survey.next_record,
            point=point,
            reading=reading,
            verdict=self.survey.would_say(point, reading),
            run=run.run if run else None,
            number=self.survey.next_number,
        )

    def some_record(self) -> int | None:
        valid = [record.record for record in self.survey.records.values() if record.is_valid]
        return self.chance.choice(valid) if valid else None


def walk_route(
    route: RouteFile, meter: Instrument, start: datetime, chance: Random, odds: Chances, drift: float
) -> Walk:
    """A whole survey; point values are log-normal about a level that grows with ``drift``."""
    walk = Walk(route, meter, start, chance)
    walk.tell(ev.Started, ref="0" * 64)
    walk.tell(ev.RunStarted, run=1, number=1)
    for number, point in enumerate(route.route.points):
        level = (1.0 + 0.1 * (number % 9)) * (1 + drift * (number % 3)) * chance.lognormvariate(0, 0.05)
        for _ in range(point.repeats):
            walk.read(point.id, level)
        _disturb(walk, point.id, level, odds)
    walk.tell(ev.Closed)
    if chance.random() < odds.reopen * 10:
        walk.tell(ev.Reopened, ref="0" * 32, reason="retest")
        walk.read(route.route.points[0].id, 1.1)
    return walk


def _disturb(walk: Walk, point: str, level: float, odds: Chances) -> None:
    chance = walk.chance

    def happens(rate: float) -> bool:
        return chance.random() < rate

    if happens(odds.redo):
        walk.tell(ev.RedoAsked, point=point, reason="tips slipped", ref=None)
        walk.read(point, level * 1.02)
    if happens(odds.void) and (record := walk.some_record()):
        walk.tell(ev.Voided, ref=record, point=walk.survey.records[record].point, reason="wrong clip")
        if happens(0.5):
            walk.read(point, level * 0.98)
    for _ in range(2 if happens(odds.amend) else 0):  # corrected twice: the last correction counts
        if record := walk.some_record():
            reading = Resistance(Decimal(f"{level * 1.1:.2f}"), Unit.MOHM)
            walk.tell(ev.Amended, ref=record, reading=reading, verdict=Verdict.PASS, reason="digits swapped")
    if happens(odds.rework):
        walk.tell(ev.Reworked, point=point, reason="cleaned", ref="D-1")
        if happens(0.8):
            walk.read(point, level * 0.7)
    if happens(odds.skip):
        walk.tell(ev.Skipped, point=point, reason="paint")
    if happens(odds.attempt):
        walk.tell(ev.AttemptFailed, point=point, reason=chance.choice(["unstable", "not accessible"]))
    if happens(odds.waive):
        walk.tell(ev.Waived, point=point, reason="chief engineer", ref="D-7")
    if happens(odds.jump):
        walk.tell(ev.HandedOver, ref="Prober two", reason="shift change")
        walk.tell(ev.Jumped, point=chance.choice(list(walk.survey.points)))
        walk.tell(ev.Noted, note='said: "=1+1", twice')
    _move(walk, odds)


def _move(walk: Walk, odds: Chances) -> None:
    chance = walk.chance
    record = walk.some_record()
    if record is None:
        return
    if chance.random() < odds.moved:
        kind = chance.choice([ev.ReadingsShifted, ev.SectionMirrored, ev.Amended])
        other = chance.choice(walk.survey.order.ids)
        if kind is ev.Amended:
            walk.tell(ev.Amended, ref=record, point=other, reason="wrong point")
        else:
            last = max(walk.survey.records)
            walk.tell(kind, ref=record, record=last, point=other, reason="out of step")
    if chance.random() < odds.insert:
        walk.tell(ev.MeterTaken, ref="fine", reason="flat battery", definition=format_meter(ACCURATE))
    if chance.random() < odds.insert:
        name = f"X{len(walk.survey.points):02d}"
        definition = '{"title": "Spare strap", "unit": "mohm", "limit": "<= 3 mohm"}'
        walk.tell(ev.PointInserted, point=name, ref="", reason="found", definition=definition)
        walk.read(name, 1.2)


def write_session(
    folder: Path, route: RouteFile, walk: Walk, meter: Instrument, start: datetime, **facts: Any
) -> Path:
    """The files of a walk, as the program writes them but for the waiting; the session's folder."""
    name = facts.pop("name")
    session = Session(
        id=name,
        program="fieldtui 0.1.0",
        started=start,
        job=facts.pop("job", "JC-1"),
        crew=Crew("Ben", "Ana"),
        instrument=meter,
        route=route.route,
        reasons=Reasons({"skip": ("paint",)}),
        cautions=facts.pop("cautions", CAUTIONS),
        first_link=sha256(name.encode()).hexdigest()[:32],
        **facts,
    )
    data, _ = freeze_session(session, route.raw, {})
    rows, link = [HEADER], session.first_link
    digest = sha256(data).hexdigest()
    for row, event in enumerate(walk.events, 1):
        told = event
        if isinstance(event, ev.Started | ev.Reopened):  # what they speak of is known here only
            told = replace(event, ref=digest if isinstance(event, ev.Started) else link)
        line, link = format_row(row, told, link)
        rows.append(line)
    folder.mkdir(parents=True)
    (folder / "session.toml").write_bytes(data)
    (folder / "trail.csv").write_bytes(b"".join(rows))
    return folder


def make_fleet(
    root: Path,
    seed: int,
    *,
    assets: int = 3,
    surveys: int = 4,
    points: int = 8,
    odds: Chances = Chances(),
    meters: Sequence[Instrument] = (METER, ACCURATE),
    is_repeated: bool = False,
    first: int = 0,
) -> list[Path]:
    """``assets`` times ``surveys`` sessions below ``root``, one a quarter, each asset with its own route."""
    chance = Random(seed)
    folders = []
    for asset in range(first, first + assets):
        route = route_file(f"route-{asset}", f"aircraft {asset}", points, repeated=is_repeated and asset == 0)
        meter = meters[asset % len(meters)]
        drift = chance.choice([0.0, 0.05, 0.1])
        for survey in range(surveys):
            start = datetime(2020, 1, 5, 8, tzinfo=UTC) + timedelta(days=91 * survey + asset)
            walk = walk_route(route, meter, start, chance, odds, drift * survey)
            name = f"{start.date().isoformat()}_aircraft-{asset}_route-{asset}_01"
            folders.append(
                write_session(root / name, route, walk, meter, start, name=name, ambient_c=Decimal(18))
            )
    return folders
