"""The drift watch: is the record a point ahead of or behind the prober?

While values come in, each is held against what its point, and the points around it, should read.
A forward pass over the hidden states of :mod:`fieldtui.core.drift.states` keeps the probability of
every shift; one pass back, run only when the watch speaks up, tells where the shift began.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from fieldtui.core.drift.expectations import Expectation
from fieldtui.core.drift.states import SPREAD_FACTORS, Belief, Model, Rates, Row, build_model

MARGIN = 0.43  # some shift must be likelier than 0.5 by this much before the watch speaks up
_WINDOW = 64  # readings over which the beginning of a shift is looked for
_RULED_OUT = 1e-12  # a hypothesis about today that is less likely is not followed any more
_EVIDENCE = 12  # readings shown with an alarm, the latest ones

SILENT = (
    "no earlier survey, expected band, family or conductor tells the points apart; "
    "limits alone say too little, so the drift watch stays silent"
)


@dataclass(frozen=True, slots=True)
class WatchedReading:
    """A reading as the record has it: ``place`` counts along the plan from 0.

    ``ohms`` is None where the reading says nothing of its point: its bond was repaired since the last survey.
    """

    record: int
    place: int
    ohms: Decimal | None


@dataclass(frozen=True, slots=True)
class Evidence:
    """One reading against both expectations; None where the shift would lead off the plan."""

    record: int
    ohms: Decimal
    as_recorded: Expectation
    as_shifted: Expectation | None


@dataclass(frozen=True, slots=True)
class Alarm:
    """Prober and record have parted, or met again.

    ``shift`` is how many points the prober is ahead of the record: below zero behind, zero back
    in step, None where the section is walked from its far end. It is the likeliest one, at
    ``probability``; that things changed at all has the probability ``changed``. ``began_at`` is the
    likeliest record of the beginning, which is not before ``not_before`` at 0.9 or more.
    """

    record: int  # the reading at which the watch first spoke up about it
    shift: int | None
    probability: float
    changed: float
    began_at: int
    not_before: int
    cause: str
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    """One reading taken in: what came of it, kept for the pass back."""

    reading: WatchedReading
    enters: bool
    before: Belief
    total: float  # probability density of the reading, given all before it


@dataclass(frozen=True, slots=True)
class Watch:
    """What is believed after the readings so far. Immutable: :meth:`after` gives the next one.

    ``alarm`` is set only on the watch that follows the reading at which it spoke up; ``alarms``
    holds one for each shift. Where later readings show that a shift was named wrongly, ``alarm``
    is set once more and takes the first one's place. ``acknowledged`` is the state last spoken of.
    """

    model: Model = field(repr=False)
    margin: float
    belief: Belief = field(repr=False)
    acknowledged: int
    section: str | None = None
    alarm: Alarm | None = None
    alarms: tuple[Alarm, ...] = ()
    recent: tuple[_Step, ...] = field(default=(), repr=False)

    @property
    def silence(self) -> str | None:
        """Why the watch cannot speak up, in words, or None where it can."""
        return None if self.model.is_telling else SILENT

    @property
    def probabilities(self) -> dict[int | None, float]:
        """Probability by shift; None is the section walked from its far end."""
        row = _over_hypotheses(self.belief)
        return {_shift(self.model, state): p for state, p in enumerate(row)}

    @property
    def shift(self) -> int | None:
        """The shift last spoken of, 0 at first."""
        return _shift(self.model, self.acknowledged)

    def after(self, place: int, ohms: Decimal | None, record: int) -> Watch:
        """The watch once ``ohms`` was keyed as ``record`` for the point at ``place`` of the plan.

        None where what was keyed says nothing of the point, see :class:`WatchedReading`.

        Raises:
            IndexError: where ``place`` is not in the plan.
        """
        model = self.model
        if not 0 <= place < len(model.plan):
            raise IndexError(f"place {place} is not one of the plan's {len(model.plan)}")
        if self.silence:
            return self
        reading = WatchedReading(record, place, ohms)
        section = model.plan[place].section
        enters = section != self.section
        joint = [
            [p * like for p, like in zip(model.moved(row, enters=enters), seen, strict=True)]
            if any(row)
            else row
            for row, seen in zip(self.belief, _seen(model, reading), strict=True)
        ]
        total = math.fsum(map(math.fsum, joint))
        step = _Step(reading, enters, self.belief, total)
        taken_in = replace(
            self,
            belief=tuple(_scaled(row, total) for row in joint),
            # A reversed walk ends with its section; that needs no second alarm.
            acknowledged=model.in_step
            if enters and self.acknowledged == model.reversed
            else self.acknowledged,
            section=section,
            alarm=None,
            recent=(*self.recent[1 - _WINDOW :], step),
        )
        return taken_in._spoken_up()

    def settled(self) -> Watch:
        """The watch once the crew has looked and brought prober and record into step.

        What was learned of today's spread is kept; everything about a shift is forgotten.
        """
        row_of = range(self.model.reversed + 1)
        belief = tuple(
            tuple(math.fsum(row) if state == self.model.in_step else 0.0 for state in row_of)
            for row in self.belief
        )
        return replace(self, belief=belief, acknowledged=self.model.in_step, alarm=None, recent=())

    def _spoken_up(self) -> Watch:
        row = _over_hypotheses(self.belief)
        changed = math.fsum(p for state, p in enumerate(row) if state != self.acknowledged)
        state = max((s for s in range(len(row)) if s != self.acknowledged), key=row.__getitem__)
        # The first word may come before it is plain which shift it is; another word may not.
        sure = changed if self.acknowledged == self.model.in_step else row[state]
        if sure < 0.5 + self.margin:
            return self
        begin, earliest = _beginning(self, state)
        shift = _points_ahead(self, state, begin)
        alarm = Alarm(
            record=self.recent[-1].reading.record,
            shift=shift,
            probability=row[state],
            changed=changed,
            began_at=begin,
            not_before=earliest,
            cause=_cause(shift),
            evidence=tuple(_evidence(self, shift, begin)),
        )
        spoken = self.alarms
        if spoken and alarm.shift != 0 and spoken[-1].shift != 0 and begin <= spoken[-1].record:
            alarm, spoken = replace(alarm, record=spoken[-1].record), spoken[:-1]
        return replace(self, acknowledged=state, alarm=alarm, alarms=(*spoken, alarm))


def begin_watch(
    plan: Sequence[Expectation],
    rates: Rates | None = None,
    margin: float = MARGIN,
    factors: Sequence[float] = SPREAD_FACTORS,
) -> Watch:
    """A watch before its first reading.

    Args:
        plan: what is expected, in the order of the walk: a reversed rest of a section reversed, an
            inserted point inserted, a point read three times standing there three times.
        margin: how much likelier than 0.5 some shift must be, from 0 to below 0.5.
        factors: how far the learned spreads may be off today; ``(1.0,)`` takes them as they are.
    """
    if not 0 <= margin < 0.5:
        raise ValueError("the margin is at least 0 and below 0.5")
    model = build_model(plan, rates or Rates(), factors)
    return Watch(model=model, margin=margin, belief=model.begin(), acknowledged=model.in_step)


def fold_watch(
    plan: Sequence[Expectation],
    readings: Iterable[WatchedReading],
    *,
    settled_at: Collection[int] = (),
    rates: Rates | None = None,
    margin: float = MARGIN,
) -> Watch:
    """The watch from scratch: after an amendment, a resume, a keyed-in paper sheet.

    ``settled_at`` holds the records after which the crew had looked and was in step again, void ones too.
    """
    watch, settled = begin_watch(plan, rates, margin), sorted(settled_at, reverse=True)
    for reading in readings:
        while settled and settled[-1] < reading.record:
            watch = watch.settled()
            settled.pop()
        watch = watch.after(reading.place, reading.ohms, reading.record)
    return watch.settled() if settled else watch


def _seen(model: Model, reading: WatchedReading) -> list[list[float]]:
    return model.likelihoods(reading.place, _log(reading))


def _log(reading: WatchedReading) -> float | None:
    """ln(ohm) of a reading, None where it says nothing."""
    return math.log(reading.ohms) if reading.ohms is not None and reading.ohms > 0 else None


def _scaled(row: Sequence[float], total: float) -> Row:
    """A row of a belief, made to be part of one; nought and over where its hypothesis is ruled out."""
    whole = math.fsum(row)
    return tuple(p / total for p in row) if whole > _RULED_OUT * total else (0.0,) * len(row)


def _over_hypotheses(belief: Belief) -> Row:
    return tuple(map(sum, zip(*belief, strict=True)))


def _shift(model: Model, state: int) -> int | None:
    """How many entries of the plan ``state`` is ahead; None for the reversed section."""
    return None if state == model.reversed else state - model.in_step


def _points_ahead(watch: Watch, state: int, begin: int) -> int | None:
    """How many points ahead ``state`` is: what readings that belong to other points can be moved by.

    A point that is read several times stands in the plan as often, and one point ahead is several entries
    ahead. Where the readings since ``begin`` lie differently many points from theirs by it (points are read
    differently often, or a take was a reading short), it is the number that suits them best.
    """
    model, entries = watch.model, _shift(watch.model, state)
    if not entries or len(model.firsts) == len(model.plan):
        return entries
    since = [step.reading for step in watch.recent if step.reading.record >= begin]
    there = [(each.place, each.place + entries) for each in since]
    apart = {model.points[b] - model.points[a] for a, b in there if 0 <= b < len(model.plan)} - {0}
    if len(apart) < 2:
        return next(iter(apart), 1 if entries > 0 else -1)
    return max(
        sorted(apart, key=abs),
        key=lambda points: math.fsum(_log_likelihood(model, each, points) for each in since),
    )


def _log_likelihood(model: Model, reading: WatchedReading, points: int) -> float:
    """How well a reading suits the point so many points further; nothing lies off the plan."""
    there = model.further(reading.place, points)
    if there is None:
        return -math.inf
    rows = model.likelihoods(there, _log(reading))
    return math.log(sum(w * row[model.in_step] for w, row in zip(model.weights, rows, strict=True)))


def beginnings(watch: Watch, state: int) -> list[tuple[int, float]]:
    """How probable each recent record is as the one at which ``state`` began, and lasted till now.

    Newest first. Together with the chance that it began before the window, the probabilities sum
    to the probability of ``state``.
    """
    model = watch.model
    lasted = [1.0] * len(watch.belief)  # by hypothesis: the state held from a step's end till now
    found: list[tuple[int, float]] = []
    for step in reversed(watch.recent):
        stay = model.stay(state, enters=step.enters)
        began = 0.0
        for at, (row, seen) in enumerate(zip(step.before, _seen(model, step.reading), strict=True)):
            lasted[at] *= seen[state] / step.total
            entered = model.moved(row, enters=step.enters)[state] - row[state] * stay
            began += max(entered, 0.0) * lasted[at]
            lasted[at] *= stay
        found.append((step.reading.record, began))
    return found


def _beginning(watch: Watch, state: int) -> tuple[int, int]:
    """The likeliest record of the beginning, and the earliest of those that make up 0.9."""
    ranked = beginnings(watch, state)
    total = sum(p for _, p in ranked)
    running, earliest = 0.0, ranked[-1][0]
    for record, p in ranked:
        running += p
        if running >= 0.9 * total:
            earliest = record
            break
    likeliest = max(ranked, key=lambda pair: pair[1])[0]
    return likeliest, min(earliest, likeliest)


def _evidence(watch: Watch, shift: int | None, begin: int) -> Iterator[Evidence]:
    model = watch.model
    since = [step.reading for step in watch.recent if step.reading.record >= begin]
    telling = [(reading, reading.ohms) for reading in since if reading.ohms is not None]
    for reading, ohms in telling[-_EVIDENCE:]:
        there = model.mirror[reading.place] if shift is None else model.further(reading.place, shift)
        yield Evidence(
            record=reading.record,
            ohms=ohms,
            as_recorded=model.plan[reading.place],
            as_shifted=model.plan[there] if there is not None else None,
        )


def _cause(shift: int | None) -> str:
    match shift:
        case None:
            return "section walked from its far end"
        case 0:
            return "prober and record in step again"
        case 1:
            return "one point passed over"
        case -1:
            return "one reading too many"
        case _ if shift > 0:
            return f"{shift} points passed over"
        case _:
            return f"{-shift} readings too many"
