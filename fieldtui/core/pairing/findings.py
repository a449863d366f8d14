"""What reconciling finds, as values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.slips import Slip, ticks


class Finding(Enum):
    """What was found of one entry. The value is the word in files and on screens."""

    SAME = "same"
    KEYED_DIFFERENTLY = "keyed-differently"
    MEMORY_ONLY = "memory-only"
    RECORD_ONLY = "record-only"


class Whole(Enum):
    """What was found of the two lists as wholes, the gravest first."""

    OTHER_SESSION = "list from another session"
    OTHER_UNIT = "list in another unit"
    RECORD_MISSING = "part of the record is not in the list"
    MEMORY_MISSING = "part of the list is not on the record"
    NUMBERS_SHIFTED = "numbers shifted"


_STRANGE = (Whole.OTHER_SESSION, Whole.OTHER_UNIT)  # nothing of such a list is taken over


@dataclass(frozen=True, slots=True)
class Pair:
    """A reading and its entry. ``entry`` is the place in the list as given, from 0.

    ``copies`` are entries beside it that show the very same and belong to no other reading: stored
    twice. The probability is that of this entry or a copy, for no list can tell which came first.
    ``erased_unsaid``: the meter shows the entry as erased, and on record the reading stands;
    ``no_value_unsaid``: it shows no value.
    """

    record: int
    entry: int
    run: int | None
    number: int | None
    probability: float
    finding: Finding
    likely: Resistance  # the value it was, by the list
    slip: Slip | None = None
    copies: tuple[int, ...] = ()
    erased_unsaid: bool = False
    no_value_unsaid: bool = False


@dataclass(frozen=True, slots=True)
class Alone:
    """A reading or an entry that is certainly in one list only; the other list's names are None.

    ``copy_of`` is the place of the entry that this one repeats, where it was stored twice. Of an entry
    ``shown`` is what it shows, and ``shares_number`` is true where the list has its number once more.
    ``filed`` is the check standard as read, where the record has it under that number.
    """

    record: int | None
    entry: int | None
    run: int | None
    number: int | None
    probability: float
    finding: Finding
    copy_of: int | None = None
    shown: Resistance | None = None
    is_erased: bool = False
    shares_number: bool = False
    filed: Resistance | None = None

    @property
    def is_standard(self) -> bool:
        """Whether it is the check standard just as the record has it."""
        if self.filed is None or self.shown is None or self.is_erased:
            return False
        return ticks(self.filed).is_same(ticks(self.shown))


@dataclass(frozen=True, slots=True)
class Option:
    """One possibility for something undecided: a pair, or standing alone (no other side)."""

    probability: float
    finding: Finding
    record: int | None = None
    entry: int | None = None
    run: int | None = None
    number: int | None = None
    likely: Resistance | None = None
    slip: Slip | None = None
    erased_unsaid: bool = False
    no_value_unsaid: bool = False

    @property
    def pair(self) -> Pair | None:
        """The pair that it makes once it is chosen; None where it is something standing alone."""
        if self.record is None or self.entry is None or self.likely is None:
            return None
        return Pair(
            self.record,
            self.entry,
            self.run,
            self.number,
            self.probability,
            self.finding,
            self.likely,
            self.slip,
            erased_unsaid=self.erased_unsaid,
            no_value_unsaid=self.no_value_unsaid,
        )


@dataclass(frozen=True, slots=True)
class Undecided:
    """A reading (``record`` set) or an entry (``entry`` set) with what it may be, likeliest first.

    Of an entry ``shown`` is what it shows.
    """

    record: int | None
    entry: int | None
    run: int | None
    number: int | None
    options: tuple[Option, ...]
    shown: Resistance | None = None
    is_erased: bool = False


@dataclass(frozen=True, slots=True)
class Mismatch:
    """The lists as wholes do not belong together, or not quite.

    ``count`` is how many entries it concerns, ``first`` and ``last`` the record numbers or memory
    numbers they span, ``power`` the power of ten the list's values were taken by, ``shift`` how far
    the meter's numbers are ahead of the record's.
    """

    finding: Whole
    count: int
    first: int | None = None
    last: int | None = None
    power: int = 0
    shift: int = 0


@dataclass(frozen=True, slots=True)
class Pairing:
    """The record held against the list. Every reading and entry is in exactly one of the four parts.

    But for ``not_compared``, records of which the list says nothing either way. ``by_number`` are the runs
    whose lines were put in the order of their numbers; in the runs of ``disordered`` the numbers go up and
    down, and nothing that hangs on them is certain. A run is None in a list that names none.
    """

    pairs: tuple[Pair, ...]
    memory_only: tuple[Alone, ...]
    record_only: tuple[Alone, ...]
    undecided: tuple[Undecided, ...]
    mismatch_of_whole: Mismatch | None = None
    by_number: tuple[int | None, ...] = ()
    disordered: tuple[int | None, ...] = ()
    not_compared: tuple[int, ...] = ()

    @property
    def is_strange(self) -> bool:
        """True where the list as a whole is not this session's, or in another unit."""
        return self.mismatch_of_whole is not None and self.mismatch_of_whole.finding in _STRANGE
