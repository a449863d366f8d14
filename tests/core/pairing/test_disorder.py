"""Lists whose lines do not stand in the order in which the meter filed them."""

from __future__ import annotations

from random import Random

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import Finding, MemoryEntry, Pairing, RecordEntry, pair_lists

VALUES = "1.71 1.52 2.25 0.85 1.13 0.64".split()


def record_of(values: list[str], run: int | None = 1) -> list[RecordEntry]:
    return [
        RecordEntry(at, parse_resistance(value, Unit.MOHM), at, run) for at, value in enumerate(values, 1)
    ]


def memory_of(*entries: tuple[int | None, str], run: int | None = 1) -> list[MemoryEntry]:
    return [MemoryEntry(run, number, parse_resistance(value, Unit.MOHM)) for number, value in entries]


def pairs_of(found: Pairing) -> dict[int, int]:
    return {pair.record: pair.entry for pair in found.pairs}


@pytest.mark.parametrize("run", [1, None])
@pytest.mark.parametrize("order", ["312456", "654312", "213456", "246135"])
def test_lines_out_of_order_are_put_in_the_order_of_their_numbers(order: str, run: int | None) -> None:
    places = [int(each) for each in order]
    found = pair_lists(record_of(VALUES), memory_of(*((n, VALUES[n - 1]) for n in places), run=run))
    assert pairs_of(found) == {n: places.index(n) for n in range(1, 7)}
    assert {pair.finding for pair in found.pairs} == {Finding.SAME}
    assert not (found.record_only or found.memory_only or found.undecided)
    assert (found.by_number, found.disordered) == ((run,), ())


def test_what_such_a_list_lacks_is_found_all_the_same() -> None:
    left = [(3, "0.85"), (1, "1.71"), (5, "0.64"), (2, "1.52"), (4, "1.13")]  # 2.25 was never filed
    found = pair_lists(record_of(VALUES), memory_of(*left))
    assert [each.record for each in found.record_only] == [3]
    assert {pair.record: pair.number for pair in found.pairs} == {1: 1, 2: 2, 4: 3, 5: 4, 6: 5}


def test_a_list_in_order_or_with_the_newest_first_is_not_said_to_be_out_of_order() -> None:
    entries = list(enumerate(VALUES, 1))
    for listed in (entries, entries[::-1], [(1, "1.71"), *entries]):  # a number twice is no disorder
        found = pair_lists(record_of(VALUES), memory_of(*listed))
        assert (found.by_number, found.disordered) == ((), ())


def test_a_number_that_is_wrong_moves_no_line_and_proves_nothing() -> None:
    """13 on the line of number 3: the line is that of record 3, but its number is for nobody to take over."""
    entries = list(enumerate(VALUES, 1))
    entries[2] = (13, VALUES[2])
    found = pair_lists(record_of(VALUES), memory_of(*entries))
    assert pairs_of(found) == {n: n - 1 for n in (1, 2, 4, 5, 6)}
    assert not found.record_only and not found.memory_only
    assert {(one.record, one.entry) for one in found.undecided} == {(3, None), (None, 2)}
    assert (found.by_number, found.disordered) == ((), (1,))


@pytest.mark.parametrize(
    "entries",
    [
        [(1, "1.71"), (3, "2.25"), (2, "1.52"), (2, "1.52"), (4, "0.85")],
        [(3, "2.25"), (1, "1.71"), (2, "1.52"), (3, "2.25"), (4, "0.85")],
        [(3, "2.25"), (1, "1.71"), (2, "1.52"), (None, "0.85")],
    ],
)
def test_where_a_number_stands_twice_or_is_missing_nothing_disputed_is_certain(
    entries: list[tuple[int | None, str]],
) -> None:
    record = record_of(VALUES[:4])
    found = pair_lists(record, memory_of(*entries))
    assert found.disordered == (1,)
    assert not found.record_only
    assert found.pairs and all(pair.finding is Finding.SAME for pair in found.pairs)
    assert all(pair.number in (pair.record, None) for pair in found.pairs)


def test_one_run_out_of_order_leaves_the_other_as_it_was() -> None:
    other = "3.31 4.42 5.53 6.64 7.75".split()
    record = record_of(VALUES)
    record += [
        RecordEntry(at, each.reading, each.number, 2)
        for at, each in enumerate(record_of(other), len(VALUES) + 1)
    ]
    entries = list(enumerate(VALUES, 1))
    Random(3).shuffle(entries)
    second = [*enumerate(other, 1)]
    del second[2]  # record 9 was not filed, as the list says
    found = pair_lists(record, memory_of(*entries) + memory_of(*second, run=2))
    assert found.by_number == (1,)
    assert [each.record for each in found.record_only] == [9]
    assert len(found.pairs) == 10


def test_many_runs_that_nobody_knows_are_not_weighed() -> None:
    """A list that names 600 runs of its own, each out of order: in one pass, and none of it is certain."""
    memory = [
        MemoryEntry(run, number, parse_resistance(f"{run}.{number}", Unit.MOHM))
        for run in range(10, 610)
        for number in (2, 1)
    ]
    found = pair_lists(record_of(VALUES), memory)
    assert len(found.disordered) == 600
    assert not found.memory_only and not found.pairs


def test_a_list_of_thousands_that_nobody_called_out_does_not_overflow() -> None:
    """Values that follow each other closely speak for points taken again, thousands of times over."""
    entries = [(at, f"{10 + at // 2}.{1 + at % 2}") for at in range(1, 6001)]
    found = pair_lists(record_of(VALUES), memory_of(*entries))
    assert len(found.memory_only) + sum(one.entry is not None for one in found.undecided) == 6000
    assert not found.pairs
