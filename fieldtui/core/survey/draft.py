"""A survey while events are being applied to it, and what the steps are made of."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Point, Route
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.crew import Handover
from fieldtui.core.survey.ending import Ending
from fieldtui.core.survey.judged import JudgedReadings
from fieldtui.core.survey.layers import Changes, Layers
from fieldtui.core.survey.memory import Correction, Differed, MemoryRun
from fieldtui.core.survey.meter_checks import MeterCheck
from fieldtui.core.survey.meters import MeterInUse, conditions_with
from fieldtui.core.survey.position import UNSETTLED, Position, State, Waiting, WalkOrder, leave, wanted
from fieldtui.core.survey.standing import (
    Conditions,
    Record,
    Standing,
    judge_take,
    rejudge,
    restand,
    stand_with,
    state_of,
    take_of_moved,
)
from fieldtui.core.survey.standings import Standings
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import Problem

RECENT = 8  # rows whose kinds are kept at hand
CORRECTIONS_KEPT = 8  # of the memory numbers; a wrong one is found out soon
_BY_COUNT = " readings since the last"  # how the reason ends where it is their number
LONG_GAP = timedelta(minutes=10)  # between two readings; afterwards the numbers are worth a check


@dataclass(slots=True)
class Draft:
    """A survey while events are being applied to it; the fields are those of ``Survey``."""

    route: Route
    instrument: Instrument
    meters: tuple[MeterInUse, ...]
    points: Mapping[str, Point]  # replaced, not changed: insertions are rare
    order: WalkOrder
    waiting: Waiting
    standings: Standings
    records: Changes[int, Record]
    counts: dict[State, int]
    position: Position
    next_record: int = 1
    brief: Mapping[str, ev.Briefed] = field(default_factory=dict)
    runs: list[MemoryRun] = field(default_factory=list)
    reconciled: frozenset[int] = frozenset()
    read_on: frozenset[int] = frozenset()
    undecided: Mapping[int, int] = field(default_factory=dict)  # lines left so by run, when last reconciled
    rows: int = 0
    recent: deque[str] = field(default_factory=lambda: deque(maxlen=RECENT))  # kinds of the last rows
    last_time: datetime | None = None
    changes: int = 0  # times a record was voided or amended
    readings_unchecked: int = 0
    first_unchecked: int = 1  # the first record since the numbers were known to agree
    called: tuple[int, int] = (0, 0)  # a differing memory number, and how often it was read out in a row
    out_of_turn: Changes[int, str] = field(default_factory=lambda: Changes(Layers()))  # points by record
    called_out: Changes[int, int] = field(default_factory=lambda: Changes(Layers()))  # by record
    corrections: tuple[Correction, ...] = ()  # of memory numbers, the last ones
    differed: Differed | None = None  # when the numbers were first read to differ as they do
    attempts_since: int = 0  # tries without a value since the last reading
    is_disturbed: bool = False
    last_reading: datetime | None = None
    check_due: str = ""
    out_of_step: bool = False
    paused: bool = False
    closed: bool = False
    ending: Ending = Ending()  # noqa: RUF009  it cannot be changed
    last_change: int = 0
    checks: tuple[MeterCheck, ...] = ()
    lead_changed: int = 0  # row of the last change of lead or tips, 0 for none
    released: Mapping[int, str] = field(default_factory=dict)
    handovers: tuple[Handover, ...] = ()
    filed_apart: Mapping[tuple[int, int], Resistance | None] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    conditions: Conditions = field(init=False)
    judged: JudgedReadings = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self.hold_conditions()

    def hold_conditions(self) -> None:
        """What verdicts depend on, with the meter in use."""
        self.conditions = conditions_with(self.meters, self.route)
        self.judged = JudgedReadings(self.conditions)
        self.standings.work_in()  # what is in hand would go on being judged as before

    @classmethod
    def fresh(cls, route: Route, instrument: Instrument) -> Draft:
        """The survey before its first event."""
        order = WalkOrder(tuple(point.id for point in route.points))
        counts = dict.fromkeys(State, 0)
        counts[State.OPEN] = len(order.ids)
        records = Changes[int, Record](Layers())
        return cls(
            route=route,
            instrument=instrument,
            meters=(MeterInUse(0, instrument),),
            points=route.by_id,
            order=order,
            waiting=Waiting.of(order, lambda _: State.OPEN),
            standings=Standings(Layers(dict.fromkeys(order.ids, Standing())), records),
            records=records,
            counts=counts,
            position=Position(here=order.ids[0] if order.ids else None),
        )

    def find(self, what: str, remedy: str) -> None:
        self.problems.append(Problem(what, remedy, file="trail.csv", field=f"row {self.rows}"))

    def point(self, point: str) -> Point | None:
        found = self.points.get(point)
        if found is None:
            self.find(f"point {point} is not on the route", "the row has no effect on the survey")
        return found

    def record(self, record: int) -> Record | None:
        found = self.records.get(record)
        if found is None:
            self.find(f"record {record} does not exist at this row", "the row has no effect on the survey")
        return found

    @property
    def last_record(self) -> int:
        """The running number of the last reading, 0 before the first."""
        return self.next_record - 1

    def state_of(self, point: str) -> State:
        return self.standings[point].state

    def is_asked(self, point: str) -> bool:
        return self.standings[point].asked_again

    def refresh(self, point: Point, standing: Standing) -> bool:
        """Judge the point's records again and put its standing in place; whether a take is now done."""
        conditions = self.conditions
        records = rejudge(point, (self.records[number] for number in standing.records), conditions)
        for record in records:
            self.records[record.record] = record
        after = restand(standing, point, records, conditions)
        self.stand(point, after)
        return after.take > standing.take

    def next_take(self, point: Point) -> tuple[int, bool, Sequence[Record] | None]:
        """The take that the next reading belongs to.

        Returns its number, whether it follows a rework, and its valid readings so far; None for
        those where it is complete already.
        """
        standing = self.standings[point.id]
        taken: Sequence[Record] | None = ()
        if standing.is_take_complete:
            taken = None
        elif point.repeats > 1:  # where one is enough, one would have completed it
            records = (self.records[number] for number in standing.records)
            taken = [record for record in records if record.take == standing.take and record.is_valid]
        return standing.take, standing.retest, taken

    def judge(self, point: Point, taken: Sequence[Record], reading: Resistance, *, retest: bool) -> Verdict:
        """The verdict on ``reading``, the take before it being ``taken``."""
        readings = [*(record.reading for record in taken), reading]
        each = [*self.conditions.of_each(taken), self.conditions.accuracy]
        return judge_take(point, readings, retest=retest, conditions=self.conditions, each=each)

    def take_in(self, record: Record, point: Point, taken: Sequence[Record] | None) -> bool:
        """Put a new reading in place, whose take had ``taken``; whether the take is now done."""
        self.records.own[record.record] = record
        standing = self.standings[point.id]
        if taken is None:
            records = (*standing.records, record.record)
            return self.refresh(point, replace(standing, records=records, mark=None, reason=""))
        stood = stand_with(standing, point, [*taken, record], self.conditions)
        self.stand(point, stood)
        return stood.take > standing.take

    def stand(self, point: Point, standing: Standing) -> None:
        """Put a point's standing in place, and count its state."""
        before = self.standings[point.id].state
        self.standings[point.id] = standing
        if standing.state is not before:
            self.count(point, before, standing.state)

    def count(self, point: Point, before: State, after: State) -> None:
        """Count a point in another state than before."""
        self.counts[before] -= 1
        self.counts[after] += 1
        if before in UNSETTLED or after in UNSETTLED:
            self.waiting = self.waiting.with_state(self.order.place[point.id], after)

    def reorder(self, order: WalkOrder) -> None:
        """Walk the points in another order from here on."""
        self.order = order
        self.waiting = Waiting.of(order, self.state_of)

    def change(self, record: Record) -> bool:
        """Put an amended record in place, its first form kept and the row noted; judge its point anew."""
        before = self.records[record.record]
        standing = self.standings[record.point]  # with what was read so far, in its first form
        self.changes += 1
        self.records[record.record] = replace(
            record,
            changed_by=(*before.changed_by, self.rows),
            original=before.original or before,
        )
        return self.refresh(self.points[record.point], standing)

    def take_away(self, record: Record) -> None:
        """Take a record away from its point; it is given to another at once."""
        old = self.points[record.point]
        left = tuple(n for n in self.standings[old.id].records if n != record.record)
        self.refresh(old, replace(self.standings[old.id], records=left))

    def give(self, record: Record, point: Point) -> Record:
        """Give a record that was taken away to a point: a retest there if the rework came before it."""
        there = self.standings[point.id]
        take = take_of_moved(record, point, there, [self.records[number] for number in there.records])
        numbers = sorted((*there.records, record.record), key=lambda number: self.records[number].row)
        self.standings[point.id] = replace(there, records=tuple(numbers))
        is_retest = 0 < there.reworked < record.row
        return replace(record, point=point.id, take=take, retest=is_retest)

    def move(self, record: Record, point: Point) -> Record:
        """Take a record away from its point and give it to another."""
        self.take_away(record)
        return self.give(record, point)

    def reassign(self, records: Sequence[Record], place_of: Callable[[str], int]) -> bool:
        """Give ``records`` to the points at the places that ``place_of`` says; whether that can be."""
        places = [place_of(record.point) for record in records]
        if any(place not in range(len(self.order.ids)) for place in places):
            self.find("readings are moved to where there is no point", "the row has no effect")
            return False
        moved = [
            (record.record, self.points[self.order.ids[place]])
            for record, place in zip(records, places, strict=True)
            if self.order.ids[place] != record.point
        ]
        asked = self._asked_with({number: point.id for number, point in moved})
        for number, _ in moved:  # all of them first: none is in the way of another
            self.take_away(self.records[number])
        for old, (rows, _) in asked.items():  # and all of these before any is put anywhere
            left = tuple(row for row in self.standings[old].asked if row not in rows)
            self.refresh(self.points[old], replace(self.standings[old], asked=left))
        for rows, new in asked.values():
            there = self.standings[new]
            self.standings[new] = replace(there, asked=tuple(sorted((*there.asked, *rows))))
        for number, point in moved:
            self.change(self.give(self.records[number], point))
        here = self.position.here
        if here is not None and self.state_of(here) not in wanted(self.position):
            self.leave(self.points[here])
        return True

    def _asked_with(self, moved: Mapping[int, str]) -> dict[str, tuple[frozenset[int], str]]:
        """By point the rows that asked for takes of it again which go with ``moved`` readings, and where to.

        "Take the last one again" goes with the reading that followed, or with the last one where none did
        yet. A rework is of the bond and stays; points that had one are left as they are.
        """
        found: dict[str, tuple[frozenset[int], str]] = {}
        for number, new in moved.items():
            old = self.records[number].point
            standing = self.standings[old]
            if old in found or not standing.asked or standing.reworked:
                continue
            rows = [(self.records[each].row, each) for each in standing.records]
            going = set()
            for asked in standing.asked:
                after = [each for row, each in rows if row > asked]
                before = [each for row, each in rows if row < asked]
                if (after[0] if after else before[-1] if before else None) in moved:
                    going.add(asked)
            found[old] = (frozenset(going), new)
        return found

    def go_on_from(self, point: Point) -> None:
        """Put the walk where it goes on once ``point`` was read: there if it wants another reading."""
        self.position = replace(self.position, here=point.id)
        if self.state_of(point.id) not in wanted(self.position):
            self.leave(point)

    def is_take_over(self, standing: Standing, record: Record) -> bool:
        """Whether the next reading of the point belongs to a later take than that of ``record``.

        A reading holds in a later one, or another was asked for since; or it is one of its own, of
        readings that were moved there.
        """
        if record.take < 1 or any(row > record.row for row in standing.asked):
            return True
        others = (self.records[number] for number in standing.records)
        return any(
            other.row > record.row and other.take != record.take and other.is_valid for other in others
        )

    def begin_take(self, point: Point) -> None:
        standing = self.standings[point.id]
        begun = any(self.records[number].take == standing.take for number in standing.records)
        take = standing.take + 1 if begun else standing.take
        asked = (*standing.asked, self.rows)
        state = state_of(standing.mark, standing.as_left, is_asked=True)
        self.stand(point, replace(standing, take=take, asked=asked, asked_again=True, state=state))

    def let_stand(self, record: Record, reason: str) -> None:
        """A reading stands for a reason, in spite of a failed check or of a take that was asked for."""
        self.released = {**self.released, record.record: reason}
        point, standing = self.points[record.point], self.standings[record.point]
        left = standing.as_left
        if standing.asked_again and left is not None and record in left.records:
            self.refresh(point, replace(standing, kept=self.rows, mark=None, reason=""))
            self.leave(point)

    def leave(self, point: Point) -> None:
        if self.position.here == point.id:
            self.position = leave(self.position, self.order, self.waiting, self.is_asked)

    def file_number(self, run: int | None, number: int | None) -> None:
        if run is None or number is None:
            return
        if not self.runs or run != self.runs[-1].run:
            self.find(f"memory run {run} has not begun", "its numbers are kept as written")
            return
        self.runs[-1] = self.runs[-1].after(number)
        if run in self.reconciled:  # the list it was held against does not have this entry
            self.reconciled, self.read_on = self.reconciled - {run}, self.read_on | {run}

    def want_check(self, why: str) -> None:
        if self.runs and not self.check_due:
            self.check_due = why

    def disturb(self, why: str) -> None:
        """The rhythm was broken: here slips are likeliest, and a number check is due."""
        self.is_disturbed = True
        self.want_check(why)

    def is_long_gap(self, time: datetime) -> bool:
        return self.last_reading is not None and time - self.last_reading > LONG_GAP

    def numbers_agree(self) -> None:
        """Record and meter are known to agree up to here."""
        self.out_of_step = False
        self.check_due = ""
        self.readings_unchecked = 0
        self.first_unchecked = self.next_record
        self.called = (0, 0)
        self.differed = None

    def note_turn(self, record: int, point: Point) -> None:
        """Remember a reading at a point that was named to the prober, not the next one or the last again."""
        last = self.records.get(record - 1)
        is_again = last is not None and last.point == point.id and last.record not in self.out_of_turn
        if point.unplanned or (self.position.back and not is_again):
            self.out_of_turn[record] = point.id

    def hear_number(self, run: int, number: int) -> None:
        """The meter showed ``number`` for what it filed last; where that is the last reading, it is known."""
        last = self.records.get(self.next_record - 1)
        if last is not None and (last.run, last.number) == (run, number):
            self.called_out[last.record] = number
        if self.corrections and not self.corrections[-1].is_agreed:
            self.corrections = tuple(replace(each, is_agreed=True) for each in self.corrections)

    def want_check_after_reading(self, record: int, time: datetime, *, is_long_gap: bool) -> None:
        if is_long_gap:
            self.want_check("after a long gap")
        self.last_reading = time
        self.attempts_since = 0
        self.is_disturbed = False
        self.readings_unchecked += 1
        self._want_check_of_new_run(record)
        self.want_check_by_count()

    def _want_check_of_new_run(self, record: int) -> None:
        """The first number of a later memory run is read out: was the memory empty, was the last one full?"""
        last, run = self.records.get(record - 1), self.records[record].run
        if run is not None and run > 1 and (last is None or last.run != run):
            self.want_check(f"memory run {run} has begun")

    def want_check_by_count(self) -> None:
        """A number check is due after every so many readings, where the route says after how many.

        The count goes on until there is one; where it is due for another reason, that one stands.
        """
        every = self.route.check_every
        if every and self.readings_unchecked >= every:
            if self.check_due.endswith(_BY_COUNT):
                self.check_due = ""
            self.want_check(f"{self.readings_unchecked}{_BY_COUNT}")
