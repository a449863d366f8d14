"""What one pair of entries says: how well a reading and a memory entry fit together.

Everything is relative to both entries standing alone: a weight of 100 for a pair means the two
values fit together a hundred times better than two values drawn from what this crew measures.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from fieldtui.core.measurement.ohms import MAX_DIGITS, Resistance, Unit
from fieldtui.core.pairing.digits import is_short_of
from fieldtui.core.pairing.model import MemoryEntry, Rates, RecordEntry
from fieldtui.core.pairing.recursion import Band, Emissions
from fieldtui.core.slips import Slip, Ticks, kinds_of_wrong, ticks

_UNSEEN = 0.1  # what a number of figures nobody keyed yet counts for


def _decade(value: Ticks) -> int:
    return len(str(max(value.value, value.step)))


class Background:
    """How likely a value is before anything is known of it, learned from the values themselves.

    A smoothed histogram of the logarithm; a value that keeps coming back (a meter that shows 0.00,
    a row of equal points) has a mass of its own, so that agreeing on it says little.
    """

    _bins = 10  # per decade
    _wide = 24.0  # decades a value nobody expected may lie in
    _stray = 0.01  # share of such values; no source

    def __init__(self, values: Sequence[Ticks]) -> None:
        self._repeats = Counter(value.value for value in values)
        self._count = len(values)
        self._figures = Counter((_decade(value), value.figures) for value in values)
        self._decades = Counter(_decade(value) for value in values)
        self._density: dict[int, float] = {}
        for value in values:
            at = self._bin(value)
            for bin_, share in ((at - 1, 0.25), (at, 0.5), (at + 1, 0.25)):
                density = share * self._bins / len(values)
                self._density[bin_] = self._density.get(bin_, 0.0) + density

    def _bin(self, value: Ticks) -> int:
        return math.floor(math.log10(max(value.value, value.step)) * self._bins)

    def mass(self, value: Ticks) -> float:
        """The probability of exactly this value with these digits."""
        density = (1.0 - self._stray) * self._density.get(self._bin(value), 0.0) + self._stray / self._wide
        smooth = density * math.log10(1.0 + value.step / max(value.value, value.step))
        others = self._repeats[value.value] - 1
        usual = self._count * smooth
        if others > usual + 4.0 * math.sqrt(usual) + 2.0:
            return others / self._count
        return min(1.0, smooth * self.share_of_figures(value))

    def share_of_figures(self, value: Ticks) -> float:
        """How often a value of this size is keyed with so many figures, but for this very one."""
        seen = max(0, self._figures[_decade(value), value.figures] - 1)
        return (seen + _UNSEEN) / (max(0, self._decades[_decade(value)] - 1) + _UNSEEN * MAX_DIGITS)

    def odds_near(self, value: Ticks, other: Ticks, within: float) -> float:
        """How much likelier ``value`` is as the point of ``other`` taken again than as any value."""
        apart = math.log(max(value.value, value.step) / max(other.value, other.step)) / within
        return math.exp(-0.5 * apart * apart) * self.odds_at(value, within)

    def odds_at(self, value: Ticks, within: float) -> float:
        """What :meth:`odds_near` is for a point that read the very same."""
        usual = (1.0 - self._stray) * self._density.get(self._bin(value), 0.0) + self._stray / self._wide
        return math.log(10.0) / (within * math.sqrt(2.0 * math.pi)) / usual


def common_unit(readings: Iterable[Resistance]) -> Unit:
    """The unit most readings are keyed in; it says where the crew saw the decimal point."""
    counts = Counter(reading.unit for reading in readings)
    return counts.most_common(1)[0][0] if counts else Unit.OHM


# What a reading and an entry have in common: None where the list shows no value, else the weight of
# "the same" (0 where they differ) and the slips that would turn the entry into the reading.
_Compared = tuple[float, tuple[tuple[Slip, float], ...]] | None
_UNLIKE: _Compared = (0.0, ())
_ROUNDED = ((Slip.OMITTED, 0.3),)  # last digits left out, then rounded: as one digit of three; no source


class _Comparison:
    """Compares values, each with its slips worked out once."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit
        self._known: dict[Ticks, dict[int, tuple[tuple[Slip, float], ...]]] = {}
        self._figures: dict[Ticks, int] = {}

    def how(self, keyed: Ticks, value: Ticks | None, filled: Ticks | None = None) -> _Compared:
        """``filled`` is ``keyed`` with the digits of the display, where it was keyed with fewer."""
        if value is None:
            return None
        if keyed.value == value.value or (filled or keyed).is_same(value):
            return min(1.0, keyed.step / value.step), ()
        slips = self._slips(value).get(keyed.value)
        if slips is not None:
            return 0.0, slips
        if filled is not None and is_short_of(keyed, value):
            return 0.0, _ROUNDED
        ours, theirs = self._count(keyed), self._count(value)
        return _UNLIKE if ours == theirs else self._coarser(keyed, value, ours > theirs)

    def _coarser(self, keyed: Ticks, value: Ticks, is_ours_finer: bool) -> _Compared:
        """One list shows fewer figures: look as far as it can tell, each figure more being a tenth."""
        if is_ours_finer:
            for coarse in keyed.with_fewer_figures(value.figures):
                slips = self._slips(value).get(coarse.value)
                if slips is not None:
                    share = keyed.step / coarse.step
                    return 0.0, tuple((slip, chance * share) for slip, chance in slips)
            return _UNLIKE
        for coarse in value.with_fewer_figures(keyed.figures):
            slips = self._slips(coarse).get(keyed.value)
            if slips is not None:
                return 0.0, slips
        return _UNLIKE

    def _slips(self, value: Ticks) -> dict[int, tuple[tuple[Slip, float], ...]]:
        found = self._known.get(value)
        if found is None:
            found = self._known[value] = kinds_of_wrong(value, self._unit)
        return found

    def _count(self, value: Ticks) -> int:
        found = self._figures.get(value)
        if found is None:
            found = self._figures[value] = value.figures
        return found


