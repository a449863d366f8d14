"""The sums over all alignments of two lists: one recursion, in probabilities or in best scores.

A pair hidden Markov model after Durbin, Eddy, Krogh, Mitchison, Biological Sequence Analysis
(1998), chapter 4, with a second, long kind of gap for a lost run. Rows are readings of the record,
columns entries of the memory list; cell ``(row, column)`` has so many of each behind it. Only the
cells of a :class:`Band` exist. Rows are rescaled as they come and the scale is kept as a logarithm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar


@dataclass(frozen=True, slots=True)
class Best:
    """A best score with the number of ways to reach it: adding keeps the better, multiplying joins."""

    score: float
    ways: int

    def __add__(self, other: Best) -> Best:
        if self.score == other.score:
            return Best(self.score, self.ways + other.ways)
        return self if self.score > other.score else other

    def __mul__(self, other: Best) -> Best:
        return Best(self.score + other.score, self.ways * other.ways)


W = TypeVar("W", float, Best)


@dataclass(frozen=True, slots=True)
class Band:
    """The cells looked at: in row ``r`` the columns ``low[r]`` to ``high[r]``, both included.

    Neither bound ever falls, neighbouring rows overlap, and both corners are inside.
    """

    low: Sequence[int]
    high: Sequence[int]


@dataclass(frozen=True, slots=True)
class Steps(Generic[W]):
    """Weights of going from one state to the next; the model starts as if after a pair.

    ``record`` and ``memory`` are entries found in one list only, ``block`` a long row of them.
    """

    pair_pair: W
    pair_record: W
    pair_memory: W
    pair_block: W
    record_pair: W
    record_record: W
    record_memory: W
    memory_pair: W
    memory_memory: W
    memory_record: W
    block_pair: W
    block_block: W
    block_turn: W  # from a long row of one list to a long row of the other


@dataclass(frozen=True, slots=True)
class Emissions(Generic[W]):
    """What the entries say, relative to each standing alone in the background.

    ``pairs[r][k]`` belongs to reading ``r`` and column ``band.low[r + 1] + k``, that is to the list's
    entry just before that column; where there is none, at column 0, it must be zero. ``record`` and
    ``beside`` have the same shape: the weight of the reading alone, with so many entries behind it, and
    the further weight of the two where each stands alone, one right after the other.
    """

    pairs: Sequence[Sequence[W]]
    beside: Sequence[Sequence[W]]
    record: Sequence[Sequence[W]]
    memory: Sequence[W]
    zero: W
    one: W
    block: Sequence[W] = ()  # of each entry inside a block of the list; empty in the background's own terms


@dataclass(frozen=True, slots=True)
class Row(Generic[W]):
    """One row of cells, by state."""

    pair: list[W]
    record: list[W]
    memory: list[W]
    record_block: list[W]
    memory_block: list[W]


def forward(
    band: Band, steps: Steps[W], emissions: Emissions[W], ease: Callable[[Row[W]], Row[W]]
) -> Iterator[Row[W]]:
    """The weight of all ways to each cell, row by row.

    Args:
        ease: rescales a finished row before the next is built on it.
    """
    zero = emissions.zero
    pair = [zero] * (band.high[0] - band.low[0] + 1)
    pair[0] = emissions.one
    apart = [emissions.one] * len(pair)
    row: Row[W] = ease(_along(pair, [zero] * len(pair), [zero] * len(pair), 0, apart, steps, emissions))
    yield row
    for at, (said, beside) in enumerate(zip(emissions.pairs, emissions.beside, strict=True)):
        low = band.low[at + 1]
        begin, width = low - band.low[at], band.high[at + 1] - low + 1
        into_pair, into_record, into_block = _onwards(row, steps)
        after_memory = [steps.memory_record * m for m in row.memory[begin:]]
        alone = emissions.record[at]
        from_left: list[W] = [zero]
        from_left.extend(into_pair)
        pair = [weight * came for weight, came in zip(said, from_left[begin:], strict=False)]
        record = [
            weight * (came + near * after)
            for weight, came, near, after in zip(
                alone, into_record[begin:], beside, after_memory, strict=False
            )
        ]
        block = [weight * came for weight, came in zip(alone, into_block[begin:], strict=False)]
        for states in (pair, record, block):
            states.extend([zero] * (width - len(states)))
        row = ease(_along(pair, record, block, low, beside, steps, emissions))
        yield row


def _onwards(row: Row[W], steps: Steps[W]) -> tuple[list[W], list[W], list[W]]:
    """What leaves each cell for the next row: towards a pair, the record alone, a block of it.

    The way from an entry alone to a reading alone is left out: it depends on the two.
    """
    pp, rp, mp, bp = steps.pair_pair, steps.record_pair, steps.memory_pair, steps.block_pair
    pr, rr = steps.pair_record, steps.record_record
    pb, bb, bt = steps.pair_block, steps.block_block, steps.block_turn
    into_pair: list[W] = []
    into_record: list[W] = []
    into_block: list[W] = []
    for p, r, m, rb, mb in zip(
        row.pair, row.record, row.memory, row.record_block, row.memory_block, strict=True
    ):
        into_pair.append(pp * p + rp * r + mp * m + bp * (rb + mb))
        into_record.append(pr * p + rr * r)
        into_block.append(pb * p + bb * rb + bt * mb)
    return into_pair, into_record, into_block


def _along(
    pair: list[W],
    record: list[W],
    block: list[W],
    low: int,
    beside: Sequence[W],
    steps: Steps[W],
    emissions: Emissions[W],
) -> Row[W]:
    """Complete a row with what moves along it: entries of the memory list alone."""
    pm, rm, mm = steps.pair_memory, steps.record_memory, steps.memory_memory
    pb, bb, bt = steps.pair_block, steps.block_block, steps.block_turn
    m = mb = emissions.zero
    memory, memory_block = [m], [mb]
    alone = emissions.memory[low : low + len(pair) - 1]
    inside = emissions.block[low : low + len(pair) - 1]
    for weight, by, near, p, r, rb in zip(alone, inside, beside[1:], pair, record, block, strict=False):
        m = weight * (pm * p + mm * m + rm * r * near)
        mb = by * (pb * p + bb * mb + bt * rb)
        memory.append(m)
        memory_block.append(mb)
    return Row(pair, record, memory, block, memory_block)


def total(row: Row[W]) -> W:
    """The weight of everything, from the last row."""
    return row.pair[-1] + row.record[-1] + row.memory[-1] + row.record_block[-1] + row.memory_block[-1]


class Scale:
    """Divides each row by its largest weight and keeps the logarithm of what was divided out."""

    def __init__(self) -> None:
        self.logs: list[float] = []

    def __call__(self, row: Row[float]) -> Row[float]:
        top = max(map(max, (row.pair, row.record, row.memory, row.record_block, row.memory_block)))
        self.logs.append((self.logs[-1] if self.logs else 0.0) + math.log(top))
        by = 1.0 / top
        return Row(
            [w * by for w in row.pair],
            [w * by for w in row.record],
            [w * by for w in row.memory],
            [w * by for w in row.record_block],
            [w * by for w in row.memory_block],
        )


def posteriors(
    band: Band, steps: Steps[float], emissions: Emissions[float]
) -> tuple[list[list[float]], float]:
    """Posterior of every pair in the band, and the log of the sum over all alignments.

    Returns:
        ``rows[r][k]`` as in :attr:`Emissions.pairs`, and the log weight of everything relative
        to both lists standing wholly in the background.
    """
    emissions, log_reference = _bounded(band, steps, emissions)
    scale = Scale()
    ways_in = []
    for row in forward(band, steps, emissions, scale):
        ways_in.append(row.pair)
        last = row
    everything = math.log(total(last)) + scale.logs[-1]
    found: list[list[float]] = [[] for _ in emissions.pairs]
    for at, ways_out, log_scale in _backward(band, steps, emissions):
        factor = math.exp(min(700.0, scale.logs[at] + log_scale - everything))
        found[at - 1] = [a * b * factor for a, b in zip(ways_in[at], ways_out, strict=True)]
    return found, everything + log_reference


def _bounded(band: Band, steps: Steps[float], emissions: Emissions[float]) -> tuple[Emissions[float], float]:
    """The same emissions, weights of entries alone so far reduced that a row of thousands does not overflow.

    All that an entry weighs, in whatever state, is taken relative to another reference: the posteriors stay
    as they are. The second is the log of what everything together was so divided by.
    """
    by = [1.0 / max(1.0, steps.memory_memory * weight) for weight in emissions.memory]
    if min(by, default=1.0) == 1.0:
        return replace(emissions, block=by), 0.0
    before = [1.0, *by]  # of the entry before each column; column 0 has none
    pairs = [
        [weight * each for weight, each in zip(row, before[low:], strict=False)]
        for row, low in zip(emissions.pairs, band.low[1:], strict=True)
    ]
    memory = [weight * each for weight, each in zip(emissions.memory, by, strict=True)]
    return replace(emissions, pairs=pairs, memory=memory, block=by), -sum(map(math.log, by))


def _backward(
    band: Band, steps: Steps[float], emissions: Emissions[float]
) -> Iterator[tuple[int, list[float], float]]:
    """From the last row up: the weight of all ways on from a pair in each cell, and its log scale."""
    last = len(emissions.pairs)
    width = band.high[last] - band.low[last] + 1
    to_pair = to_record = to_record_near = to_block = [0.0] * width
    log_scale = 0.0
    for at in range(last, 0, -1):
        ends = 1.0 if at == last else 0.0
        beside = emissions.beside[at - 1]
        below = _Below(to_pair, to_record, to_record_near, to_block)
        pair, record, block = _back_along(below, ends, band.low[at], beside, steps, emissions)
        top = max(map(max, (pair, record, block)))
        log_scale += math.log(top)
        by = 1.0 / top
        yield at, [w * by for w in pair], log_scale
        # Each cell of the row above sees this row's pair one column on, and its gaps straight below.
        begin, above = band.low[at] - band.low[at - 1], band.high[at - 1] - band.low[at - 1] + 1
        said, alone = emissions.pairs[at - 1], [w * by for w in emissions.record[at - 1]]
        ahead = [0.0] * begin + [w * b * by for w, b in zip(said, pair, strict=True)] + [0.0]
        to_pair = ahead[1 : above + 1]
        into_record = [a * w for a, w in zip(alone, record, strict=True)]
        to_record = ([0.0] * begin + into_record)[:above]
        near_record = [w * near for w, near in zip(into_record, beside, strict=True)]
        to_record_near = ([0.0] * begin + near_record)[:above]
        to_block = ([0.0] * begin + [a * w for a, w in zip(alone, block, strict=True)])[:above]


@dataclass(frozen=True, slots=True)
class _Below:
    """The weight of stepping from each cell of a row into the next one, by the state stepped into.

    ``record_near`` is that of a reading alone right after an entry alone.
    """

    pair: list[float]
    record: list[float]
    record_near: list[float]
    block: list[float]


def _back_along(
    below: _Below,
    ends: float,
    low: int,
    beside: Sequence[float],
    steps: Steps[float],
    emissions: Emissions[float],
) -> tuple[list[float], list[float], list[float]]:
    """One row from its right end: ways on from a pair, from the record alone, from a block of it."""
    pp, pr, pm, pb = steps.pair_pair, steps.pair_record, steps.pair_memory, steps.pair_block
    rp, rr, rm = steps.record_pair, steps.record_record, steps.record_memory
    mp, mm, mr = steps.memory_pair, steps.memory_memory, steps.memory_record
    bp, bb, bt = steps.block_pair, steps.block_block, steps.block_turn
    last = len(below.pair) - 1
    alone, inside = emissions.memory[low : low + last], emissions.block[low : low + last]
    m = mb = near = 0.0  # the weight of stepping right into the memory states, and the entry's part beside
    pair, record, block = [], [], []
    for at in range(last, -1, -1):
        p, r, b = below.pair[at], below.record[at], below.block[at]
        pair.append(pp * p + pr * r + pb * b + pm * m + pb * mb + ends)
        record.append(rp * p + rr * r + rm * m * near + ends)
        block.append(bp * p + bb * b + bt * mb + ends)
        if at:
            m, mb = (
                alone[at - 1] * (mp * p + mm * m + mr * below.record_near[at] + ends),
                inside[at - 1] * (bp * p + bb * mb + bt * b + ends),
            )
            near = beside[at]
        ends = 0.0
    return pair[::-1], record[::-1], block[::-1]


def align_score(
    first: Sequence[str],
    second: Sequence[str],
    score: Callable[[str, str], float],
    gap: float,
) -> Best:
    """The best global alignment score of two label lists, and how many alignments reach it.

    The same recursion as :func:`forward`, with best scores for weights (Needleman and Wunsch 1970).
    """
    impossible, free = Best(-math.inf, 0), Best(0, 1)
    band = Band([0] * (len(first) + 1), [len(second)] * (len(first) + 1))
    steps = Steps(free, free, free, impossible, *[free] * 6, *[impossible] * 3)
    pairs = [[impossible, *(Best(score(a, b), 1) for b in second)] for a in first]
    emissions = Emissions(
        pairs,
        [[free] * len(row) for row in pairs],
        [[Best(gap, 1)] * len(row) for row in pairs],
        [Best(gap, 1)] * len(second),
        impossible,
        free,
        [free] * len(second),
    )
    for row in forward(band, steps, emissions, lambda row: row):
        last = row
    return total(last)
