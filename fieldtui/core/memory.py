"""Memory runs: which number the meter files the next reading under.

The meter counts; the record predicts. Every reading filed moves the number on by one, from the
first number of the run until the memory is full.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fieldtui.core.tables import Instrument


@dataclass(frozen=True, slots=True)
class MemoryRun:
    """One filling of one meter's memory.

    ``next_number`` is the number the next reading will get; ``last_number`` the highest the
    memory can hold, None where the meter's size is not known.
    """

    run: int
    began_at: int  # number of the first reading of this run
    next_number: int
    last_number: int | None = None

    @property
    def is_full(self) -> bool:
        return self.last_number is not None and self.next_number > self.last_number

    @property
    def room(self) -> int | None:
        """Readings that still fit, None where the size is not known."""
        return None if self.last_number is None else max(0, self.last_number - self.next_number + 1)

    @property
    def filed_last(self) -> int | None:
        """The number the meter shows as its last, None before the run's first reading."""
        return self.next_number - 1 if self.next_number > self.began_at else None

    def after(self, number: int) -> MemoryRun:
        """The run once something was filed under ``number``."""
        return replace(self, next_number=number + 1)


def begin_run(instrument: Instrument, run: int, number: int) -> MemoryRun:
    """Run number ``run`` whose first reading gets ``number``."""
    last = instrument.first_number + instrument.memory_size - 1 if instrument.memory_size else None
    return MemoryRun(run=run, began_at=number, next_number=number, last_number=last)