class Likeness:
    """Weights of single pairs: the values of both lists, compared once, weighed as often as asked."""

    def __init__(
        self,
        record: Sequence[RecordEntry],
        memory: Sequence[MemoryEntry],
        listed: Sequence[Ticks | None],
        band: Band,
    ) -> None:
        self._record, self._memory, self._listed, self._band = record, memory, listed, band
        self._keyed = [ticks(entry.reading) for entry in record]
        self._background = Background(self._keyed)
        self._filed = Background([value for value in listed if value is not None])
        self._runs = {entry.run for entry in record if entry.run is not None}
        self._shows_state = any(entry.erased for entry in memory)
        self._near: dict[float, list[list[float]]] = {}
        compare = _Comparison(common_unit(entry.reading for entry in record)).how
        filled = [None if entry.shown is None else ticks(entry.shown) for entry in record]
        self._compared = [
            [compare(keyed, listed[entry], filled[at]) for entry in self._entries(at)]
            for at, keyed in enumerate(self._keyed)
        ]

    def emissions(self, rates: Rates) -> Emissions[float]:
        """What the entries say under these rates."""
        called = _called_weights(rates)
        pairs = [self._row(at, rates, called) for at in range(len(self._record))]
        alone = [self._alone(at, rates) for at in range(len(self._memory))]
        weights = [state * whole for (_, whole), state in zip(alone, self._alone_states(rates), strict=True)]
        return Emissions(pairs, self._beside(rates, alone), self._record_alone(rates), weights, 0.0, 1.0)

    def kinds_alone(self, rates: Rates) -> list[tuple[float, float]]:
        """Of each entry, if nobody called it out: the chance of a copy, and of a point taken again."""
        kinds = []
        for at, value in enumerate(self._listed):
            copied, again = (0.0, 0.0) if value is None else self._copied_again(at, value, rates)
            whole = 1.0 - rates.copied - rates.taken_again + copied + again
            kinds.append((copied / whole, again / whole))
        return kinds

    def _record_alone(self, rates: Rates) -> list[list[float]]:
        """Readings not in the list: an entry deleted on the meter may be gone from a list without states."""
        gone = 1.0 if self._shows_state else rates.erased_gone / rates.not_stored
        rows = []
        for at, entry in enumerate(self._record):
            weight = gone if entry.erased else 1.0
            row = [weight] if self._band.low[at + 1] == 0 else []
            shown = self._last_shown(at, rates)
            rows.append(
                [each * weight for each in shown] if shown else row + [weight] * len(self._entries(at))
            )
        return rows

    def _last_shown(self, at: int, rates: Rates) -> list[float]:
        """What the number of its last entry, which the meter showed after reading ``at``, says of each cell.

        Empty where it was not read out. It tells how many entries there were by then: that the reading is
        not one of them, and an entry nobody called out stands for it, fits it as well.
        """
        ours, wrong = self._record[at], rates.number_misheard
        if not ours.filed:
            return []
        row = [wrong] if self._band.low[at + 1] == 0 else []
        for entry in self._entries(at):
            theirs = self._memory[entry]
            is_known = theirs.number is not None
            is_so = theirs.number == ours.number and not self._is_of_other_run(ours, theirs)
            row.append(1.0 if not is_known else 1.0 - wrong if is_so else wrong)
        return row

    def _alone_states(self, rates: Rates) -> list[float]:
        if not self._shows_state:
            return [1.0] * len(self._memory)
        return [rates.erased_alone if entry.erased else 1.0 - rates.erased_alone for entry in self._memory]

    def _alone(self, at: int, rates: Rates) -> tuple[float, float]:
        """A memory entry nobody called out: its weight as a point taken again, and as that, a copy or
        anything at all."""
        value = self._listed[at]
        if value is None:
            return 0.0, 1.0
        copied, again = self._copied_again(at, value, rates)
        return again, 1.0 - rates.copied - rates.taken_again + copied + again

    def _beside(self, rates: Rates, alone: Sequence[tuple[float, float]]) -> list[list[float]]:
        """What a reading that was never filed adds to an entry beside it that nobody called out.

        Such an entry may be the point of that reading taken again, as likely as one beside it in the list.
        """
        again = rates.taken_again
        half = [0.5 / whole for _, whole in alone]
        base = [1.0 - by_list * share for (by_list, _), share in zip(alone, half, strict=True)]
        rows = []
        for at, near in enumerate(self._odds_near(rates.again_within)):
            entries = self._entries(at)
            row = [1.0] if self._band.low[at + 1] == 0 else []
            row += [
                base[entry] + half[entry] * again * odds for entry, odds in zip(entries, near, strict=True)
            ]
            rows.append(row)
        return rows

    def _odds_near(self, within: float) -> list[list[float]]:
        """:meth:`Background.odds_near` of each entry by each reading; 0 where the list shows no value."""
        if within not in self._near:
            ours = [math.log(max(value.value, value.step)) for value in self._keyed]
            theirs = [0.0 if v is None else math.log(max(v.value, v.step)) for v in self._listed]
            odds = [0.0 if v is None else self._filed.odds_at(v, within) for v in self._listed]
            by = -0.5 / (within * within)
            self._near[within] = [
                [odds[entry] * math.exp(by * (theirs[entry] - log) ** 2) for entry in self._entries(at)]
                for at, log in enumerate(ours)
            ]
        return self._near[within]

    def _copied_again(self, at: int, value: Ticks, rates: Rates) -> tuple[float, float]:
        filed = self._filed
        beside = [other for other in (self._before(at), self._before(at + 2)) if other is not None]
        near = sum(filed.odds_near(value, other, rates.again_within) for other in beside)
        # Who deletes an entry takes the point again: what follows is no copy, though it may read the same.
        is_copy = value == self._before(at) and not self._memory[at - 1].erased
        copied = rates.copied / filed.mass(value) if is_copy else 0.0
        return copied, rates.taken_again * near / max(1, len(beside))

    def _before(self, at: int) -> Ticks | None:
        return self._listed[at - 1] if 0 < at <= len(self._listed) else None

    def _entries(self, at: int) -> range:
        """The entries before each column of a row; column 0 has none."""
        return range(max(0, self._band.low[at + 1] - 1), self._band.high[at + 1])

    def _row(self, at: int, rates: Rates, called: Sequence[float]) -> list[float]:
        """The weights of reading ``at`` with the entries before each column of its row."""
        keyed = self._keyed[at]
        mass = self._background.mass(keyed)
        again = at > 0 and self._keyed[at - 1].value == keyed.value
        wrong, unexplained = rates.keyed_wrong, rates.unexplained
        repeated = rates.shares.get(Slip.REPEATED, 0.0) if again else 0.0
        always = wrong * (unexplained + (1.0 - unexplained) * repeated / mass)
        as_slip = wrong * (1.0 - unexplained) / mass
        as_same = (1.0 - wrong) * self._background.share_of_figures(keyed) / mass
        states = self._states(self._record[at], rates)
        row = [0.0] if self._band.low[at + 1] == 0 else []
        for entry, compared in zip(self._entries(at), self._compared[at], strict=True):
            if compared is None:
                weight = 1.0 if self._memory[entry].erased else _NOTHING_SHOWN
            else:
                same, slips = compared
                weight = always + as_same * same
                for slip, chance in slips:
                    weight += as_slip * chance * rates.shares.get(slip, 0.0)
            row.append(weight * states[self._memory[entry].erased] * self._named(at, entry, rates, called))
        shown = self._last_shown(at, rates)
        return [weight * seen for weight, seen in zip(row, shown, strict=True)] if shown else row

    def _states(self, ours: RecordEntry, rates: Rates) -> tuple[float, float]:
        """Chance that the entry of this reading is shown as kept, and as erased."""
        if not self._shows_state:
            kept = 1.0 - rates.erased_gone if ours.erased else 1.0
            return kept, kept
        erased = rates.erased_said if ours.erased else rates.erased_void if ours.void else rates.erased_kept
        return 1.0 - erased, erased

    def _is_of_other_run(self, ours: RecordEntry, theirs: MemoryEntry) -> bool:
        """A run the record never heard of is a label of the list's own and says nothing."""
        return ours.run is not None and ours.run != theirs.run and theirs.run in self._runs

    def _named(self, at: int, entry: int, rates: Rates, called: Sequence[float]) -> float:
        """What run and number add: a hint either way, never a proof."""
        ours, theirs = self._record[at], self._memory[entry]
        if self._is_of_other_run(ours, theirs):
            return rates.run_off
        if ours.number is None or theirs.number is None or ours.filed:
            return 1.0
        far = min(abs(ours.number - theirs.number), _FAR)
        return (called if ours.called else _COUNTED)[far]


# A number that was only counted up says little: it stays out of step until somebody looks.
_COUNTED = (1.2, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)  # by how far off it is; no source
_FAR = len(_COUNTED) - 1
# A value was called out, and its entry, which is not erased, shows none: it was filed as over range or the
# like. No source.
_NOTHING_SHOWN = 1e-4


def _called_weights(rates: Rates) -> tuple[float, ...]:
    """Weight of a pair by how far the number called out is off."""
    # A reading the meter never filed comes with a number close by as well, half of them this very one,
    # unless it is misheard in its turn. One misheard is off by anything.
    wrong, any_way = rates.number_misheard, 1.0 / (_FAR + 1)
    right = 1.0 - wrong
    alone = [right * 0.5 ** (step + 1) + wrong * any_way for step in range(_FAR + 1)]
    off = [wrong * any_way / alone[step] for step in range(1, _FAR + 1)]
    return ((right + wrong * any_way) / alone[0], *off)
