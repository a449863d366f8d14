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
from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.quick import quick_maker
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import Verdict, combine, judge
from fieldtui.core.verdict.rounding import round_beside
from fieldtui.core.verdict.temperature import limit_at


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

    def of_each(self, records: Iterable[Record]) -> list[Accuracy | None]:
        """The accuracies of the meters that readings were taken with, one a reading."""
        return [self.of(record).accuracy for record in records]


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
    reworked: int = 0  # row of its first rework, 0 for none; readings after it are retests
    asked: tuple[int, ...] = ()  # rows of its redos and reworks: no take reaches across one
    kept: int = 0  # row in which what stood was let stand after all, 0 for none
    asked_again: bool = False  # a redo or rework wants a take that is not complete yet
    as_found: Result | None = None  # first complete take
    as_left: Result | None = None  # last complete take
    mark: State | None = None  # skipped, inaccessible or waived, until a reading says otherwise
    attempts: int = 0
    reason: str = ""  # of the last skip, attempt or waiver
    discrepancy: str = ""  # the paper of a failed point
    paper_row: int = 0  # row that named it first, 0 for none

    @property
    def is_take_complete(self) -> bool:
        """Whether the take that the next reading belongs to has its readings already."""
        return self.as_left is not None and self.as_left.last.take >= self.take

    @property
    def retest(self) -> bool:
        """Whether the next readings follow a rework."""
        return self.reworked > 0

    @property
    def awaited(self) -> str:
        """What a point that was read is still to give: ``retest`` after a rework, ``retake``, or empty."""
        if self.as_left is None or not self.asked_again:
            return ""
        return "retest" if self.retest and not self.as_left.last.retest else "retake"

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to do: passed, recorded, waived; failed with a paper and no retest due."""
        if self.state is State.FAILED:
            return bool(self.discrepancy) and not self.asked_again
        return self.state in SETTLED


# What each reading makes anew, and a long trail a hundred thousand times.
record_of = quick_maker(
    Record,  # of the fields of a reading that is new
    (
        *("record", "row", "time", "by", "point", "reading", "said", "verdict", "take", "retest"),
        *("run", "number", "reason", "note", "attempts_before", "is_disturbed"),
    ),
)
_result_of = quick_maker(Result)
_standing_of = quick_maker(Standing)


def limit_for(point: Point, *, retest: bool) -> Limit:
    """The limit a reading is judged by; after a rework the point's retest limit, if it has one."""
    return point.retest if retest and point.retest is not None else point.limit


def held_limit(point: Point, *, retest: bool, celsius: Decimal | None) -> Limit:
    """The limit that a value as measured is held to: after rework another, and at 20 C carried to it."""
    limit = limit_for(point, retest=retest)
    if celsius is None or not point.correct_to_20:
        return limit
    return limit_at(limit, celsius, metal_of(point))


def judge_take(
    point: Point,
    readings: Iterable[Resistance],
    *,
    retest: bool,
    conditions: Conditions = UNSTATED,
    each: Sequence[Accuracy | None] = (),
) -> Verdict:
    """The verdict on the readings of one take so far.

    A reading with the current one way only is not judged: its thermal voltage is still in it.
    ``each`` are the accuracies of the meters they were taken with, where not all with the one of
    ``conditions``.
    """
    readings = tuple(readings)
    if point.method != "single" and len(readings) < point.repeats:
        return Verdict.NOTED
    limit = held_limit(point, retest=retest, celsius=conditions.celsius)
    return judge(limit, readings, point.rule, conditions.accuracy, each=each)


def rejudge(point: Point, records: Iterable[Record], conditions: Conditions = UNSTATED) -> list[Record]:
    """The same records, each with the verdict its take gives up to and including it."""
    judged: list[Record] = []
    takes: dict[int, list[Record]] = {}
    for record in records:
        if not record.is_valid:
            judged.append(record)
            continue
        taken = takes.setdefault(record.take, [])
        taken.append(record)
        readings, each = [one.reading for one in taken], conditions.of_each(taken)
        verdict = judge_take(point, readings, retest=record.retest, conditions=conditions, each=each)
        judged.append(record if verdict is record.verdict else replace(record, verdict=verdict))
    return judged


