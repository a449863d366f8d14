"""A survey told event by event, as short lines a person can read. No files, no clock but a counting one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.inserted import format_definition
from fieldtui.core.plan.route import Limit, Point, Route, Section
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.standing import Record, Standing
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
METER = Instrument(id="small-meter", title="Small bond meter", memory_size=128)
AT_MOST_2_5 = Limit(maximum=parse_resistance("2.5", Unit.MOHM))


def point(point_id: str, **changes: Any) -> Point:
    """A milliohm point with the limit ``<= 2.5``; its section is the part before the hyphen."""
    facts: dict[str, Any] = {
        "id": point_id,
        "section": point_id.split("-")[0],
        "title": f"bond {point_id}",
        "unit": Unit.MOHM,
        "limit": AT_MOST_2_5,
    }
    return Point(**{**facts, **changes})


def route(*points: Point | str, check_every: int = 0) -> Route:
    """A route of ``points``; a text stands for :func:`point` of that id."""
    made = tuple(point(each) if isinstance(each, str) else each for each in points)
    return Route(
        name="wing",
        title="Starboard wing bonds",
        asset="amphibious twin ZX-41",
        revision="B",
        source="invented for the test",
        unit=Unit.MOHM,
        check_every=check_every,
        sections=tuple(Section(each, each) for each in dict.fromkeys(one.section for one in made)),
        points=made,
    )


class Walk:
    """A survey that grows event by event; ``here`` and ``path`` say where it leads."""

    def __init__(self, *points: Point | str, instrument: Instrument = METER, check_every: int = 0) -> None:
        self.route = route(*points, check_every=check_every)
        self.survey: Survey = fold(self.route, instrument)
        self.events: list[ev.Event] = []

    def tell(self, kind: type[ev.Event], **facts: Any) -> Walk:
        """One event more, ten seconds after the one before where no ``time`` is given."""
        time = START + timedelta(seconds=10 * len(self.events))
        event = kind(**{"time": time, "by": "Ana", **facts})
        self.events.append(event)
        self.survey = self.survey.after(event)
        return self

    # --- what the recorder does, at the point being probed unless another is named ----------

    def read(self, text: str = "1.00", at: str = "", **facts: Any) -> Walk:
        where = at or self.here
        reading = parse_resistance(text, self.survey.points[where].unit)
        run = self.survey.run
        numbered = {"run": run.run, "number": run.next_number} if run is not None else {}
        said = {"verdict": self.survey.would_say(where, reading), "record": self.survey.next_record}
        return self.tell(ev.ReadingTaken, **{**numbered, **said, "point": where, "reading": reading, **facts})

    def skip(self, at: str = "") -> Walk:
        return self.tell(ev.Skipped, point=at or self.here, reason="paint")

    def redo(self, at: str) -> Walk:
        return self.tell(ev.RedoAsked, point=at, reason="tips slipped")

    def void(self, record: int) -> Walk:
        return self.tell(ev.Voided, ref=record, point=self.survey.records[record].point, reason="wrong clip")

    def jump(self, to: str) -> Walk:
        return self.tell(ev.Jumped, point=to)

    def insert(self, new: Point) -> Walk:
        return self.tell(
            ev.PointInserted,
            point=new.id,
            ref=self.survey.position.here or "",
            reason="not on the plan",
            definition=format_definition(new),
        )

    def start_run(self, number: int = 1) -> Walk:
        return self.tell(ev.RunStarted, run=len(self.survey.runs) + 1, number=number)

    # --- what the tests ask -----------------------------------------------------------------

    @property
    def here(self) -> str:
        here = self.survey.position.here
        assert here is not None, "no point is left"
        return here

    def path(self, count: int = 99) -> list[str]:
        """The points that good readings would be taken at from here on, at most ``count``."""
        tried, way = self.survey, []
        while tried.position.here is not None and len(way) < count:
            way.append(tried.position.here)
            tried = tried.after(_good_reading(tried))
        return way

    def standing(self, point_id: str) -> Standing:
        return self.survey.standings[point_id]

    def state(self, point_id: str) -> str:
        return self.standing(point_id).state.value

    def record(self, number: int) -> Record:
        return self.survey.records[number]

    @property
    def problems(self) -> list[str]:
        return [problem.what for problem in self.survey.problems]


def _good_reading(survey: Survey) -> ev.ReadingTaken:
    here = survey.here
    assert here is not None
    return ev.ReadingTaken(
        time=survey.last_time or START,
        by="Ana",
        record=survey.next_record,
        point=here.id,
        reading=parse_resistance("1", Unit.MOHM),
        verdict=Verdict.PASS,
    )
