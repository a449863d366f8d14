"""How each point stands: its readings by take, as-found and as-left, and the state they add up to.

A *take* is one go at a point: as many readings as the route asks for, put together by its rule.
A redo begins the next take; a void reopens the one it belonged to.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.measurement.voltage import VoltageReading, with_voltages
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.quick import quick_maker
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import EXACT, Verdict, combine, judge
from fieldtui.core.verdict.temperature import limit_at, metal_of


@dataclass(frozen=True, slots=True)
class Record:
    """One reading as it stands now: after voids and amendments, the original kept beside it."""

    record: int
    row: int
    time: datetime
    by: str
    point: str
    reading: Resistance
    said: Verdict  # what was said at the time
    verdict: Verdict  # what its limit gives now
    take: int
    retest: bool = False
    run: int | None = None
    number: int | None = None
    reason: str = ""
    note: str = ""
    void: str | None = None  # why it was struck out
    is_erased: bool = False  # its entry was deleted on the meter
    attempts_before: int = 0  # tries without a value since the reading before
    is_disturbed: bool = False  # a pause, skip, redo, void or long gap came just before it
    changed_by: tuple[int, ...] = ()  # rows of the amendments that touched it
    original: Record | None = field(default=None, repr=False)

    @property
    def is_valid(self) -> bool:
        return self.void is None


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a verdict depends on besides the reading and its limit."""

    accuracy: Accuracy | None = None  # the meter's, None where it states none
    celsius: Decimal | None = None  # temperature of what is measured, None where not taken
    # Where there was more than one meter: the row each was taken in, and its accuracy.
    meters: tuple[tuple[int, Accuracy | None], ...] = ()

    def of(self, record: Record) -> Conditions:
        """Those of one reading: with the accuracy of the meter it was taken with."""
        if not self.meters:
            return self
        accuracy = next(stated for row, stated in reversed(self.meters) if row <= record.row)
        return Conditions(accuracy, self.celsius)


UNSTATED = Conditions()


@dataclass(frozen=True, slots=True)
class Result:
    """What one complete take gives."""

    records: tuple[Record, ...]
    value: Resistance
    verdict: Verdict

    @property
    def last(self) -> Record:
        return self.records[-1]

    @property
    def deciding(self) -> Record:
        """The reading that the value is, where it is one of them; else the last."""
        same = (record for record in reversed(self.records) if record.reading == self.value)
        return next(same, self.last)


@dataclass(frozen=True, slots=True)
class Standing:
    """A point's part of the survey."""

    state: State = State.OPEN
    records: tuple[int, ...] = ()  # every record number of this point, void ones too
    take: int = 1  # the take the next reading belongs to
    retest: bool = False  # the next readings follow a rework
    asked_again: bool = False  # a redo or rework wants a take that is not complete yet
    as_found: Result | None = None  # first complete take
    as_left: Result | None = None  # last complete take
    mark: State | None = None  # skipped, inaccessible or waived, until a reading says otherwise
    attempts: int = 0
    reason: str = ""  # of the last skip, attempt or waiver
    discrepancy: str = ""  # the paper of a failed point


# What each reading makes anew, and a long trail a hundred thousand times.
_result_of = quick_maker(Result)
_standing_of = quick_maker(Standing)


def limit_for(point: Point, *, retest: bool) -> Limit:
    """The limit a reading is judged by; after a rework the point's retest limit, if it has one."""
    return point.retest if retest and point.retest is not None else point.limit


def judge_take(
    point: Point, readings: Iterable[Resistance], *, retest: bool, conditions: Conditions = UNSTATED
) -> Verdict:
    """The verdict on the readings of one take so far.

    A reading with the current one way only is not judged: its thermal voltage is still in it.
    """
    readings = tuple(readings)
    if point.method != "single" and len(readings) < point.repeats:
        return Verdict.NOTED
    limit = limit_for(point, retest=retest)
    if point.correct_to_20 and conditions.celsius is not None:
        limit = limit_at(limit, conditions.celsius, metal_of(point))
    return judge(limit, readings, point.rule, conditions.accuracy)


def rejudge(point: Point, records: Iterable[Record], conditions: Conditions = UNSTATED) -> list[Record]:
    """The same records, each with the verdict its take gives up to and including it."""
    judged: list[Record] = []
    taken: dict[int, list[Resistance]] = {}
    for record in records:
        if not record.is_valid:
            judged.append(record)
            continue
        readings = taken.setdefault(record.take, [])
        readings.append(record.reading)
        verdict = judge_take(point, readings, retest=record.retest, conditions=conditions.of(record))
        judged.append(record if verdict is record.verdict else replace(record, verdict=verdict))
    return judged


