"""Memory runs: which number the meter files the next reading under.

The meter counts; the record predicts. Every reading filed moves the number on by one, from the
first number of the run until the memory is full.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from fieldtui.core.plan.tables import Instrument

FIRST_RUN = "start of the walk"  # the reason of run 1, in the crew's table as well; no other run's
LIST_ENDS = "the memory list ends there"  # why the next number is another, where a list alone says so
LOWERED_BY_LIST = "number lowered by the list"  # why a number check is due then

_UNDECIDED = re.compile(r", ([1-9][0-9]{0,5}) undecided\b")


def undecided_in(note: str) -> int:
    """How many lines a reconcile row counts as undecided still."""
    found = _UNDECIDED.search(note)
    return int(found[1]) if found is not None else 0


@dataclass(frozen=True, slots=True)
class Differed:
    """When the meter's number was first read to be ``by`` ahead of the record's (below zero: behind).

    ``next_record`` is the record that was next then, ``attempts_since`` the tries without a value since
    the reading before it: what went wrong had gone wrong by then.
    """

    by: int
    next_record: int
    attempts_since: int


@dataclass(frozen=True, slots=True)
class Correction:
    """What one row did to the numbers, as far as it takes to go back on it.

    From record ``first`` on, numbers moved by ``by``, as the next number did; where ``run`` is not
    ``was_run`` they belong to ``run`` since. ``had`` are records that lost their number just before, or
    got one (None), with the number they had. ``unchecked`` is the first record until then since the numbers
    were known to agree.
    """

    row: int
    run: int
    was_run: int
    by: int
    first: int
    unchecked: int = 1
    had: tuple[tuple[int, int | None], ...] = ()
    is_answer: bool = True  # to numbers that differed; else a run was begun, or a list told so
    is_agreed: bool = False  # a number called since agreed, or a list told so

    def goes_back_on(self, other: Correction) -> bool:
        """Whether it has undone the one before it."""
        return (self.by, self.run, self.was_run) == (-other.by, other.was_run, other.run)

    @property
    def is_part(self) -> bool:
        """Whether it is about one record alone, and the row that moves the numbers is still to come."""
        return self.first == 0


@dataclass(frozen=True, slots=True)
class MemoryRun:
    """One filling of one meter's memory.

    ``next_number`` is the number the next reading will get; ``first_number`` the one an empty
    memory begins with, ``last_number`` the highest it can hold, None where its size is not known.
    """

    run: int
    next_number: int
    first_number: int = 1
    last_number: int | None = None
    meter: int = 0  # its place among the meters of the session

    @property
    def is_full(self) -> bool:
        return self.last_number is not None and self.next_number > self.last_number

    @property
    def room(self) -> int | None:
        """Readings that still fit, None where the size is not known."""
        return None if self.last_number is None else max(0, self.last_number - self.next_number + 1)

    @property
    def filed_last(self) -> int | None:
        """The number the meter shows as its last, None while its memory is empty."""
        return self.next_number - 1 if self.next_number > self.first_number else None

    def after(self, number: int) -> MemoryRun:
        """The run once something was filed under ``number``."""
        return replace(self, next_number=number + 1)

    def erased(self, number: int, *, stays_used: bool) -> MemoryRun:
        """The run once the entry under ``number`` was deleted on the meter.

        Where the number does not stay used and was the last one, the next reading gets it again.
        """
        is_last = number == self.next_number - 1
        return replace(self, next_number=number) if is_last and not stays_used else self


def begin_run(instrument: Instrument, run: int, number: int, meter: int = 0) -> MemoryRun:
    """Run number ``run``, whose first reading gets ``number``; ``meter`` is the meter's place."""
    return MemoryRun(run, number, instrument.first_number, _last_number(instrument), meter)


def number_refusal(instrument: Instrument, number: int) -> str | None:
    """Why the meter cannot file a reading under ``number``, or None where it can."""
    first, last = instrument.first_number, _last_number(instrument)
    if number < first:
        return f"memory number {number} is below this meter's first, {first}"
    if last is not None and number > last:
        return f"memory number {number} is beyond this meter's last, {last}"
    return None


def _last_number(instrument: Instrument) -> int | None:
    size = instrument.memory_size
    return instrument.first_number + size - 1 if size else None