def restand(
    standing: Standing, point: Point, records: Iterable[Record], conditions: Conditions = UNSTATED
) -> Standing:
    """The standing that follows from the point's records and marks.

    Once the take the next reading would belong to is complete, the next reading belongs to another.
    Takes follow one another as they were completed: readings moved here may be older than others.
    """
    takes: dict[int, list[Record]] = {}
    for record in records:
        if record.is_valid:
            takes.setdefault(record.take, []).append(record)
    whole = [taken for taken in takes.values() if len(taken) >= point.repeats]
    whole.sort(key=lambda taken: taken[-1].row)
    complete = [take_result(point, taken, conditions) for taken in whole]
    as_found = complete[0] if complete else None
    as_left = complete[-1] if complete else None
    is_done = len(takes.get(standing.take, ())) >= point.repeats
    # A void or a move may take away the very take that had been asked for.
    answered = max(standing.kept, as_left.last.row if as_left is not None else 0)
    is_asked = bool(standing.asked) and standing.asked[-1] > answered
    return replace(
        standing,
        take=standing.take + is_done,
        asked_again=is_asked,
        as_found=as_found,
        as_left=as_left,
        state=state_of(standing.mark, as_left, is_asked=is_asked),
    )


def take_of_moved(record: Record, point: Point, there: Standing, others: Sequence[Record]) -> int:
    """The take at ``point`` of a record that is moved there, whose own records are ``others``, in order.

    Where its place in their order is beside a take that is short of a reading, and no other take
    was asked for in between, it belongs to that one. Else it is the next reading of the point, if
    nothing there is later; and a take of its own, below all others, if something is.
    """
    held = [other for other in others if other.is_valid]
    before = [other for other in held if other.row < record.row][-1:]
    after = [other for other in held if other.row > record.row][:1]

    def is_apart(row: int) -> bool:
        first, last = sorted((row, record.row))
        return any(first < asked < last for asked in there.asked)

    for beside in (*before, *after):
        size = sum(other.take == beside.take for other in held)
        if size < point.repeats and not is_apart(beside.row):
            return beside.take
    if not after and not any(asked > record.row for asked in there.asked):
        return there.take
    return min((0, *(other.take for other in others))) - 1


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
        as_left = take_result(point, taken, conditions)
        as_found = as_found or as_left
    is_asked = standing.asked_again and not is_done
    return _standing_of(
        state_of(None, as_left, is_asked=is_asked),
        (*standing.records, taken[-1].record),
        standing.take + is_done,
        standing.reworked,
        standing.asked,
        standing.kept,
        is_asked,
        as_found,
        as_left,
        None,  # a reading takes the mark away, and its reason
        standing.attempts,
        "",
        standing.discrepancy,
        standing.paper_row,
    )


def stand_after(standing: Standing, numbers: Sequence[int], first: Record, last: Record) -> Standing:
    """The standing after readings of which each is a complete take of its own, as :func:`restand` has it.

    Args:
        standing: as it was; every complete take of it lies before the one the next reading belongs to.
        numbers: of the records, in their order.
        first: the record of the first of them, judged.
        last: the record of the last of them.
    """
    as_left = _result_of((last,), last.reading, last.verdict)
    as_found = standing.as_found
    if as_found is None:
        as_found = as_left if first is last else _result_of((first,), first.reading, first.verdict)
    return _standing_of(
        STATES[last.verdict],
        (*standing.records, *numbers),
        last.take + 1,
        standing.reworked,
        standing.asked,
        standing.kept,
        False,  # what was asked for again is there
        as_found,
        as_left,
        None,  # a reading takes the mark away, and its reason
        standing.attempts,
        "",
        standing.discrepancy,
        standing.paper_row,
    )


SETTLED = (State.PASSED, State.RECORDED, State.WAIVED)

# What a point's last complete take makes of it.
STATES = {
    Verdict.PASS: State.PASSED,
    Verdict.CONDITIONAL_PASS: State.PASSED,
    Verdict.CONDITIONAL_FAIL: State.FAILED,
    Verdict.FAIL: State.FAILED,
    Verdict.NOTED: State.RECORDED,
}


def state_of(mark: State | None, as_left: Result | None, *, is_asked: bool) -> State:
    """The state of a point. One that is to be taken again is open until it is, whatever it read before.

    A failed one stays failed: its paper and its rework are looked for under that.
    """
    if mark is State.WAIVED:
        return State.WAIVED
    stood = STATES[as_left.verdict] if as_left is not None else None
    if stood is None or (is_asked and stood is not State.FAILED):
        return mark or State.OPEN
    return stood


def take_result(point: Point, records: Sequence[Record], conditions: Conditions) -> Result:
    """What the judged readings of one take give; of one that is not complete, what they give so far."""
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
    step = Decimal(1).scaleb(finest.adjusted() - 1)  # one digit finer than the finest, if that will do
    limit = held_limit(point, retest=records[-1].retest, celsius=conditions.celsius)
    value = Resistance(round_beside(limit, ohms, step), Unit.OHM).to(point.unit)
    return with_voltages(value, readings)
