"""Which cells of an alignment are worth a look: a band along what the two lists plainly share.

Anchors are pairs of readings that agree in value and stand out: by their memory number, or by being
part of three values in a row that occur once in either list. The longest row of anchors that rises
in both lists (patience sorting) leads the band, so that a lost run of hundreds costs nothing but
the corner it makes.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterator, Sequence
from itertools import pairwise

from fieldtui.core.pairing.recursion import Band

MARGIN = 8  # cells kept on every side of what the anchors leave open
STRIP = 64  # half the width kept where a wide stretch has no anchor at all
_OPEN_CELLS = 4 * STRIP * STRIP  # stretches up to this area are looked at whole

Anchor = tuple[int, int]


def lay_band(rows: int, columns: int, anchors: Sequence[Anchor]) -> Band:
    """The band for lists of ``rows`` and ``columns`` entries along rising ``anchors``."""
    low, high = [0] * (rows + 1), [0] * (rows + 1)
    corners = [(-1, -1), *anchors, (rows, columns)]
    for (row, column), (next_row, next_column) in pairwise(corners):
        for at, first, last in _stretch(row + 1, column + 1, next_row, next_column):
            low[at], high[at] = first, last
    # The margin reaches sideways and along the rows: both bounds only ever rise.
    return Band(
        [max(0, low[max(0, at - MARGIN)] - MARGIN) for at in range(rows + 1)],
        [min(columns, high[min(rows, at + MARGIN)] + MARGIN) for at in range(rows + 1)],
    )


def find_anchors(
    record: Sequence[Hashable], memory: Sequence[Hashable], named: Sequence[Anchor]
) -> list[Anchor]:
    """The longest rising row of anchors.

    Args:
        record: what each reading is compared by; equal means the same value.
        memory: the same for each entry of the list.
        named: pairs that share run, number and value, from outside.
    """
    found = set(named)
    ours, theirs = _singles(record), _singles(memory)
    for key, at in ours.items():
        there = theirs.get(key)
        if there is not None:
            found.update((at + step, there + step) for step in range(_LENGTH))
    return _longest_rise(sorted(found, key=lambda pair: (pair[0], -pair[1])))


def are_strangers(record: Sequence[Hashable], memory: Sequence[Hashable], named: Sequence[Anchor]) -> bool:
    """True where two long lists have so little in common that no alignment is worth its time.

    Hardly a row of three values is in both, though such rows tell the values of either list apart, and
    hardly a number goes with the same value in both. A list that shares one value in five with the
    record, here and there, or some dozens in a row, is never called strange here.

    Args:
        record: as for :func:`find_anchors`.
        memory: as for :func:`find_anchors`.
        named: as for :func:`find_anchors`.
    """
    fewest = min(len(record), len(memory))
    if fewest < _LONG or _NAMED_APART * len(named) > fewest:
        return False
    ours, theirs = _singles(record), _singles(memory)
    if 2 * min(len(ours), len(theirs)) < fewest:
        return False
    return _ROWS_APART * len(ours.keys() & theirs.keys()) <= fewest


_LENGTH = 3
# Strangers of 1,000 readings share a row of three once in 20 lists and 3 numbers with their values;
# lists of which a fifth agrees share 8 and 200.
_LONG = 200  # shorter lists are looked at whole
_ROWS_APART, _NAMED_APART = 200, 20


def _singles(keys: Sequence[Hashable]) -> dict[tuple[Hashable, ...], int]:
    """Where each row of three values that occurs once begins."""
    seen: dict[tuple[Hashable, ...], int] = {}
    for at in range(len(keys) - _LENGTH + 1):
        key = tuple(keys[at : at + _LENGTH])
        seen[key] = -1 if key in seen else at
    return {key: at for key, at in seen.items() if at >= 0}


def _longest_rise(pairs: Sequence[Anchor]) -> list[Anchor]:
    """The longest part of ``pairs`` that rises strictly in both places, in n log n."""
    ends: list[int] = []  # the smallest column a rise of each length can end on
    at_end: list[int] = []
    before: list[int] = []
    for at, (_, column) in enumerate(pairs):
        length = bisect_left(ends, column)
        before.append(at_end[length - 1] if length else -1)
        ends[length : length + 1] = [column]
        at_end[length : length + 1] = [at]
    rise = []
    at = at_end[-1] if at_end else -1
    while at >= 0:
        rise.append(pairs[at])
        at = before[at]
    return rise[::-1]


def _stretch(row: int, column: int, last_row: int, last_column: int) -> Iterator[tuple[int, int, int]]:
    """First and last column of each row between two anchors."""
    rows, columns = last_row - row, last_column - column
    whole = rows * columns <= _OPEN_CELLS
    for at in range(rows + 1):
        if whole or not rows:
            yield row + at, column, last_column
        else:
            middle = column + at * columns // rows
            half = STRIP + columns // rows
            yield row + at, max(column, middle - half), min(last_column, middle + half)
