"""What one pair of entries says: how well a reading and a memory entry fit together.

Everything is relative to both entries standing alone: a weight of 100 for a pair means the two
values fit together a hundred times better than two values drawn from what this crew measures.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from fieldtui.core.ohms import MAX_DIGITS, Resistance, Unit
from fieldtui.core.pairing.model import MemoryEntry, Rates, RecordEntry
from fieldtui.core.pairing.recursion import Band, Emissions
from fieldtui.core.slips import Slip, Ticks, spread, ticks

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
        near = math.exp(-0.5 * apart * apart) / (within * math.sqrt(2.0 * math.pi))
        usual = (1.0 - self._stray) * self._density.get(self._bin(value), 0.0) + self._stray / self._wide
        return near * math.log(10.0) / usual


def common_unit(readings: Iterable[Resistance]) -> Unit:
    """The unit most readings are keyed in; it says where the crew saw the decimal point."""
    counts = Counter(reading.unit for reading in readings)
    return counts.most_common(1)[0][0] if counts else Unit.OHM


class Likeness:
    """Weights of single pairs: the values of both lists, compared."""

    def __init__(
        self,
        record: Sequence[RecordEntry],
        memory: Sequence[MemoryEntry],
        listed: Sequence[Ticks | None],
        rates: Rates,
    ) -> None:
        self._record, self._memory, self._listed, self._rates = record, memory, listed, rates
        self._keyed = [ticks(entry.reading) for entry in record]
        self._unit = common_unit(entry.reading for entry in record)
        self._background = Background(self._keyed)
        self._filed = Background([value for value in listed if value is not None])
        self._spreads: dict[Ticks, dict[int, float]] = {}
        self._called = _called_weights(rates)
        self._runs = {entry.run for entry in record if entry.run is not None}

    def emissions(self, band: Band) -> Emissions[float]:
        pairs = [self._row(at, band.low[at + 1], band.high[at + 1]) for at in range(len(self._record))]
        return Emissions(pairs, [1.0] * len(self._record), self._alone(), 0.0, 1.0)

    def _alone(self) -> list[float]:
        """Memory entries nobody called out: a copy, a point taken again, or anything at all."""
        rates, filed = self._rates, self._filed
        weights = []
        for at, value in enumerate(self._listed):
            if value is None:
                weights.append(1.0)
                continue
            beside = [other for other in (self._before(at), self._before(at + 2)) if other is not None]
            near = sum(filed.odds_near(value, other, rates.again_within) for other in beside)
            copied = rates.copied / filed.mass(value) if value == self._before(at) else 0.0
            taken_again = rates.taken_again * near / max(1, len(beside))
            weights.append(1.0 - rates.copied - rates.taken_again + copied + taken_again)
        return weights

    def _before(self, at: int) -> Ticks | None:
        return self._listed[at - 1] if 0 < at <= len(self._listed) else None

    def _row(self, at: int, low: int, high: int) -> list[float]:
        """The weights of reading ``at`` with the entries before each column of its row."""
        keyed = self._keyed[at]
        mass = self._background.mass(keyed)
        again = at > 0 and self._keyed[at - 1].value == keyed.value
        wrong, unexplained = self._rates.keyed_wrong, self._rates.unexplained
        repeated = self._rates.shares.get(Slip.REPEATED, 0.0) if again else 0.0
        always = wrong * (unexplained + (1.0 - unexplained) * repeated / mass)
        as_slip = wrong * (1.0 - unexplained) / mass
        as_same = (1.0 - wrong) * self._background.share_of_figures(keyed) / mass
        row = [0.0] if low == 0 else []
        for entry in range(max(0, low - 1), high):
            value = self._listed[entry]
            if value is None:
                weight = 1.0
            elif keyed.value == value.value or keyed.is_same(value):
                weight = always + as_same * min(1.0, keyed.step / value.step)
            else:
                weight = always + as_slip * self._slip(keyed, value)
            row.append(weight * self._named(at, entry))
        return row

    def _slip(self, keyed: Ticks, value: Ticks) -> float:
        chance = self._spread(value).get(keyed.value)
        if chance is not None:
            return chance
        # One list shows fewer figures: look as far as it can tell, each figure more being a tenth.
        for coarse in keyed.with_fewer_figures(value.figures):
            chance = self._spread(value).get(coarse.value)
            if chance is not None:
                return chance * keyed.step / coarse.step
        for coarse in value.with_fewer_figures(keyed.figures):
            chance = self._spread(coarse).get(keyed.value)
            if chance is not None:
                return chance
        return 0.0

    def _spread(self, value: Ticks) -> dict[int, float]:
        found = self._spreads.get(value)
        if found is None:
            found = self._spreads[value] = spread(value, self._unit, self._rates.shares)
        return found

    def _named(self, at: int, entry: int) -> float:
        """What run, number and state add: a hint either way, never a proof."""
        ours, theirs = self._record[at], self._memory[entry]
        weight = self._rates.erased_called if theirs.erased else 1.0
        # A run the record never heard of is a label of the list's own and says nothing.
        if ours.run is not None and ours.run != theirs.run and theirs.run in self._runs:
            return weight * self._rates.run_off
        if ours.number is None or theirs.number is None:
            return weight
        far = min(abs(ours.number - theirs.number), _FAR)
        return weight * (self._called if ours.called else _COUNTED)[far]


# A number that was only counted up says little: it stays out of step until somebody looks.
_COUNTED = (1.2, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)  # by how far off it is; no source
_FAR = len(_COUNTED) - 1


def _called_weights(rates: Rates) -> tuple[float, ...]:
    """Weight of a pair by how far the number called out is off, halving with every step."""
    # A reading the meter never filed comes with a number close by as well, half of them this very one.
    chance = 0.5
    off = [rates.number_misheard * 0.5**step / chance for step in range(1, _FAR + 1)]
    return ((1.0 - rates.number_misheard) / chance, *off)
