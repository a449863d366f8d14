"""What is to be said of the record and the memory list as wholes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from fieldtui.core.pairing.findings import Mismatch, Whole
from fieldtui.core.pairing.model import MemoryEntry, RecordEntry
from fieldtui.core.slips import Ticks

TELLING = 5  # entries it takes on both sides to speak of the lists as wholes
LONG = 10  # entries in a row on one side only that are worth saying of the whole
_STRANGERS = 0.1  # share of likely equal pairs below which the lists have nothing in common
_POWERS = (3, -3, 6, -6, 9, -9)  # between the units a reading may carry


def common_power(keyed: Sequence[Ticks], listed: Sequence[Ticks | None]) -> int:
    """The power of ten that makes the list's values the record's: 0 unless it is in another unit."""
    values = [value for value in listed if value is not None]
    fewest = min(len(keyed), len(values))
    if fewest < TELLING:
        return 0
    ours = Counter(_two_figures(value, 0) for value in keyed)
    shared = {
        power: (ours & Counter(_two_figures(value, power) for value in values)).total()
        for power in (0, *_POWERS)
    }
    best = max(_POWERS, key=lambda power: shared[power])
    return best if 2 * shared[best] > fewest and shared[best] > 2 * shared[0] else 0


def _two_figures(value: Ticks, power: int) -> tuple[str, int]:
    digits, exponent = f"{value.value:.1e}".split("e")
    return digits, int(exponent) + power


def says_nothing(
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    keyed: Sequence[Ticks],
    listed: Sequence[Ticks | None],
) -> bool:
    """True where no value differs from another and no number is known on both sides."""
    if len(record) + len(memory) <= 2 or not record or not memory:
        return False
    numbered = all(any(entry.number is not None for entry in side) for side in (record, memory))
    return not numbered and all(value is None or value.is_same(keyed[0]) for value in (*keyed, *listed))


def judge_whole(
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    keyed: Sequence[Ticks],
    listed: Sequence[Ticks | None],
    chances: Sequence[dict[int, float]],
    power: int,
) -> Mismatch | None:
    """The gravest thing to be said of the lists as wholes; None where they belong together.

    Args:
        chances: for each reading the posterior of each entry.
        power: what :func:`common_power` found; ``listed`` is already taken by it.
    """
    fewest = min(len(record), len(memory))
    if fewest >= TELLING and _expected_same(keyed, listed, chances) < _STRANGERS * fewest:
        return Mismatch(Whole.OTHER_SESSION, fewest)
    if power:
        return Mismatch(Whole.OTHER_UNIT, len(memory), power=power)
    return (
        _missing(Whole.RECORD_MISSING, [entry.record for entry in record], _lonely_record(chances))
        or _missing(
            Whole.MEMORY_MISSING,
            [entry.number for entry in memory],
            _lonely_memory(len(memory), chances),
        )
        or _shift(record, memory, chances)
    )


def _expected_same(
    keyed: Sequence[Ticks], listed: Sequence[Ticks | None], chances: Sequence[dict[int, float]]
) -> float:
    """How many equal pairs there are, each counted by its posterior."""
    return sum(
        chance
        for ours, entries in zip(keyed, chances, strict=True)
        for entry, chance in entries.items()
        if (value := listed[entry]) is None or ours.is_same(value)
    )


def _lonely_record(chances: Sequence[dict[int, float]]) -> list[bool]:
    return [sum(entries.values()) < 0.5 for entries in chances]


def _lonely_memory(size: int, chances: Sequence[dict[int, float]]) -> list[bool]:
    paired = [0.0] * size
    for entries in chances:
        for entry, chance in entries.items():
            paired[entry] += chance
    return [chance < 0.5 for chance in paired]


def _missing(whole: Whole, names: Sequence[int | None], lonely: Sequence[bool]) -> Mismatch | None:
    """The longest row of entries that stand in one list only, where it is long or all there is."""
    begin, length, row = 0, 0, 0
    for at, alone in enumerate(lonely):
        row = row + 1 if alone else 0
        if row > length:
            begin, length = at - row + 1, row
    if length < LONG and (not length or length < len(names)):
        return None
    return Mismatch(whole, length, first=names[begin], last=names[begin + length - 1])


def _shift(
    record: Sequence[RecordEntry], memory: Sequence[MemoryEntry], chances: Sequence[dict[int, float]]
) -> Mismatch | None:
    """A difference of numbers that most of the likely pairs share."""
    shifts: Counter[int] = Counter()
    for ours, entries in zip(record, chances, strict=True):
        for entry, chance in entries.items():
            number = memory[entry].number
            if chance > 0.5 and ours.number is not None and number is not None:
                shifts[number - ours.number] += 1
    if not shifts:
        return None
    shift, count = shifts.most_common(1)[0]
    if not shift or count < TELLING or 2 * count <= shifts.total():
        return None
    return Mismatch(Whole.NUMBERS_SHIFTED, count, shift=shift)
