"""Reconcile: which entry of the meter's memory list belongs to which reading on the record.

Nothing is guessed. What is not certain (posterior below :data:`CERTAIN`) is handed back as undecided
with its possibilities; where the two lists as wholes do not belong together, that is said.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.voltage import VoltageReading
from fieldtui.core.pairing.band import are_strangers, find_anchors, lay_band
from fieldtui.core.pairing.digits import is_short_of, list_as_shown, record_as_shown
from fieldtui.core.pairing.disorder import Laid, lay
from fieldtui.core.pairing.findings import (
    Alone,
    Finding,
    Mismatch,
    Option,
    Pair,
    Pairing,
    Undecided,
    Whole,
)
from fieldtui.core.pairing.likeness import Likeness
from fieldtui.core.pairing.model import MemoryEntry, Rates, RecordEntry, steps_of
from fieldtui.core.pairing.order import comparable, named_anchors
from fieldtui.core.pairing.rates import UNEXPLAINED, learn_rates, weights_of_shares
from fieldtui.core.pairing.recursion import Band, posteriors
from fieldtui.core.pairing.whole import common_power, judge_whole, says_nothing
from fieldtui.core.slips import Slip, Ticks, explain, ticks

__all__ = [
    "CERTAIN",
    "Alone",
    "Finding",
    "MemoryEntry",
    "Mismatch",
    "Option",
    "Pair",
    "Pairing",
    "Rates",
    "RecordEntry",
    "Undecided",
    "Whole",
    "pair_lists",
]

CERTAIN = 0.999  # posterior from which a finding counts as certain
_NEGLIGIBLE = 1e-7  # posterior below which a possibility is not kept
_WORTH_SHOWING = 1e-3
_LESSONS = 2  # times that the rates are learned from a look and looked with again
_NEVER = 2.0  # no posterior reaches it


def pair_lists(
    record: Sequence[RecordEntry], memory: Sequence[MemoryEntry], rates: Rates | None = None
) -> Pairing:
    """Pair readings with memory entries, both in the order they came.

    Runs may be interleaved on the record (two meters) and stand in any order in the list. A list in
    another unit is paired by its digits and said to be one; nothing of it should be taken over until
    its unit is put right.

    Args:
        rates: how often things go wrong, where that is known; else the published rates are taken and
            moved towards what the two lists show.
    """
    record, shown = record_as_shown(record), list_as_shown(memory)
    listed = [None if entry.reading is None else ticks(entry.reading) for entry in shown]
    keyed = [ticks(entry.reading) for entry in record]
    power = common_power(keyed, listed)
    listed = [None if value is None else _moved(value, power) for value in listed]
    laid = _laid(record, memory, keyed, listed, rates)
    chances = _chances(laid, record, memory, keyed, listed, rates)
    mismatch = judge_whole(record, memory, keyed, listed, chances, power)
    alone_from = pair_from = CERTAIN
    if says_nothing(record, memory, keyed, listed):
        alone_from = pair_from = _NEVER
    elif mismatch is not None and mismatch.finding is Whole.OTHER_SESSION:
        pair_from = _NEVER  # a chance likeness between strangers is not a pair
    sorting = _Sorting(record, memory, shown, laid, power, chances, pair_from, alone_from)
    return sorting.pairing(mismatch)


_Chances = list[dict[int, float]]  # for each reading the posterior of each entry it may belong to


def _laid(
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    keyed: Sequence[Ticks],
    listed: Sequence[Ticks | None],
    rates: Rates | None,
) -> Laid:
    """Both lists in the order of laying."""

    def weigh(ours: Sequence[int], theirs: Sequence[int]) -> float:
        left, right = [record[at] for at in ours], [memory[at] for at in theirs]
        sides = _Sides.of(left, right, [keyed[at] for at in ours], [listed[at] for at in theirs])
        return -math.inf if sides is None else sides.look(rates or Rates())[1]

    return lay(record, memory, weigh)


@dataclass(frozen=True, slots=True)
class _Sides:
    """Both lists in the order of laying, to be looked at under any rates."""

    band: Band
    likeness: Likeness

    @classmethod
    def of(
        cls,
        left: Sequence[RecordEntry],
        right: Sequence[MemoryEntry],
        keyed: Sequence[Ticks],
        listed: Sequence[Ticks | None],
    ) -> _Sides | None:
        """None where they are strangers."""
        our_keys, their_keys = comparable(keyed, listed)
        named = named_anchors(left, right, our_keys, their_keys)
        if are_strangers(our_keys, their_keys, named):
            return None
        band = lay_band(len(left), len(right), find_anchors(our_keys, their_keys, named))
        return cls(band, Likeness(left, right, listed, band))

    def look(self, rates: Rates) -> tuple[_Chances, float]:
        """The posteriors, and the log weight of all alignments together."""
        rows, everything = posteriors(self.band, steps_of(rates), self.likeness.emissions(rates))
        lows = self.band.low[1:]
        kept = [_worth_keeping(first - 1, row) for first, row in zip(lows, rows, strict=True)]
        return kept, everything


def _chances(
    laid: Laid,
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    keyed: Sequence[Ticks],
    listed: Sequence[Ticks | None],
    rates: Rates | None,
) -> _Chances:
    """For each reading the posterior of each entry, by their places in the lists as given."""
    ours, theirs = laid.ours, laid.theirs
    found: _Chances = [{} for _ in record]
    if not ours or not theirs:
        return found
    left, right = [record[at] for at in ours], [memory[at] for at in theirs]
    shown = [listed[at] for at in theirs]
    sides = _Sides.of(left, right, [keyed[at] for at in ours], shown)
    if sides is None:
        return found
    chances, _ = sides.look(rates or Rates())
    if rates is None:
        learned, unexplained = Rates(), 0.0
        for _ in range(_LESSONS):
            alone = sides.likeness.kinds_alone(learned)
            learned, unexplained = learn_rates(Rates(), left, right, shown, chances, alone)
            chances, _ = sides.look(learned)
        if unexplained > _NEGLIGIBLE:
            looks = [sides.look(replace(learned, unexplained=share)) for share in UNEXPLAINED]
            chances = _mean([kept for kept, _ in looks], weights_of_shares([log for _, log in looks]))
    for at, entries in zip(ours, chances, strict=True):
        found[at] = {theirs[entry]: chance for entry, chance in entries.items()}
    return found


def _worth_keeping(first: int, row: Sequence[float]) -> dict[int, float]:
    return {first + k: min(1.0, chance) for k, chance in enumerate(row) if chance > _NEGLIGIBLE}


def _mean(looks: Sequence[Sequence[dict[int, float]]], weights: Sequence[float]) -> list[dict[int, float]]:
    """The posteriors of several looks, averaged."""
    found: list[dict[int, float]] = [{} for _ in looks[0]]
    for look, weight in zip(looks, weights, strict=True):
        for mean, entries in zip(found, look, strict=True):
            for entry, chance in entries.items():
                mean[entry] = mean.get(entry, 0.0) + weight * chance
    return found


def _moved(value: Ticks, power: int) -> Ticks:
    if power >= 0:
        return Ticks(value.value * 10**power, value.step * 10**power)
    return Ticks(value.value // 10**-power, max(1, value.step // 10**-power))


@dataclass(frozen=True, slots=True)
class _Sorting:
    """Posteriors sorted into what is certain and what is not."""

    record: Sequence[RecordEntry]
    memory: Sequence[MemoryEntry]
    shown: Sequence[MemoryEntry]  # the same with the digits of the display
    laid: Laid
    power: int
    chances: Sequence[dict[int, float]]
    pair_from: float
    alone_from: float
    # How often the list has each number of a run.
    names: Counter[tuple[int | None, int | None]] = field(init=False)

    def __post_init__(self) -> None:
        counts = Counter((entry.run, entry.number) for entry in self.memory)
        object.__setattr__(self, "names", counts)

    def pairing(self, mismatch: Mismatch | None) -> Pairing:
        by_entry = self._by_entry()
        pairs: list[Pair] = []
        record_only: list[Alone] = []
        undecided: list[Undecided] = []
        for at, entries in enumerate(self.chances):
            alone = max(0.0, 1.0 - sum(entries.values()))
            pair = self._sure_pair(at, entries, by_entry)
            if pair is not None:
                pairs.append(pair)
            elif alone >= self.alone_from and not self._is_of_disordered(self.record[at]):
                name = self.record[at]
                record_only.append(
                    Alone(name.record, None, name.run, name.number, alone, Finding.RECORD_ONLY)
                )
            else:
                undecided.append(self._open_reading(at, entries, alone))
        taken = {pair.entry for pair in pairs}
        copied = {copy: pair for pair in pairs for copy in pair.copies}
        memory_only: list[Alone] = []
        for entry, readings in enumerate(by_entry):
            alone = max(0.0, 1.0 - sum(readings.values()))
            if entry in copied:
                memory_only.append(self._alone(entry, copied[entry].probability, copied[entry].entry))
            elif entry not in taken and alone >= self.alone_from and entry not in self.laid.disputed:
                memory_only.append(self._alone(entry, alone, None))
            elif entry not in taken:
                undecided.append(self._open_entry(entry, readings, alone))
        parts = tuple(pairs), tuple(memory_only), tuple(record_only), tuple(undecided)
        return Pairing(*parts, mismatch, self.laid.by_number, self.laid.disordered)

    def _is_of_disordered(self, ours: RecordEntry) -> bool:
        """Whether its entry may be one whose number, and so its place, nobody can tell."""
        runs = self.laid.disordered
        return bool(runs) and (ours.run is None or None in runs or ours.run in runs)

    def _sure_pair(
        self, at: int, entries: dict[int, float], by_entry: Sequence[dict[int, float]]
    ) -> Pair | None:
        """The pair of a reading if it is certain, alone or together with copies of the same."""
        best = max(entries, key=entries.__getitem__, default=None)
        if best is None:
            return None
        if best in self.laid.disputed and not self._agrees(at, best):
            return None
        if entries[best] >= self.pair_from:
            return self._pair(at, best, entries[best])
        group = self._copies(best)
        together = sum(entries.get(entry, 0.0) for entry in group)
        others = sum(sum(by_entry[entry].values()) for entry in group) - together
        if len(group) < 2 or together < self.pair_from or others > 1.0 - CERTAIN:
            return None
        copies = tuple(entry for entry in group if entry != best)
        return replace(self._pair(at, best, together), copies=copies)

    def _agrees(self, at: int, entry: int) -> bool:
        """Whether a pair changes nothing on the record."""
        is_same = self._compared(at, entry)[0] is Finding.SAME
        return is_same and self.record[at].number == self.memory[entry].number

    def _copies(self, entry: int) -> list[int]:
        """The row of neighbouring entries that show the very same as ``entry``, itself included."""
        order = self.laid.theirs
        first = last = self.laid.rank[entry]
        while first > 0 and self._is_copy(order[first - 1], entry):
            first -= 1
        while last + 1 < len(order) and self._is_copy(order[last + 1], entry):
            last += 1
        return order[first : last + 1]

    def _is_copy(self, entry: int, other: int) -> bool:
        one, two = self.memory[entry], self.memory[other]
        return (
            one.reading is not None
            and one.reading == two.reading
            and (one.run, one.erased) == (two.run, two.erased)
        )

    def _alone(self, entry: int, chance: float, copy_of: int | None) -> Alone:
        name = self.memory[entry]
        shared = name.number is not None and self.names[name.run, name.number] > 1
        named = None, entry, name.run, name.number, chance, Finding.MEMORY_ONLY, copy_of
        return Alone(*named, name.reading, name.erased, shared)

    def _by_entry(self) -> list[dict[int, float]]:
        turned: list[dict[int, float]] = [{} for _ in self.memory]
        for at, entries in enumerate(self.chances):
            for entry, chance in entries.items():
                turned[entry][at] = chance
        return turned

    def _pair(self, at: int, entry: int, chance: float) -> Pair:
        finding, likely, slip = self._compared(at, entry)
        ours, theirs = self.record[at], self.memory[entry]
        stands = not (ours.erased or ours.void)
        unsaid = theirs.erased and stands, theirs.reading is None and not theirs.erased and stands
        named = ours.record, entry, theirs.run, theirs.number
        return Pair(*named, chance, finding, likely, slip, (), *unsaid)

    def _compared(self, at: int, entry: int) -> tuple[Finding, Resistance, Slip | None]:
        """Same or keyed differently, the value it likely was, and the slip that explains it."""
        keyed, filled = self.record[at].reading, self.record[at].shown
        listed, shown = self.memory[entry].reading, self.shown[entry].reading
        if listed is None or shown is None:
            return Finding.SAME, keyed, None
        theirs = _scaled(shown, self.power).to(keyed.unit)
        if isinstance(listed, VoltageReading):
            return _compared_voltage(keyed, listed)
        if ticks(filled or keyed).is_same(ticks(theirs)):
            return Finding.SAME, keyed, None
        true = _scaled(listed, self.power).to(keyed.unit)
        if filled is not None and is_short_of(ticks(keyed), ticks(theirs)):
            return Finding.KEYED_DIFFERENTLY, true, Slip.OMITTED
        before = self.record[at - 1].reading if at else None
        return Finding.KEYED_DIFFERENTLY, true, explain(keyed, theirs, before)

    def _option(self, at: int, entry: int, chance: float) -> Option:
        pair = self._pair(at, entry, chance)
        named = pair.record, entry, pair.run, pair.number
        unsaid = pair.erased_unsaid, pair.no_value_unsaid
        return Option(chance, pair.finding, *named, pair.likely, pair.slip, *unsaid)

    def _open_reading(self, at: int, entries: dict[int, float], alone: float) -> Undecided:
        name = self.record[at]
        options = [self._option(at, entry, chance) for entry, chance in entries.items()]
        options.append(Option(alone, Finding.RECORD_ONLY, name.record))
        return Undecided(name.record, None, name.run, name.number, _ranked(options))

    def _open_entry(self, entry: int, readings: dict[int, float], alone: float) -> Undecided:
        name = self.memory[entry]
        options = [self._option(at, entry, chance) for at, chance in readings.items()]
        options.append(Option(alone, Finding.MEMORY_ONLY, None, entry, name.run, name.number))
        named = None, entry, name.run, name.number
        return Undecided(*named, _ranked(options), name.reading, name.erased)


def _compared_voltage(keyed: Resistance, listed: VoltageReading) -> tuple[Finding, Resistance, Slip | None]:
    """As ``_compared``, for an entry that is a voltage: its sign is part of it."""
    is_same = ticks(keyed).is_same(ticks(listed))
    if isinstance(keyed, VoltageReading):
        is_same = is_same and (not listed.volts or not keyed.volts or keyed.is_negative == listed.is_negative)
    return (Finding.SAME, keyed, None) if is_same else (Finding.KEYED_DIFFERENTLY, listed, None)


def _ranked(options: Sequence[Option]) -> tuple[Option, ...]:
    shown = [option for option in options if option.probability >= _WORTH_SHOWING]
    return tuple(sorted(shown, key=lambda option: -option.probability))


def _scaled(reading: Resistance, power: int) -> Resistance:
    return Resistance(reading.value.scaleb(power), reading.unit).to(reading.unit)
