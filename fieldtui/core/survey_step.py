"""What each kind of event does to the survey. The only code that changes a survey's state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import singledispatchmethod

from fieldtui.core import events as ev
from fieldtui.core.inserted import NotADefinitionError, parse_definition
from fieldtui.core.memory import MemoryRun, begin_run
from fieldtui.core.position import Position, State, WalkOrder, detour, leave, settle
from fieldtui.core.route import Point, Route
from fieldtui.core.standing import Record, Standing, rejudge, restand
from fieldtui.core.tables import Instrument
from fieldtui.errors import Problem


@dataclass(slots=True)
class Draft:
    """A survey while events are being applied to it; the fields are those of ``Survey``."""

    route: Route
    instrument: Instrument
    points: Mapping[str, Point]  # replaced, not changed: insertions are rare
    order: WalkOrder
    standings: dict[str, Standing]
    records: dict[int, Record]
    counts: dict[State, int]
    position: Position
    brief: Mapping[str, ev.Briefed] = field(default_factory=dict)
    runs: list[MemoryRun] = field(default_factory=list)
    reconciled: frozenset[int] = frozenset()
    rows: int = 0
    last_time: datetime | None = None
    readings_unchecked: int = 0
    check_due: str = ""
    out_of_step: bool = False
    paused: bool = False
    closed: bool = False
    problems: list[Problem] = field(default_factory=list)

    @classmethod
    def fresh(cls, route: Route, instrument: Instrument) -> Draft:
        """The survey before its first event."""
        order = WalkOrder(tuple(point.id for point in route.points))
        counts = dict.fromkeys(State, 0)
        counts[State.OPEN] = len(order.ids)
        return cls(
            route=route,
            instrument=instrument,
            points=route.by_id,
            order=order,
            standings={point: Standing() for point in order.ids},
            records={},
            counts=counts,
            position=Position(here=order.ids[0] if order.ids else None),
        )

    def apply(self, event: ev.Event) -> None:
        """Take one event in: the next row of the trail."""
        self.rows += 1
        if self.closed:
            self._find(f"a {event.kind} row stands after the close", "the trail was added to; ask who did")
        self.last_time = event.time
        self._step(event)
        self.position = settle(self.position, self.order, self._state_of)

    # --- one method an event kind ---------------------------------------------------------

    @singledispatchmethod
    def _step(self, event: ev.Event) -> None:
        """Events that change nothing but the row count: start, recovered, clock, note."""

    @_step.register
    def _(self, event: ev.Opened) -> None:
        self._want_check("the session was opened again")

    @_step.register
    def _(self, event: ev.Closed) -> None:
        self.closed = True

    @_step.register
    def _(self, event: ev.Briefed) -> None:
        self.brief = {**self.brief, event.ref: event}

    @_step.register
    def _(self, event: ev.RunStarted) -> None:
        if event.run != len(self.runs) + 1:
            self._find(f"memory run {event.run} follows {len(self.runs)}", "runs are counted 1, 2, 3")
        self.runs.append(begin_run(self.instrument, event.run, event.number))
        self.readings_unchecked = 0
        self.check_due = ""
        self.out_of_step = False

    @_step.register
    def _(self, event: ev.ReadingTaken) -> None:
        point = self._point(event.point)
        if point is None:
            return
        if event.record != len(self.records) + 1:
            self._find(f"record {event.record} follows {len(self.records)}", "records are counted 1, 2, 3")
            if event.record in self.records:
                return
        standing = self.standings[point.id]
        record = Record(
            record=event.record,
            row=self.rows,
            time=event.time,
            by=event.by,
            point=point.id,
            reading=event.reading,
            said=event.verdict,
            verdict=event.verdict,
            take=standing.take,
            retest=standing.retest,
            run=event.run,
            number=event.number,
            reason=event.reason,
            note=event.note,
        )
        self.records[record.record] = record
        self._file_number(event.run, event.number)
        standing = replace(standing, records=(*standing.records, record.record), mark=None, reason="")
        self._refresh(point, standing)
        computed = self.records[record.record].verdict
        if computed is not event.verdict:
            self._find(
                f"record {record.record}: the verdict said is {event.verdict.value}, "
                f"the limit gives {computed.value}",
                "judge this point again by hand",
            )
        self._want_check_after_reading()
        self._leave_when_complete(point)

    @_step.register
    def _(self, event: ev.AttemptFailed) -> None:
        point = self._point(event.point)
        if point is None:
            return
        self._file_number(event.run, event.number)
        standing = self.standings[point.id]
        standing = replace(standing, attempts=standing.attempts + 1, reason=event.reason)
        if is_settling(event.reason):
            self._refresh(point, replace(standing, mark=State.INACCESSIBLE))
            self._leave(point)
        else:
            self._refresh(point, standing)

    @_step.register
    def _(self, event: ev.Skipped) -> None:
        point = self._point(event.point)
        if point is None:
            return
        self._refresh(point, replace(self.standings[point.id], mark=State.SKIPPED, reason=event.reason))
        self._want_check("after a skip")
        self._leave(point)

    @_step.register
    def _(self, event: ev.RedoAsked) -> None:
        point = self._point(event.point)
        if point is None:
            return
        self._begin_take(point)
        self.position = detour(self.position, point.id)
        self._want_check("after a redo")

    @_step.register
    def _(self, event: ev.Voided) -> None:
        record = self._record(event.ref)
        if record is None:
            return
        if not record.is_valid:
            self._find(f"record {record.record} is void already", "one void is enough")
            return
        self._change(replace(record, void=event.reason))
        standing = self.standings[record.point]
        if record.take >= standing.take - 1:
            # The take it belonged to was the last one begun: it is short of a reading again.
            standing = replace(standing, take=record.take)
        self._refresh(self.points[record.point], standing)
        self._want_check("after a void")

    @_step.register
    def _(self, event: ev.PointInserted) -> None:
        if event.point in self.points:
            self._find(f"point {event.point} is inserted, but is there already", "ids are used once")
            return
        try:
            point = parse_definition(event.point, event.definition)
        except NotADefinitionError as error:
            self._find(f"inserted point {event.point}: {error}", "the point is left out")
            return
        self.points = {**self.points, point.id: point}
        self.order = self.order.with_inserted(point.id, event.ref)
        self.standings[point.id] = Standing()
        self.counts[State.OPEN] += 1
        self.position = detour(self.position, point.id)

    @_step.register
    def _(self, event: ev.Jumped) -> None:
        point = self._point(event.point)
        if point is not None:
            self.position = detour(self.position, point.id)

    @_step.register
    def _(self, event: ev.SectionReversed) -> None:
        point = self._point(event.point)
        if point is None:
            return
        start = self.order.place[point.id]
        self.order = self.order.with_rest_reversed(point.id, lambda other: self.points[other].section)
        turned = self.order.ids[start : self.order.place[point.id] + 1]
        here = next((other for other in turned if self._state_of(other) is State.OPEN), point.id)
        self.position = replace(self.position, here=here)

    @_step.register
    def _(self, event: ev.Paused) -> None:
        self.paused = True

    @_step.register
    def _(self, event: ev.Proceeded) -> None:
        self.paused = False
        self._want_check("after a pause")

    @_step.register
    def _(self, event: ev.NumberChecked) -> None:
        self.out_of_step = event.verdict is ev.Agreement.DIFFER
        if not self.out_of_step:
            self.readings_unchecked = 0
            self.check_due = ""

    @_step.register
    def _(self, event: ev.Reconciled) -> None:
        self.reconciled = self.reconciled | {event.run}

    @_step.register
    def _(self, event: ev.Renumbered) -> None:
        if not self.runs:
            self._find("numbers are moved before any memory run began", "the row has no effect")
            return
        run = self.runs[-1]
        moved = event.number - run.next_number
        self.runs[-1] = replace(run, next_number=event.number)
        self.out_of_step = False
        self.check_due = ""
        self.readings_unchecked = 0
        if event.ref is None:
            return
        for number in range(event.ref, len(self.records) + 1):
            record = self.records.get(number)
            if record is not None and record.run == run.run and record.number is not None:
                self._change(replace(record, number=record.number + moved))

    @_step.register
    def _(self, event: ev.Unfiled) -> None:
        record = self._record(event.ref)
        if record is not None:
            self._change(replace(record, number=None))

    @_step.register
    def _(self, event: ev.Amended) -> None:
        record = self._record(event.ref)
        point = self._point(event.point) if event.point is not None else None
        if record is None or (event.point is not None and point is None):
            return
        changed = replace(
            record,
            run=record.run if event.run is None else event.run,
            number=record.number if event.number is None else event.number,
            reading=event.reading or record.reading,
        )
        if point is not None and point.id != record.point:
            changed = self._move(changed, point)
        self._change(changed)
        self._refresh(self.points[changed.point], self.standings[changed.point])
        computed = self.records[event.ref].verdict
        if event.verdict is not None and computed is not event.verdict:
            self._find(
                f"amended record {event.ref}: the verdict said is {event.verdict.value}, "
                f"the limit gives {computed.value}",
                "judge this point again by hand",
            )

    @_step.register
    def _(self, event: ev.Reworked) -> None:
        point = self._point(event.point)
        if point is None:
            return
        self._begin_take(point)
        self.standings[point.id] = replace(self.standings[point.id], retest=True)

    @_step.register
    def _(self, event: ev.Waived) -> None:
        point = self._point(event.point)
        if point is None:
            return
        self._refresh(point, replace(self.standings[point.id], mark=State.WAIVED, reason=event.reason))
        self._leave(point)

    # --- parts ----------------------------------------------------------------------------

    def _find(self, what: str, remedy: str) -> None:
        self.problems.append(Problem(what, remedy, file="trail.csv", field=f"row {self.rows}"))

    def _point(self, point: str) -> Point | None:
        found = self.points.get(point)
        if found is None:
            self._find(f"point {point} is not on the route", "the row has no effect on the survey")
        return found

    def _record(self, record: int) -> Record | None:
        found = self.records.get(record)
        if found is None:
            self._find(f"record {record} does not exist at this row", "the row has no effect on the survey")
        return found

    def _state_of(self, point: str) -> State:
        return self.standings[point].state

    def _refresh(self, point: Point, standing: Standing) -> None:
        """Judge the point's records again and put its standing in place."""
        before = self.standings[point.id].state
        records = rejudge(point, (self.records[number] for number in standing.records))
        for record in records:
            self.records[record.record] = record
        after = restand(standing, point, records)
        self.standings[point.id] = after
        self.counts[before] -= 1
        self.counts[after.state] += 1

    def _change(self, record: Record) -> None:
        """Put an amended record in place, the first form of it kept and the row noted."""
        before = self.records[record.record]
        self.records[record.record] = replace(
            record,
            changed_by=(*before.changed_by, self.rows),
            original=before.original or before,
        )

    def _move(self, record: Record, point: Point) -> Record:
        """Take a record away from its point and give it to another."""
        old = self.points[record.point]
        left = tuple(n for n in self.standings[old.id].records if n != record.record)
        self._refresh(old, replace(self.standings[old.id], records=left))
        there = self.standings[point.id]
        self.standings[point.id] = replace(there, records=tuple(sorted((*there.records, record.record))))
        return replace(record, point=point.id, take=there.take, retest=there.retest)

    def _begin_take(self, point: Point) -> None:
        standing = self.standings[point.id]
        begun = any(self.records[number].take == standing.take for number in standing.records)
        take = standing.take + 1 if begun else standing.take
        self.standings[point.id] = replace(standing, take=take, asked_again=True)

    def _leave(self, point: Point) -> None:
        if self.position.here == point.id:
            self.position = leave(self.position, self.order, self._state_of)

    def _leave_when_complete(self, point: Point) -> None:
        """Go on once the take is complete; a reading written down elsewhere moves the walk there."""
        if self.position.here != point.id:
            self.position = Position(here=point.id, second_pass=self.position.second_pass)
        standing = self.standings[point.id]
        taken = [n for n in standing.records if self.records[n].take == standing.take]
        if sum(self.records[n].is_valid for n in taken) >= point.repeats:
            self.standings[point.id] = replace(standing, take=standing.take + 1, asked_again=False)
            self._leave(point)

    def _file_number(self, run: int | None, number: int | None) -> None:
        if run is None or number is None:
            return
        if not self.runs or run != self.runs[-1].run:
            self._find(f"memory run {run} has not begun", "its numbers are kept as written")
            return
        self.runs[-1] = self.runs[-1].after(number)

    def _want_check(self, why: str) -> None:
        if self.runs and not self.check_due:
            self.check_due = why

    def _want_check_after_reading(self) -> None:
        self.readings_unchecked += 1
        every = self.route.check_every
        if every and self.readings_unchecked >= every:
            self._want_check(f"{self.readings_unchecked} readings since the last")


def is_settling(reason: str) -> bool:
    """True for an attempt that settles its point: the place cannot be reached."""
    return reason.strip().casefold().startswith((ev.NOT_ACCESSIBLE, "inaccessible"))
