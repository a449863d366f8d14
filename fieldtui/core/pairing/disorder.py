"""Memory lists whose lines do not stand in the order in which the meter filed them.

A meter counts up, so that numbers that go up and down are either those of lines that were moved, as a
spreadsheet sorts them, or wrong numbers on lines that were not. Lines are put in the order of their
numbers where each has one of its own and the record as a whole is no worse explained by that order; else
they stay as they are, and what hangs on those numbers is certain for nobody.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate

from fieldtui.core.pairing.model import MemoryEntry, RecordEntry
from fieldtui.core.pairing.order import filled, is_descending, order_runs

Weigh = Callable[[Sequence[int], Sequence[int]], float]
"""How well places of the record and of the list, laid side by side, explain each other: a log weight."""

_ANEW = 5  # rising numbers in a row from which they are those of a memory that began anew; no source


@dataclass(frozen=True, slots=True)
class Laid:
    """Places of both lists in the order in which they are laid side by side.

    ``by_number`` are the runs whose lines were put in the order of their numbers, ``disordered`` those
    whose numbers go up and down for another reason, and ``disputed`` the places of the lines that do so.
    A run is None in a list that names none.
    """

    ours: list[int]
    theirs: list[int]
    by_number: tuple[int | None, ...] = ()
    disordered: tuple[int | None, ...] = ()
    disputed: frozenset[int] = frozenset()
    rank: dict[int, int] = field(init=False)  # of each place of the list in ``theirs``

    def __post_init__(self) -> None:
        object.__setattr__(self, "rank", {place: at for at, place in enumerate(self.theirs)})


def lay(record: Sequence[RecordEntry], memory: Sequence[MemoryEntry], weigh: Weigh) -> Laid:
    """Both lists run by run; lines out of order are put in order where that is no guess."""
    our_runs = filled([entry.run for entry in record])
    by_number, disordered = [], []
    disputed: set[int] = set()
    for run, places in _disordered_runs(our_runs, memory):
        readings = [at for at, its in enumerate(our_runs) if run is None or its == run]
        sorted_places = sorted(places, key=lambda at: memory[at].number or 0)
        if (
            readings
            and _has_own_numbers(places, memory)
            and weigh(readings, sorted_places) >= weigh(readings, places)
        ):
            by_number.append(run)
        else:
            disordered.append(run)
            disputed.update(_inverted(places, memory))
    ours, theirs = order_runs(record, memory, by_number)
    return Laid(ours, theirs, tuple(by_number), tuple(disordered), frozenset(disputed))


def _disordered_runs(
    our_runs: Sequence[int | None], memory: Sequence[MemoryEntry]
) -> Iterator[tuple[int | None, list[int]]]:
    """Each run whose numbers do not rise, with the places of its lines; the newest first is an order too."""
    their_runs = filled([entry.run for entry in memory])
    by_run: dict[int | None, list[int]] = {}
    for at, run in enumerate(their_runs):
        by_run.setdefault(run, []).append(at)
    for run, places in by_run.items():
        if run is None and len(set(our_runs)) > 1:
            continue  # numbers begin anew with each of the runs that the list does not name
        if is_descending(run, their_runs, memory):
            places.reverse()
        rises = _rises([number for at in places if (number := memory[at].number) is not None])
        begins_anew = all(len(rise) >= _ANEW and rise[0] == rises[0][0] for rise in rises)
        if len(rises) > 1 and not begins_anew:
            yield run, places


def _rises(numbers: Sequence[int]) -> list[list[int]]:
    """Numbers cut wherever the next one is lower."""
    rises: list[list[int]] = []
    for number in numbers:
        if rises and number >= rises[-1][-1]:
            rises[-1].append(number)
        else:
            rises.append([number])
    return rises


def _has_own_numbers(places: Sequence[int], memory: Sequence[MemoryEntry]) -> bool:
    """Whether every line has a number, and no two the same."""
    numbers = [memory[at].number for at in places]
    return None not in numbers and len(set(numbers)) == len(numbers)


def _inverted(places: Sequence[int], memory: Sequence[MemoryEntry]) -> Iterator[int]:
    """Those of ``places`` with a higher number before them or a lower one behind."""
    numbered = [(at, number) for at in places if (number := memory[at].number) is not None]
    numbers = [number for _, number in numbered]
    highest = accumulate(numbers, max)
    lowest = [*accumulate(reversed(numbers), min)][::-1]
    for (at, number), high, low in zip(numbered, highest, lowest, strict=True):
        if high > number or low < number:
            yield at
