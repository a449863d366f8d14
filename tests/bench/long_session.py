"""A survey far longer than any crew's: a route of many points, read round after round."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from random import Random

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, Limit, Point, Route, Section
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.files.trail.rows import HEADER, format_row
from tests.crash.model import FIRST_LINK, START, started

MAXIMUM = Decimal("8.00")
INSTRUMENT = Instrument("meter", "Invented meter")


def route_of(points: int) -> Route:
    """A route of so many points, all with the same limit."""
    limit = Limit(maximum=Resistance(MAXIMUM, Unit.MOHM), upper=Comparator.AT_MOST)
    return Route(
        name="long",
        title="A long route",
        asset="amphibious twin ZX-41",
        revision="A",
        source="invented for the bench",
        unit=Unit.MOHM,
        check_every=10,
        sections=(Section("S", "Section"),),
        points=tuple(
            Point(id=f"S-{n:05}", section="S", title=f"Bond {n}", unit=Unit.MOHM, limit=limit)
            for n in range(1, points + 1)
        ),
    )


def events_of(route: Route, count: int) -> Iterator[ev.Event]:
    """So many events along the route: one reading in twenty has a note, every tenth a number check."""
    chance = Random(1)
    yield started()
    yield ev.RunStarted(time=START, by="rec", run=1, number=1)
    row, record = 3, 0
    while True:
        for point in route.points:
            record += 1
            value = Decimal(chance.randrange(10, 1000)).scaleb(-2)
            due = [
                ev.ReadingTaken(
                    time=START + timedelta(milliseconds=record * 7),
                    by="rec",
                    record=record,
                    point=point.id,
                    reading=Resistance(value, Unit.MOHM),
                    verdict=Verdict.PASS if value <= MAXIMUM else Verdict.FAIL,
                    run=1,
                    number=record,
                    note="cap off, cleaned" if record % 20 == 0 else "",
                ),
                *_number_check(record),
            ]
            for event in due:
                if row > count:
                    return
                yield event
                row += 1


def _number_check(record: int) -> list[ev.Event]:
    if record % 10:
        return []
    time = START + timedelta(milliseconds=record * 7)
    return [
        ev.NumberChecked(time=time, by="rec", run=1, number=record, verdict=ev.Agreement.AGREE, ref=record)
    ]


def trail_of(events: Iterator[ev.Event]) -> bytes:
    """The trail that holds these events."""
    lines, link = [HEADER], FIRST_LINK
    for row, event in enumerate(events, 1):
        line, link = format_row(row, event, link)
        lines.append(line)
    return b"".join(lines)
