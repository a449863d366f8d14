"""The survey as it stands: what the route and the trail's events add up to.

``fold`` is the one door: resume, review, verify, reports and tests all go through it, and
``Survey.after`` is the same step for one event more. An event that cannot be true (a void of a
record that is not there, say) has no effect and is listed in ``problems``.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import datetime
from itertools import islice
from typing import Any

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Point, Route
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.crew import Handover
from fieldtui.core.survey.draft import RECENT, Draft
from fieldtui.core.survey.ending import Ending
from fieldtui.core.survey.filed_apart import note_apart
from fieldtui.core.survey.layers import Changes, Layers
from fieldtui.core.survey.memory import Correction, Differed, MemoryRun
from fieldtui.core.survey.meter_checks import MeterCheck
from fieldtui.core.survey.meters import MeterInUse, conditions_with
from fieldtui.core.survey.position import Position, State, Waiting, WalkOrder, way_ahead
from fieldtui.core.survey.standing import SETTLED, Conditions, Record, Standing, judge_take
from fieldtui.core.survey.standings import Standings
from fieldtui.core.survey.step import apply
from fieldtui.core.survey.stretch import take_stretch
from fieldtui.core.trail.events import Briefed, Event
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import Problem


@dataclass(frozen=True, slots=True)
class Survey:
    """One immutable state; the mappings in it are never changed once it is made."""

    route: Route
    instrument: Instrument  # the meter in use
    meters: tuple[MeterInUse, ...]  # every meter of the session in order, the one in use last
    points: Mapping[str, Point]  # the route's and the inserted ones
    order: WalkOrder
    waiting: Waiting
    standings: Layers[str, Standing]
    records: Layers[int, Record]  # in the order they were taken
    next_record: int  # the running number the next reading will take
    counts: Mapping[State, int]
    position: Position
    brief: Mapping[str, Briefed]  # the last answer to each item
    runs: Sequence[MemoryRun]  # the current one last
    reconciled: frozenset[int]  # memory runs held against the meter's list, and not read on since
    read_on: frozenset[int]  # runs that got entries after they were reconciled
    undecided: Mapping[int, int]  # by run, lines that were left so when it was last reconciled, where any
    rows: int
    recent: tuple[str, ...]  # kinds of the last rows, the newest last
    last_time: datetime | None
    changes: int  # times a record was voided or amended
    readings_unchecked: int  # since the last number check
    first_unchecked: int  # the first record since the numbers were known to agree
    called: tuple[int, int]  # a differing memory number, and how often it was read out in a row
    out_of_turn: Layers[int, str]  # records at a point that the walk was led to by name, and that point
    called_out: Layers[int, int]  # by record, the memory number read out right after it that agreed
    corrections: tuple[Correction, ...]  # what moved memory numbers, the last of it last
    differed: Differed | None  # when the numbers were first read to differ as they do; None where they agree
    attempts_since: int  # tries without a value since the last reading
    is_disturbed: bool  # something broke the rhythm since the last reading
    last_reading: datetime | None
    check_due: str  # why a number check is due, empty where none is
    out_of_step: bool  # the last number check disagreed and nothing has explained it yet
    paused: bool
    closed: bool
    ending: Ending  # restored finishes, signatures, closes and reopenings
    last_change: int  # row of the last event that a signature before it does not cover
    checks: tuple[MeterCheck, ...]  # of the meter on its standard, in their order
    lead_changed: int  # row of the last change of lead or tips, 0 for none
    released: Mapping[int, str]  # records let stand in spite of a failed check or a retake, and why
    handovers: tuple[Handover, ...]  # changes of the crew, in order
    # By run and memory number what no reading has: the check standard as read, None for a try.
    filed_apart: Mapping[tuple[int, int], Resistance | None]
    problems: tuple[Problem, ...]
    # What was worked out of this state once and is asked for at every draw; see ``account.bracket``.
    worked_out: dict[str, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    # --- what a screen asks ---------------------------------------------------------------

    @property
    def here(self) -> Point | None:
        """The point being probed, None when no point is left to take."""
        return self.points[self.position.here] if self.position.here is not None else None

    @property
    def ahead(self) -> Iterator[Position]:
        """Where the walk goes after this point and on, if every reading is good."""
        return way_ahead(
            self.position, self.order, self.waiting, lambda point: self.standings[point].asked_again
        )

    @property
    def coming(self) -> Point | None:
        """The point after this one, if the reading here is good."""
        after = next(self.ahead, None)
        return self.points[after.here] if after is not None and after.here is not None else None

    @property
    def run(self) -> MemoryRun | None:
        """The memory run that readings are filed in; None where the meter in use has none."""
        last = self.runs[-1] if self.runs else None
        return last if last is not None and last.meter == len(self.meters) - 1 else None

    @property
    def next_number(self) -> int | None:
        """The memory number the next reading will get; None without a run or with a full memory."""
        return None if self.run is None or self.run.is_full else self.run.next_number

    @property
    def settled(self) -> int:
        """Points at which nothing more is to be done: see :attr:`Standing.is_settled`."""
        settled = sum(self.counts[state] for state in SETTLED)
        if self.counts[State.FAILED]:
            failed = self.in_state(State.FAILED)
            settled += sum(self.standings[point.id].is_settled for point in failed)
        return settled

    @property
    def to_take(self) -> int:
        """Points that the walk still leads to: open and skipped ones."""
        return self.counts[State.OPEN] + self.counts[State.SKIPPED]

    @property
    def conditions(self) -> Conditions:
        """What verdicts depend on besides readings and limits."""
        return conditions_with(self.meters, self.route)

    def would_say(self, point: str, reading: Resistance) -> Verdict:
        """The verdict that ``reading`` would get at ``point`` now."""
        standing = self.standings[point]
        taken, conditions = self.take_so_far(point), self.conditions
        readings = [*(record.reading for record in taken), reading]
        each = [*conditions.of_each(taken), conditions.accuracy]
        return judge_take(
            self.points[point], readings, retest=standing.retest, conditions=conditions, each=each
        )

    def take_so_far(self, point: str) -> list[Record]:
        """The valid readings of the take that the next reading of ``point`` belongs to."""
        standing = self.standings[point]
        records = (self.records[number] for number in standing.records)
        return [record for record in records if record.take == standing.take and record.is_valid]

    def in_state(self, *states: State) -> list[Point]:
        """The points in any of ``states``, in walking order."""
        return [self.points[point] for point in self.order.ids if self.standings[point].state in states]

    def last_records(self, count: int) -> list[Record]:
        """The last ``count`` readings, oldest first."""
        latest = [*islice(reversed(self.records), count)]
        return [self.records[number] for number in reversed(latest)]

    # --- one event more -------------------------------------------------------------------

    def after(self, event: Event) -> Survey:
        """The survey once ``event`` has happened."""
        draft = _thaw(self)
        apply(event, draft)
        note_apart(event, draft)
        return _freeze(draft)


def fold(route: Route, instrument: Instrument, events: Iterable[Event] = ()) -> Survey:
    """The survey after ``events``, in their order."""
    draft = Draft.fresh(route, instrument)
    rows = iter(events)
    while (event := take_stretch(rows, draft)) is not None:
        apply(event, draft)
        note_apart(event, draft)
    return _freeze(draft)


# A survey and its draft have the same fields; these are of a kind that can be changed in a draft.
_FIELDS = tuple(each.name for each in fields(Survey) if each.init)
_LISTS = ("runs", "problems", "recent")
_MAPPINGS = ("standings", "records", "out_of_turn", "called_out")


def _freeze(draft: Draft) -> Survey:
    values: dict[str, Any] = {name: getattr(draft, name) for name in _FIELDS}
    values |= {name: tuple(values[name]) for name in _LISTS}
    return Survey(**values | {name: getattr(draft, name).frozen() for name in _MAPPINGS})


def _thaw(survey: Survey) -> Draft:
    values: dict[str, Any] = {name: getattr(survey, name) for name in _FIELDS}
    records = Changes(survey.records)
    values |= {
        "standings": Standings(survey.standings, records),
        "records": records,
        "out_of_turn": Changes(survey.out_of_turn),
        "called_out": Changes(survey.called_out),
        "counts": dict(survey.counts),
        "runs": [*survey.runs],
        "problems": [*survey.problems],
        "recent": deque(survey.recent, RECENT),
    }
    return Draft(**values)
