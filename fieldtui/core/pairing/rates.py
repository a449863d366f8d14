"""The rates of this crew and this meter, learned from a first look at the two lists."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from types import MappingProxyType

from fieldtui.core.pairing.digits import is_short_of
from fieldtui.core.pairing.model import MemoryEntry, Rates, RecordEntry
from fieldtui.core.slips import Slip, Ticks, slip_between, ticks

# What the rates beforehand count for against what is seen here; no source. Published ones differ
# tenfold, so that a rate per reading counts for about one event: the lists soon outweigh it.
_KEYED = 50.0  # for values keyed wrong, in readings
_READINGS = 100.0  # for other rates per reading, in readings
_CALLS = 30.0  # for numbers misheard, in numbers called out
_SLIPS = 8.0  # for the share of a kind of slip, in slips
_ENTRIES = 8.0  # for the kinds of entries nobody called out, in such entries

# The share of slips that no kind explains, and how likely each is before the lists are seen; no source.
# One list shows a handful of slips, and a pair that differs oddly may as well be two entries without
# a partner: a single learned share would feed on the very pairs that it makes likely. So all shares
# are tried, each weighed by how well both lists as wholes come out under it.
UNEXPLAINED: Mapping[float, float] = MappingProxyType({0.001: 0.90, 0.01: 0.08, 0.1: 0.02})

_LIKELY = 0.01  # posterior from which a pair is worth explaining
_SINGLE = 10  # a longer row in one list only is a lost run and says nothing of single faults


@dataclass(slots=True)
class _Seen:
    """Expected counts from the posteriors of one look."""

    pairs: float = 0.0
    slips: dict[Slip, float] = field(default_factory=dict)
    unexplained: float = 0.0
    filed: list[float] = field(default_factory=list)  # by entry: that some reading is it
    erased: float = 0.0  # pairs of a reading that stands with an entry shown as erased
    surest_erased: float = 0.0  # the likeliest of those
    standing: float = 0.0  # pairs of a reading that stands
    called: float = 0.0  # pairs with a number called out and one in the list
    misheard: float = 0.0  # of those: the two differ


def learn_rates(
    rates: Rates,
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    listed: Sequence[Ticks | None],
    chances: Sequence[dict[int, float]],
    kinds_alone: Sequence[tuple[float, float]],
) -> tuple[Rates, float]:
    """``rates`` moved towards what the posteriors say, one step of expectation maximisation, and how
    many pairs seem to differ by no known slip: their share is not learned here, see :data:`UNEXPLAINED`.

    Args:
        record: the readings, in the order of laying.
        memory: the entries, in the order of laying.
        listed: what the entries show.
        chances: for each reading the posterior of each entry, from a look before.
        kinds_alone: of each entry, if it stands alone, the chance of a copy and of a point taken again.
    """
    seen = _count(record, memory, listed, chances)
    explained = sum(seen.slips.values())
    unfiled = [max(0.0, 1.0 - chance) for chance in seen.filed]
    lost = _singles([1.0 - sum(entries.values()) for entries in chances])
    more = _singles(unfiled)
    alone = sum(unfiled)
    learned = replace(
        rates,
        keyed_wrong=_moved(rates.keyed_wrong, explained + seen.unexplained, seen.pairs, _KEYED),
        shares={
            slip: _moved(share, seen.slips.get(slip, 0.0), explained, _SLIPS)
            for slip, share in rates.shares.items()
        },
        not_stored=_moved(rates.not_stored, lost, seen.pairs + lost, _READINGS),
        stored_more=_moved(rates.stored_more, more, seen.pairs + more, _READINGS),
        copied=_moved(rates.copied, _weighted(unfiled, [one for one, _ in kinds_alone]), alone, _ENTRIES),
        taken_again=_moved(
            rates.taken_again, _weighted(unfiled, [again for _, again in kinds_alone]), alone, _ENTRIES
        ),
        erased_alone=_moved(
            rates.erased_alone, _weighted(unfiled, [entry.erased for entry in memory]), alone, _ENTRIES
        ),
        # Less the surest: a single pair of this rare kind would else vouch for itself.
        erased_kept=_moved(rates.erased_kept, seen.erased - seen.surest_erased, seen.standing, _READINGS),
        number_misheard=_moved(rates.number_misheard, seen.misheard, seen.called, _CALLS),
    )
    return learned, seen.unexplained


def _count(
    record: Sequence[RecordEntry],
    memory: Sequence[MemoryEntry],
    listed: Sequence[Ticks | None],
    chances: Sequence[dict[int, float]],
) -> _Seen:
    seen = _Seen(filed=[0.0] * len(listed))
    before: Ticks | None = None
    for ours, entries in zip(record, chances, strict=True):
        keyed, shown = ticks(ours.reading), ticks(ours.shown or ours.reading)
        for entry, chance in entries.items():
            seen.filed[entry] += chance
            value, number = listed[entry], memory[entry].number
            if (ours.called or ours.filed) and ours.number is not None and number is not None:
                seen.called += chance
                seen.misheard += chance * (ours.number != number)
            # Only equal values tell: an odd pair would else raise the rate that makes it likely.
            if not ours.void and not ours.erased and value is not None and shown.is_same(value):
                seen.standing += chance
                if memory[entry].erased:
                    seen.erased += chance
                    seen.surest_erased = max(seen.surest_erased, chance)
            if value is None:
                continue
            seen.pairs += chance
            if chance > _LIKELY and not shown.is_same(value):
                slip = slip_between(keyed, value, (ours.reading.unit,), before)
                if ours.shown is not None and is_short_of(keyed, value):
                    slip = Slip.OMITTED
                if slip is None:
                    seen.unexplained += chance
                else:
                    seen.slips[slip] = seen.slips.get(slip, 0.0) + chance
        before = keyed
    return seen


def _moved(rate: float, seen: float, out_of: float, weight: float) -> float:
    """A rate after ``seen`` of ``out_of``, the published one counting for ``weight`` of them."""
    return (rate * weight + seen) / (weight + out_of)


def _weighted(weights: Sequence[float], values: Sequence[float]) -> float:
    return sum(weight * value for weight, value in zip(weights, values, strict=True))


def _singles(alone: Sequence[float]) -> float:
    """How many entries stand alone, those in long rows left out."""
    rows = [list(row) for _, row in groupby(alone, key=lambda chance: chance > 0.5)]
    return sum(sum(row) for row in rows if row[0] <= 0.5 or len(row) < _SINGLE)


def weights_of_shares(log_weights: Sequence[float]) -> list[float]:
    """The posterior of each share in :data:`UNEXPLAINED`, from the log weight of everything under it."""
    top = max(log_weights)
    joint = [
        prior * math.exp(weight - top)
        for prior, weight in zip(UNEXPLAINED.values(), log_weights, strict=True)
    ]
    return [each / sum(joint) for each in joint]
