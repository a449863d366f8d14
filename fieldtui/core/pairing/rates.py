"""The rates of this crew and this meter, learned from a first look at the two lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from fieldtui.core.pairing.model import Rates, RecordEntry
from fieldtui.core.slips import Slip, Ticks, slip_between, ticks

# What the published rates count for against what is seen here, in readings and in slips; no source.
_READINGS = 100.0
_SLIPS = 8.0
_LIKELY = 0.1  # posterior from which a pair is worth explaining
_SINGLE = 10  # a longer row in one list only is a lost run and says nothing of single faults


def learn_rates(
    rates: Rates,
    record: Sequence[RecordEntry],
    listed: Sequence[Ticks | None],
    chances: Sequence[dict[int, float]],
) -> Rates:
    """``rates`` moved towards what the posteriors say: one step of expectation maximisation.

    Args:
        record: the readings, in the order of laying.
        listed: what the list shows, in the same order.
        chances: for each reading the posterior of each entry, from a look with ``rates``.
    """
    pairs = 0.0
    filed = [0.0] * len(listed)
    wrong: dict[Slip | None, float] = {}
    before: Ticks | None = None
    for ours, entries in zip(record, chances, strict=True):
        keyed = ticks(ours.reading)
        for entry, chance in entries.items():
            filed[entry] += chance
            value = listed[entry]
            if value is None:
                continue
            pairs += chance
            if chance > _LIKELY and not keyed.is_same(value):
                slip = slip_between(keyed, value, (ours.reading.unit,), before)
                wrong[slip] = wrong.get(slip, 0.0) + chance
        before = keyed
    lost = _singles([1.0 - sum(entries.values()) for entries in chances])
    more = _singles([1.0 - chance for chance in filed])
    named = sum(wrong.values()) - wrong.get(None, 0.0)
    return replace(
        rates,
        keyed_wrong=_moved(rates.keyed_wrong, sum(wrong.values()), pairs, _READINGS),
        shares={
            slip: _moved(share, wrong.get(slip, 0.0), named, _SLIPS) for slip, share in rates.shares.items()
        },
        not_stored=_moved(rates.not_stored, lost, pairs + lost, _READINGS),
        stored_more=_moved(rates.stored_more, more, pairs + more, _READINGS),
    )


def _moved(rate: float, seen: float, out_of: float, weight: float) -> float:
    """A rate after ``seen`` of ``out_of``, the published one counting for ``weight`` of them."""
    return (rate * weight + seen) / (weight + out_of)


def _singles(alone: Sequence[float]) -> float:
    """How many entries stand alone, those in long rows left out."""
    rows = [list(row) for _, row in groupby(alone, key=lambda chance: chance > 0.5)]
    return sum(sum(row) for row in rows if row[0] <= 0.5 or len(row) < _SINGLE)