def restand(
    standing: Standing, point: Point, records: Iterable[Record], conditions: Conditions = UNSTATED
) -> Standing:
    """The standing that follows from the point's records and marks.

    Once the take the next reading would belong to is complete, the next reading belongs to another.
    """
    takes: dict[int, list[Record]] = {}
    for record in records:
        if record.is_valid:
            takes.setdefault(record.take, []).append(record)
    complete = [
        _result(point, takes[take], conditions) for take in sorted(takes) if len(takes[take]) >= point.repeats
    ]
    as_found = complete[0] if complete else None
    as_left = complete[-1] if complete else None
    is_done = len(takes.get(standing.take, ())) >= point.repeats
    return replace(
        standing,
        take=standing.take + is_done,
        asked_again=standing.asked_again and not is_done,
        as_found=as_found,
        as_left=as_left,
        state=_state(standing.mark, as_left),
    )


def stand_with(
    standing: Standing, point: Point, taken: Sequence[Record], conditions: Conditions = UNSTATED
) -> Standing:
    """The standing after one reading more: what :func:`restand` gives, without going through the others.

    Args:
        standing: as it was; every complete take of it lies before the one the next reading belongs to.
        taken: the valid readings of that take, judged; the new one is the last.
    """
    is_done = len(taken) >= point.repeats
    as_found, as_left = standing.as_found, standing.as_left
    if is_done:
        as_left = _result(point, taken, conditions)
        as_found = as_found or as_left
    return _standing_of(
        State.OPEN if as_left is None else STATES[as_left.verdict],
        (*standing.records, taken[-1].record),
        standing.take + is_done,
        standing.retest,
        standing.asked_again and not is_done,
        as_found,
        as_left,
        None,  # a reading takes the mark away, and its reason
        standing.attempts,
        "",
        standing.discrepancy,
    )


def stand_after(standing: Standing, readings: Sequence[Record]) -> Standing:
    """The standing after readings of which each is a complete take of its own, as :func:`restand` has it.

    Args:
        standing: as it was; every complete take of it lies before the one the next reading belongs to.
        readings: judged, in their order; one take a reading.
    """
    last = readings[-1]
    as_left = _result_of((last,), last.reading, last.verdict)
    as_found = standing.as_found
    if as_found is None:
        first = readings[0]
        as_found = as_left if first is last else _result_of((first,), first.reading, first.verdict)
    return _standing_of(
        STATES[last.verdict],
        (*standing.records, *(record.record for record in readings)),
        last.take + 1,
        standing.retest,
        False,  # what was asked for again is there
        as_found,
        as_left,
        None,  # a reading takes the mark away, and its reason
        standing.attempts,
        "",
        standing.discrepancy,
    )


# What a point's last complete take makes of it.
STATES = {
    Verdict.PASS: State.PASSED,
    Verdict.CONDITIONAL_PASS: State.PASSED,
    Verdict.CONDITIONAL_FAIL: State.FAILED,
    Verdict.FAIL: State.FAILED,
    Verdict.NOTED: State.RECORDED,
}


def _state(mark: State | None, as_left: Result | None) -> State:
    if mark is State.WAIVED:
        return State.WAIVED
    if as_left is not None:
        return STATES[as_left.verdict]
    return mark or State.OPEN


def _result(point: Point, records: Sequence[Record], conditions: Conditions) -> Result:
    return _result_of(tuple(records), _value(point, records, conditions), records[-1].verdict)


def _value(point: Point, records: Sequence[Record], conditions: Conditions) -> Resistance:
    """What the take reads: one of its readings where that can be, so that its digits are kept."""
    if len(records) == 1:
        return records[0].reading
    if point.rule == "max":
        deciding = [
            record
            for record in records
            if judge_take(point, [record.reading], retest=record.retest, conditions=conditions.of(record))
            is records[-1].verdict
        ]
        return max((record.reading for record in deciding or records), key=lambda reading: reading.ohms)
    readings = [record.reading for record in records]
    ohms = combine(readings, point.rule)
    for reading in readings:
        if reading.ohms == ohms and not isinstance(reading, VoltageReading):
            return reading
    finest = min(reading.resolution for reading in readings)
    step = Decimal(1).scaleb(finest.adjusted() - 1)  # one digit finer than the finest; half even
    value = Resistance(ohms.quantize(step, context=EXACT), Unit.OHM).to(point.unit)
    return with_voltages(value, readings)
