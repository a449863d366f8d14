"""In which order the two lists are laid side by side, and what stands out in both."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Sequence
from itertools import pairwise
from statistics import median_low

from fieldtui.core.pairing.band import Anchor
from fieldtui.core.pairing.model import MemoryEntry, RecordEntry
from fieldtui.core.slips import Ticks


def order_runs(
    record: Sequence[RecordEntry], memory: Sequence[MemoryEntry], by_number: Container[int | None] = ()
) -> tuple[list[int], list[int]]:
    """Places of both lists with each run's entries together, runs in the order the record begins them.

    An entry without a run goes with the one before it. A list that shows the newest entry first is
    turned round, run by run; the entries of the runs in ``by_number``, which all have one, go by number.
    """
    ours = filled([entry.run for entry in record])
    theirs = filled([entry.run for entry in memory])
    rank = {run: at for at, run in enumerate(dict.fromkeys(ours))}
    # A run the record does not know stays behind the one it follows in the list.
    last, ranks = 0, []
    for run in theirs:
        last = rank.get(run, last)
        ranks.append(last)
    first_seen = {run: at for at, run in reversed(list(enumerate(theirs)))}
    descending = {run for run in first_seen if is_descending(run, theirs, memory)}

    def place(at: int) -> int:
        if theirs[at] in by_number:
            return memory[at].number or 0
        return -at if theirs[at] in descending else at

    return (
        sorted(range(len(ours)), key=lambda at: rank[ours[at]]),
        sorted(range(len(theirs)), key=lambda at: (ranks[at], first_seen[theirs[at]], place(at))),
    )


def comparable(keyed: Sequence[Ticks], listed: Sequence[Ticks | None]) -> tuple[list[str], list[str]]:
    """What the values of both lists look like on the coarser of the two displays."""
    values = [value for value in listed if value is not None]
    figures = min(
        (median_low(value.figures for value in side) for side in (keyed, values) if side), default=1
    )
    return (
        [f"{value.value:.{figures - 1}e}" for value in keyed],
        ["" if value is None else f"{value.value:.{figures - 1}e}" for value in listed],
    )


def named_anchors(
    record: Sequence[RecordEntry], memory: Sequence[MemoryEntry], keyed: Sequence[str], listed: Sequence[str]
) -> list[Anchor]:
    """Pairs that share number, run as far as known, and value; all four in the order of laying."""
    names = Counter((entry.run, entry.number) for entry in memory)
    numbers = Counter(entry.number for entry in memory)
    place: dict[tuple[int | None, int | None], int] = {}
    for at, entry in enumerate(memory):
        if names[entry.run, entry.number] == 1:
            place[entry.run, entry.number] = at
        if numbers[entry.number] == 1:
            place[None, entry.number] = at
    found = []
    for at, ours in enumerate(record):
        there = place.get((ours.run, ours.number), place.get((None, ours.number)))
        if ours.number is not None and there is not None and keyed[at] == listed[there]:
            found.append((at, there))
    return found


def filled(runs: Sequence[int | None]) -> list[int | None]:
    """Each missing run replaced by the one before it; the first ones by the first known."""
    last = next((run for run in runs if run is not None), None)
    filled = []
    for run in runs:
        last = run if run is not None else last
        filled.append(last)
    return filled


def is_descending(run: int | None, runs: Sequence[int | None], memory: Sequence[MemoryEntry]) -> bool:
    """Whether the numbers of a run fall, on the whole: the newest entry stands first."""
    numbers = [
        entry.number
        for entry, its in zip(memory, runs, strict=True)
        if its == run and entry.number is not None
    ]
    falls = sum(after < before for before, after in pairwise(numbers))
    return len(numbers) > 2 and 2 * falls > len(numbers)
