"""Why a number check disagrees: ranked explanations, and what each would change.

The record expected the meter's last number to be ``expected``; the prober read out ``called``.
Either one slip happened since the last check that agreed, at one place, or the number was misheard
or misread, or more went wrong than one slip explains. Each way is weighed by its prior rate; the
weights are made to sum to one (Bayes' rule: each way foretells the called number with certainty,
but for the mishearing, where it is the chance of that very digit slip).

Two slips in two places, or a slip and a misheard number together, are weighed as one lump
(:attr:`Kind.SEVERAL`), whose place nobody can tell from the number alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from enum import Enum

from fieldtui.core.drift.mishearing import mishearings
from fieldtui.core.measurement.ohms import Resistance

_NEGLIGIBLE = 1e-6  # ways so much rarer than the likeliest are not shown


class Kind(Enum):
    """What went wrong. The value is the wording on screens."""

    STORED_TWICE = "stored twice"
    NOT_STORED = "not stored"
    SPOILED = "spoiled number"
    UNANNOUNCED = "unannounced reading"
    MISHEARD = "number misheard"
    TAKEN_BACK = "the last answer was wrong: take it back"
    NOT_CLEARED = "the memory was not cleared"
    RESTARTED = "memory began anew"
    SEVERAL = "more than one slip"


@dataclass(frozen=True, slots=True)
class SlipRates:
    """Prior rates, all settable.

    ``disturbed`` follows Altmann et al. 2014 (interruptions of 2.8 s double sequence errors, of
    4.4 s triple them); ``misheard`` Barenfanger 2004 (read-back caught errors in 3.5 % of calls).
    The slips at the meter take the published 0.29 % of single-entry keying errors (Garza et al.
    2025) for want of a rate of their own; what else there is, is common practice, no source.

    So is ``restarted``: a memory is emptied by several keys pressed on purpose, or with the supply lost.
    Either breaks off the work, and leaves a pause or a long gap, or the crew begins a run. Without such a
    sign it is far rarer than a wrong number: in 20 readings and their check two in ten thousand, against
    350. ``misheard_otherwise`` is the share of wrong numbers that are no single digit slip, of those 350;
    Verhoeff 1969 leaves about 9 % (from memory).
    """

    stored_twice: float = 0.003  # per reading
    not_stored: float = 0.003  # per reading
    unannounced: float = 0.003  # per gap between readings
    spoiled: float = 0.0005  # per gap in which no attempt was noted
    spoiled_by_attempt: float = 0.1  # per noted attempt that gave no value
    again: float = 0.05  # a slip goes on for one more number at the same place
    same_digits: float = 5.0  # a reading keyed like the one before is so much likelier a double
    disturbed: float = 2.5  # factor on every slip next to a pause, skip, redo or void
    restarted: float = 0.00001  # per gap that nothing disturbed: memory cleared, or another meter
    restarted_at_break: float = 0.0005  # per gap with a pause, long gap, skip, redo, void or filed try
    misheard_otherwise: float = 0.09  # of wrong numbers: some other number, of another entry or none
    wrong_answer: float = 0.3  # an answer to differing numbers that no number confirmed since
    slip_besides: float = 0.01  # and, with a wrong answer, any one slip besides
    not_cleared: float = 0.02  # per run begun: the meter went on with the memory it had
    misheard: float = 0.035  # per call of a number
    misheard_again: float = 0.1  # a wrong number is read out or heard the same way once more
    beside: float = 0.003  # the next free number, or the one before the last, is read out
    unlisted: float = 0.00001  # anything not listed here, per check

    def __post_init__(self) -> None:
        wrong = [field.name for field in fields(self) if getattr(self, field.name) <= 0]
        if wrong:
            raise ValueError(f"rates are above zero: {', '.join(wrong)}")


@dataclass(frozen=True, slots=True)
class NumberedReading:
    """A reading since the last check that agreed, with the number the record gave it.

    ``attempts`` counts tries without a value just before it; ``is_disturbed`` says that a pause,
    skip, redo, void or long gap came just before it.
    """

    record: int
    number: int
    reading: Resistance
    attempts: int = 0
    is_disturbed: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """What choosing an explanation at one place would do to the numbers.

    Records from ``moves_from`` on move ``by`` numbers (None: no record's own number moves);
    records in ``loses`` have none any more; the next reading gets ``next_number``. Where the memory
    began anew the moved numbers belong to a new run. With ``settles`` false the number alone does
    not say which records move: reconcile will. ``takes_back`` is how many of the survey's last
    corrections are gone back on; ``effect`` says what that does.
    """

    probability: float
    moves_from: int | None
    by: int
    loses: tuple[int, ...]
    next_number: int
    words: str
    settles: bool = True
    takes_back: int = 0
    effect: str = ""


@dataclass(frozen=True, slots=True)
class WayBack:
    """An earlier correction, or several, that the called number speaks against.

    Without it the called number is right, or, where ``is_all`` is false, differs still. ``change`` goes
    back on it; its probability is not looked at. ``answers`` is how many corrections they are; ``is_run``
    where it is only that a run was begun; ``is_agreed`` where a number called since agreed.
    """

    change: Change
    answers: int = 1
    is_run: bool = False
    is_agreed: bool = False
    is_all: bool = True


@dataclass(frozen=True, slots=True)
class Explanation:
    """One way it may have come about; its places summed, the likeliest place first."""

    kind: Kind
    probability: float
    changes: tuple[Change, ...]


def explain_mismatch(
    readings: Sequence[NumberedReading],
    expected: int,
    called: int,
    *,
    first_number: int = 1,
    times_called: int = 1,
    attempts_since: int = 0,
    since_it_differed: int = 0,
    ways_back: Sequence[WayBack] = (),
    rates: SlipRates | None = None,
) -> tuple[Explanation, ...]:
    """Ranked explanations of ``called`` where the record expected ``expected``; their sum is 1.

    Args:
        readings: those since the last check that agreed, in order; may be empty.
        first_number: the number of the first reading in an empty memory.
        times_called: how often the same number was read out; each time makes a mishearing rarer.
        attempts_since: tries without a value after the last reading, up to when the numbers were first
            read to differ so.
        since_it_differed: how many of the readings were taken after that; what went wrong did so before.
        ways_back: earlier corrections that may have been wrong.

    Raises:
        ValueError: where the numbers agree (nothing to explain) or are below zero, or the
            readings' numbers do not rise to ``expected``.
    """
    numbers = [r.number for r in readings]
    if called == expected or min(called, expected) < 0 or times_called < 1:
        raise ValueError(f"called {called}, expected {expected}: there is nothing to explain")
    if numbers != sorted(set(numbers)) or (numbers and numbers[-1] > expected):
        raise ValueError("numbers of the readings must rise, up to the expected one")
    before = len(readings) - since_it_differed
    rates = rates or SlipRates()
    case = _Case(tuple(readings), expected, called, first_number, attempts_since, before, rates)
    ways = [*case.more(), *case.fewer(), *case.restarted(), *case.misheard(times_called), case.several()]
    return _ranked([*ways, *(_taken_back(way, rates) for way in ways_back)])


def explain_without_numbers(
    called: int, *, ways_back: Sequence[WayBack] = (), rates: SlipRates | None = None
) -> tuple[Explanation, ...]:
    """What there is while the memory should be empty and begins with 0: nothing tells the first two apart."""
    rates = rates or SlipRates()
    words = "readings were filed that the record does not know of"
    unannounced = Change(rates.unannounced, None, called + 1, (), called + 1, words)
    misheard = Change(rates.unannounced, None, 0, (), 0, f"{called} was misheard: no reading is filed yet")
    ways = [(Kind.UNANNOUNCED, unannounced), (Kind.MISHEARD, misheard)]
    return _ranked([*ways, *(_taken_back(way, rates) for way in ways_back)])


_Way = tuple[Kind, Change]  # with its prior weight where the probability will stand


def _ranked(ways: Sequence[_Way]) -> tuple[Explanation, ...]:
    """The weights made to sum to one, and put in order.

    A misheard number is always among them: it is what the crew can be sure of, and takes nothing but
    another look.
    """
    heaviest = max(change.probability for _, change in ways)
    ways = [way for way in ways if way[0] is Kind.MISHEARD or way[1].probability > _NEGLIGIBLE * heaviest]
    total = math.fsum(change.probability for _, change in ways)
    found: dict[Kind, list[Change]] = {}
    for kind, change in ways:
        found.setdefault(kind, []).append(replace(change, probability=change.probability / total))
    explanations = [
        Explanation(
            kind,
            math.fsum(change.probability for change in changes),
            tuple(sorted(changes, key=lambda change: -change.probability)),
        )
        for kind, changes in found.items()
    ]
    return tuple(sorted(explanations, key=lambda explanation: -explanation.probability))


def _taken_back(way: WayBack, rates: SlipRates) -> _Way:
    """A number that agreed since would have had to be wrong by chance just as much."""
    weight = rates.not_cleared if way.is_run else rates.wrong_answer**way.answers
    if way.is_agreed:
        weight *= rates.misheard * rates.misheard_again
    if not way.is_all:
        weight *= rates.slip_besides
    return Kind.NOT_CLEARED if way.is_run else Kind.TAKEN_BACK, replace(way.change, probability=weight)


@dataclass(frozen=True, slots=True)
class _Case:
    """One disagreeing check, and the ways it may have come about, each with its prior weight."""

    readings: tuple[NumberedReading, ...]
    expected: int
    called: int
    first_number: int
    attempts_since: int
    before: int  # readings taken when the numbers were first read to differ so
    rates: SlipRates

    @property
    def by(self) -> int:
        return self.called - self.expected

    def more(self) -> Iterator[_Way]:
        """The meter holds more than the record knows of."""
        if self.by < 1:
            return
        rates, extent = self.rates, self.rates.again ** (self.by - 1)
        often = "" if self.by == 1 else f", {self.by} numbers too many"
        for place, reading in enumerate(self.readings[: self.before]):
            weight = rates.stored_twice * extent * self._disturbance(place)
            words = f"record {reading.record} was stored again{often}"
            yield Kind.STORED_TWICE, self._moved(weight, place + 1, words)
        for place in range(self.before + 1):
            factor, where = extent * self._disturbance(place), self._gap(place)
            noted = math.comb(self._attempts(place), self.by) * rates.spoiled_by_attempt**self.by
            words = f"a number was used up without a value {where}{often}"
            yield Kind.SPOILED, self._moved(rates.spoiled * factor + noted, place, words)
            words = f"a reading was taken but not called {where}{often}"
            yield Kind.UNANNOUNCED, self._moved(rates.unannounced * factor, place, words)

    def fewer(self) -> Iterator[_Way]:
        """The record holds more than the meter: some reading never reached the memory."""
        missing = -self.by
        if missing < 1:
            return
        rates = self.rates
        for place in range(self.before - missing + 1):
            lost = self.readings[place : place + missing]
            weight = rates.not_stored * rates.again ** (missing - 1) * self._disturbance(place)
            if self._is_same_as_before(place):
                weight *= rates.same_digits
            records = tuple(reading.record for reading in lost)
            named = f"record {records[0]}" if missing == 1 else f"records {records[0]} to {records[-1]}"
            words = f"{named} never reached the memory"
            yield Kind.NOT_STORED, self._moved(weight, place + missing, words, records)

    def restarted(self) -> Iterator[_Way]:
        """The memory was cleared, or the meter changed, and what is in it now came after.

        Not every number is a reading's: tries that were filed use up numbers, too.
        """
        numbers = [reading.number + self.by - self.first_number for reading in self.readings]
        place = next((at for at, number in enumerate(numbers) if number >= 0), len(numbers))
        unread = [*numbers, self.called - self.first_number + 1][place]  # entries before its first reading
        if self.by < 0 <= unread and place <= self.before and (place or unread <= self._attempts(0)):
            is_break = self._disturbance(place) > 1 or self._attempts(place) > 0
            weight = self.rates.restarted_at_break if is_break else self.rates.restarted
            words = f"the memory was empty again {self._gap(place)}"
            yield Kind.RESTARTED, self._moved(weight, place, words)

    def misheard(self, times: int) -> Iterator[_Way]:
        """The record is right; what was read out, heard or keyed is not."""
        again = self.rates.misheard_again ** (times - 1)
        for how, chance in mishearings(str(self.expected), str(self.called)):
            words = f"{self.expected} became {self.called}: {how}"
            yield Kind.MISHEARD, self._unmoved(self.rates.misheard * chance * again, words)
        if abs(self.by) == 1:
            beside = "the next free number" if self.by == 1 else "the number before it"
            words = f"{self.called} is {beside}, not the last one filed"
            yield Kind.MISHEARD, self._unmoved(self.rates.beside * again, words)
        # As likely another entry's as any number that looks like one.
        others = 0.5 / max(1, self.expected) if self.called <= self.expected else 0.0
        others += 0.5 / 10 ** max(len(str(self.called)), len(str(self.expected)))
        weight = self.rates.misheard * self.rates.misheard_otherwise * others * again
        words = f"{self.called} is another number altogether, or that of another entry"
        yield Kind.MISHEARD, self._unmoved(weight, words)

    def several(self) -> _Way:
        """Two slips or more, at different places; counts of either kind taken as Poisson."""
        rates, count = self.rates, self.before
        up = count * rates.stored_twice + (count + 1) * (rates.unannounced + rates.spoiled)
        down = count * rates.not_stored
        many, few = (up, down) if self.by > 0 else (down, up)
        apart = sum(
            _poisson(many, abs(self.by) + undone) * _poisson(few, undone)
            for undone in range(3)
            if abs(self.by) + 2 * undone >= 2
        )
        weight = rates.unlisted + apart
        words = "the number alone does not tell what happened; reconcile with the memory list"
        return Kind.SEVERAL, Change(weight, None, self.by, (), self.called + 1, words, settles=False)

    def _moved(self, weight: float, place: int, words: str, loses: tuple[int, ...] = ()) -> Change:
        first = self.readings[place].record if place < len(self.readings) else None
        return Change(weight, first, self.by, loses, self.called + 1, words)

    def _unmoved(self, weight: float, words: str) -> Change:
        return Change(weight, None, 0, (), self.expected + 1, words)

    def _gap(self, place: int) -> str:
        if place < len(self.readings):
            return f"before record {self.readings[place].record}"
        return f"after record {self.readings[-1].record}" if self.readings else "since the last check"

    def _attempts(self, place: int) -> int:
        return self.readings[place].attempts if place < self.before else self.attempts_since

    def _disturbance(self, place: int) -> float:
        is_disturbed = place < self.before and self.readings[place].is_disturbed
        return self.rates.disturbed if is_disturbed else 1.0

    def _is_same_as_before(self, place: int) -> bool:
        if place == 0:
            return False
        now, before = self.readings[place].reading, self.readings[place - 1].reading
        return (now.digits, now.unit) == (before.digits, before.unit)


def _poisson(mean: float, count: int) -> float:
    if mean <= 0:
        return float(count == 0)
    return math.exp(count * math.log(mean) - mean - math.lgamma(count + 1))
