"""Pairing the record with the memory list: recursions, then what is said of real-life lists."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.pairing.alignment import (
    CERTAIN,
    Finding,
    MemoryEntry,
    Pairing,
    Rates,
    RecordEntry,
    Whole,
    pair_lists,
)
from fieldtui.core.pairing.band import find_anchors, lay_band
from fieldtui.core.pairing.model import steps_of
from fieldtui.core.pairing.recursion import Band, Emissions, Steps, posteriors
from fieldtui.core.slips import Slip
from tests.bench.crew import Crew, FaultRates, Walked, is_visible, joined, walk

FAULTLESS = Crew(FaultRates())
FAULTY = Crew(FaultRates.each(0.01))


def r(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


def record_of(values: str, first: int | None = 1, run: int | None = 1) -> list[RecordEntry]:
    return [
        RecordEntry(at + 1, r(value), None if first is None else first + at, run)
        for at, value in enumerate(values.split())
    ]


def memory_of(values: str, first: int = 1, run: int | None = 1) -> list[MemoryEntry]:
    return [MemoryEntry(run, first + at, r(value)) for at, value in enumerate(values.split())]


def places(found: Pairing) -> dict[int, int]:
    return {pair.record: pair.entry for pair in found.pairs}


def assert_whole(found: Pairing, record: Sequence[RecordEntry], memory: Sequence[MemoryEntry]) -> None:
    """Every reading and every entry is in exactly one part, and what is certain is above the bound."""
    readings = [pair.record for pair in found.pairs] + [one.record for one in found.record_only]
    readings += [one.record for one in found.undecided if one.record is not None]
    assert sorted(at for at in readings if at is not None) == sorted(entry.record for entry in record)
    entries = [pair.entry for pair in found.pairs] + [one.entry for one in found.memory_only]
    entries += [one.entry for one in found.undecided if one.entry is not None]
    assert sorted(at for at in entries if at is not None) == list(range(len(memory)))
    assert all(pair.probability >= CERTAIN for pair in found.pairs)
    assert all(one.probability >= CERTAIN for one in (*found.record_only, *found.memory_only))


def assert_right(walked: Walked, found: Pairing) -> None:
    assert_whole(found, walked.record, walked.memory)
    for pair in found.pairs:
        assert walked.truth[pair.record] in (pair.entry, *pair.copies), pair


# --- the recursions against enumeration ---------------------------------------------------

_NEXT = {
    "M": {"M": "pair_pair", "R": "pair_record", "E": "pair_memory", "RB": "pair_block", "EB": "pair_block"},
    "R": {"M": "record_pair", "R": "record_record", "E": "record_memory"},
    "E": {"M": "memory_pair", "R": "memory_record", "E": "memory_memory"},
    "RB": {"M": "block_pair", "RB": "block_block", "EB": "block_turn"},
    "EB": {"M": "block_pair", "RB": "block_turn", "EB": "block_block"},
}


def every_alignment(
    steps: Steps[float], emissions: Emissions[float], rows: int, columns: int
) -> Iterator[tuple[float, frozenset[tuple[int, int]]]]:
    """The weight and the pairs of every alignment, one by one."""
    stack = [(0, 0, "M", 1.0, frozenset[tuple[int, int]]())]
    while stack:
        row, column, state, weight, pairs = stack.pop()
        if (row, column) == (rows, columns):
            yield weight, pairs
            continue
        for follow, step in _NEXT[state].items():
            on = weight * getattr(steps, step)
            if follow == "M" and row < rows and column < columns:
                said = emissions.pairs[row][column + 1]
                stack.append((row + 1, column + 1, follow, on * said, pairs | {(row, column)}))
            elif follow in ("R", "RB") and row < rows:
                near = emissions.beside[row][column] if (state, follow) == ("E", "R") else 1.0
                stack.append((row + 1, column, follow, on * emissions.record[row][column] * near, pairs))
            elif follow in ("E", "EB") and column < columns:
                said = emissions.memory[column] if follow == "E" else 1.0
                said *= emissions.beside[row - 1][column + 1] if (state, follow) == ("R", "E") else 1.0
                stack.append((row, column + 1, follow, on * said, pairs))


@pytest.mark.parametrize("seed", range(12))
def test_posteriors_equal_the_enumeration_of_all_alignments(seed: int) -> None:
    chance = Random(seed)
    rows, columns = chance.randint(1, 4), chance.randint(1, 4)
    steps = Steps(*(chance.uniform(0.01, 1.0) for _ in range(13)))
    emissions = Emissions(
        [[0.0, *(math.exp(chance.gauss(0, 3)) for _ in range(columns))] for _ in range(rows)],
        [[1.0, *(math.exp(chance.gauss(0, 1)) for _ in range(columns))] for _ in range(rows)],
        [[chance.uniform(0.1, 2.0) for _ in range(columns + 1)] for _ in range(rows)],
        [chance.uniform(0.1, 2.0) for _ in range(columns)],
        0.0,
        1.0,
    )
    found, everything = posteriors(Band([0] * (rows + 1), [columns] * (rows + 1)), steps, emissions)
    expected = [[0.0] * (columns + 1) for _ in range(rows)]
    total = 0.0
    for weight, pairs in every_alignment(steps, emissions, rows, columns):
        total += weight
        for row, column in pairs:
            expected[row][column + 1] += weight
    assert everything == pytest.approx(math.log(total))
    for row in range(rows):
        assert found[row] == pytest.approx([weight / total for weight in expected[row]])


def test_long_lists_neither_overflow_nor_vanish() -> None:
    size = 3000
    band = lay_band(size, size, [(at, at) for at in range(0, size, 3)])
    pairs = [
        [1e4 if column == row + 1 else 1e-9 for column in range(band.low[row + 1], band.high[row + 1] + 1)]
        for row in range(size)
    ]
    apart = [[1.0] * len(row) for row in pairs]
    emissions = Emissions(pairs, apart, apart, [1.0] * size, 0.0, 1.0)
    found, everything = posteriors(band, steps_of(Rates()), emissions)
    assert everything == pytest.approx(size * math.log(1e4), rel=0.01)
    assert found[1500][1501 - band.low[1501]] == pytest.approx(1.0)


# --- the band -----------------------------------------------------------------------------


@given(
    st.integers(1, 300), st.integers(1, 300), st.lists(st.tuples(st.integers(0, 299), st.integers(0, 299)))
)
def test_a_band_rises_hangs_together_and_holds_both_corners(
    rows: int, columns: int, loose: list[tuple[int, int]]
) -> None:
    anchors: list[tuple[int, int]] = []
    for row, column in sorted(loose):
        if (
            row < rows
            and column < columns
            and (not anchors or (row > anchors[-1][0] and column > anchors[-1][1]))
        ):
            anchors.append((row, column))
    band = lay_band(rows, columns, anchors)
    assert (band.low[0], band.high[rows]) == (0, columns)
    for at in range(rows):
        assert band.low[at] <= band.low[at + 1] <= band.high[at] <= band.high[at + 1]
    for row, column in anchors:
        assert band.low[row + 1] <= column + 1 <= band.high[row + 1]


def test_a_lost_stretch_costs_a_corner_and_not_an_area() -> None:
    values = [str(at * 7919 % 2003) for at in range(2000)]
    band = lay_band(2000, 1500, find_anchors(values, values[:800] + values[1300:], []))
    cells = sum(high - low + 1 for low, high in zip(band.low, band.high, strict=True))
    assert cells < 30 * 2000
    assert band.low[1400] <= 900 <= band.high[1400]


def test_the_band_leaves_out_nothing_that_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    walked = walk(FAULTY, 120, Random(3))
    narrow = pair_lists(walked.record, walked.memory)
    monkeypatch.setattr(
        "fieldtui.core.pairing.alignment.lay_band",
        lambda rows, columns, anchors: Band([0] * (rows + 1), [columns] * (rows + 1)),
    )
    whole = pair_lists(walked.record, walked.memory)
    assert places(narrow) == places(whole)
    for one, other in zip(narrow.pairs, whole.pairs, strict=True):
        assert one.probability == pytest.approx(other.probability, abs=1e-6)


# --- single findings ----------------------------------------------------------------------

VALUES = "1.38 0.712 2.45 1.91 0.533 3.07 1.16 0.894 1.72 2.08 0.645 1.27"


def test_equal_lists_pair_one_to_one() -> None:
    record, memory = record_of(VALUES), memory_of(VALUES)
    found = pair_lists(record, memory)
    assert_whole(found, record, memory)
    assert places(found) == {at + 1: at for at in range(12)}
    assert {pair.finding for pair in found.pairs} == {Finding.SAME}
    assert found.mismatch_of_whole is None


@pytest.mark.parametrize(
    ("keyed", "slip"),
    [
        ("0.353", Slip.SWAPPED),
        ("5.33", Slip.POINT_MOVED),
        ("533", Slip.UNIT_WRONG),
        ("0.5433", Slip.ADDED),
        ("1.91", Slip.REPEATED),
    ],
)
def test_a_slip_is_paired_named_and_put_right(keyed: str, slip: Slip) -> None:
    found = pair_lists(record_of(VALUES.replace("0.533", keyed)), memory_of(VALUES))
    pair = next(pair for pair in found.pairs if pair.record == 5)
    assert (pair.entry, pair.finding, pair.slip) == (4, Finding.KEYED_DIFFERENTLY, slip)
    assert pair.likely == r("0.533")


def test_a_reading_the_meter_never_filed_is_record_only() -> None:
    found = pair_lists(record_of(VALUES), memory_of(VALUES.replace("0.533 ", "")))
    assert [one.record for one in found.record_only] == [5]
    assert places(found)[6] == 4  # the numbers say otherwise from here on


def test_an_entry_nobody_called_out_is_memory_only() -> None:
    found = pair_lists(record_of(VALUES.replace("0.533 ", "")), memory_of(VALUES))
    assert [(one.entry, one.number) for one in found.memory_only] == [(4, 5)]
    assert len(found.pairs) == 11


def test_an_entry_is_named_with_what_it_shows_and_whether_its_number_is_its_own() -> None:
    for number, is_shared in ((5, False), (4, True)):
        memory = memory_of(VALUES)
        memory[4] = replace(memory[4], number=number, erased=True)
        (alone,) = pair_lists(record_of(VALUES.replace("0.533 ", "")), memory).memory_only
        assert (alone.shown, alone.is_erased, alone.shares_number) == (r("0.533"), True, is_shared)


@pytest.mark.parametrize(
    ("said", "is_unsaid"), [({}, True), ({"void": True}, False), ({"erased": True}, False)]
)
def test_an_erased_entry_is_unsaid_where_its_reading_stands(said: dict[str, bool], is_unsaid: bool) -> None:
    record, memory = record_of(VALUES), memory_of(VALUES)
    record[4], memory[4] = replace(record[4], **said), replace(memory[4], erased=True)
    found = pair_lists(record, memory)
    assert [pair.record for pair in found.pairs if pair.erased_unsaid] == ([5] if is_unsaid else [])


def test_a_reading_stored_twice_names_its_copy() -> None:
    found = pair_lists(record_of(VALUES), memory_of(VALUES.replace("0.533", "0.533 0.533")))
    pair = next(pair for pair in found.pairs if pair.record == 5)
    (copy,) = found.memory_only
    assert {pair.entry, copy.entry} == {4, 5}
    assert pair.copies in ((copy.entry,), ())
    assert len(found.pairs) == 12
    assert not found.undecided


def test_an_entry_erased_in_the_middle_stays_alone() -> None:
    memory = memory_of(VALUES.replace("0.533", "0.561 0.533"))
    memory[4] = replace(memory[4], erased=True)
    assert [one.entry for one in pair_lists(record_of(VALUES), memory).memory_only] == [4]
    memory[4] = replace(memory[4], reading=None)
    assert [one.entry for one in pair_lists(record_of(VALUES), memory).memory_only] == [4]


def test_known_numbers_are_a_hint_that_values_override() -> None:
    record = [replace(entry, number=(entry.number or 0) + 3, called=True) for entry in record_of(VALUES)]
    found = pair_lists(record, memory_of(VALUES))
    assert places(found) == {at + 1: at for at in range(12)}
    assert found.mismatch_of_whole is not None
    assert (found.mismatch_of_whole.finding, found.mismatch_of_whole.shift) == (Whole.NUMBERS_SHIFTED, -3)


def test_duplicate_numbers_do_not_mislead() -> None:
    memory = [replace(entry, number=7) for entry in memory_of(VALUES)]
    assert places(pair_lists(record_of(VALUES), memory)) == {at + 1: at for at in range(12)}


def test_a_list_with_fewer_digits_still_says_same() -> None:
    memory = [
        replace(entry, reading=Resistance(round(entry.reading.value, 1), Unit.MOHM))
        for entry in memory_of("1.38 0.71 2.45 19.1 5.33 3.07 11.6 8.94")
        if entry.reading is not None
    ]
    found = pair_lists(record_of("1.38 0.71 2.45 19.1 5.33 3.07 11.6 8.94"), memory)
    assert {pair.finding for pair in found.pairs} == {Finding.SAME}
    assert places(found) == {at + 1: at for at in range(8)}


FULL = "2.10 1.23 3.30 4.41 1.56 1.77 2.09"  # seven readings, 0.01 the step of the display


@pytest.mark.parametrize("resolution", [None, Decimal("0.00001")])
@pytest.mark.parametrize("short", ["1.8", "1.7", "2"])
def test_a_reading_keyed_short_is_keyed_differently(short: str, resolution: Decimal | None) -> None:
    """No rounding is allowed for beyond the display's step: known, or seen from the other readings."""
    record = [replace(e, resolution=resolution) for e in record_of(FULL.replace("1.77", short))]
    found = pair_lists(record, memory_of(FULL))
    assert places(found) == {at + 1: at for at in range(7)}
    differ = [pair for pair in found.pairs if pair.finding is Finding.KEYED_DIFFERENTLY]
    assert [(pair.record, pair.likely, pair.slip) for pair in differ] == [(6, r("1.77"), Slip.OMITTED)]


def test_zeros_left_away_are_no_slip_but_hide_none_either() -> None:
    """A spreadsheet makes 3.3 of 3.30; a record of 3.33 then is another value all the same."""
    found = pair_lists(record_of(FULL.replace("2.10", "2.1")), memory_of(FULL.replace("3.30", "3.3")))
    assert {pair.finding for pair in found.pairs} == {Finding.SAME} and len(found.pairs) == 7
    found = pair_lists(record_of(FULL.replace("3.30", "3.33")), memory_of(FULL.replace("3.30", "3.3")))
    differ = [pair for pair in found.pairs if pair.finding is Finding.KEYED_DIFFERENTLY]
    assert [(pair.record, str(pair.likely), pair.slip) for pair in differ] == [(3, "3.3 mΩ", Slip.REPLACED)]


def test_a_crew_that_keys_one_digit_fewer_throughout_is_allowed_to_round() -> None:
    """Unless the meter's resolution is known: then every such reading is reported, or left undecided."""
    rounded = record_of("2.1 1.2 3.3 4.4 1.6 1.8 2.1")
    found = pair_lists(rounded, memory_of(FULL))
    assert {pair.finding for pair in found.pairs} == {Finding.SAME} and len(found.pairs) == 7
    strict = pair_lists([replace(e, resolution=Decimal("0.00001")) for e in rounded], memory_of(FULL))
    same = {pair.record for pair in strict.pairs if pair.finding is Finding.SAME}
    assert same <= {1, 3}  # 2.1 of 2.10 and 3.3 of 3.30


# --- edges --------------------------------------------------------------------------------


def test_nothing_against_nothing() -> None:
    assert pair_lists([], []) == Pairing((), (), (), ())


def test_an_empty_list_leaves_the_record_alone() -> None:
    record = record_of(VALUES)
    found = pair_lists(record, [])
    assert_whole(found, record, [])
    assert len(found.record_only) == 12
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.RECORD_MISSING


def test_an_empty_record_leaves_the_list_alone() -> None:
    found = pair_lists([], memory_of(VALUES))
    assert len(found.memory_only) == 12
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.MEMORY_MISSING


def test_one_reading() -> None:
    assert places(pair_lists(record_of("1.38"), memory_of("1.38"))) == {1: 0}
    strangers = pair_lists(record_of("1.38", None), memory_of("47.2"))
    assert (
        strangers.mismatch_of_whole is None or strangers.mismatch_of_whole.finding is not Whole.OTHER_SESSION
    )
    assert_whole(strangers, record_of("1.38"), memory_of("47.2"))


@pytest.mark.parametrize(("readings", "entries"), [(2, 2), (3, 3), (5, 6), (40, 40), (150, 140)])
def test_equal_values_without_numbers_are_undecided(readings: int, entries: int) -> None:
    record = record_of("1.38 " * readings, None)
    memory = memory_of("1.38 " * entries)
    found = pair_lists(record, memory)
    assert_whole(found, record, memory)
    assert not found.pairs
    assert not found.record_only
    assert not found.memory_only
    assert len(found.undecided) == readings + entries


def test_equal_values_are_never_paired_against_the_numbers_called() -> None:
    record = [replace(entry, called=True) for entry in record_of("1.38 " * 30)]
    found = pair_lists(record, memory_of("1.38 " * 30))
    assert all(pair.entry == pair.record - 1 for pair in found.pairs)
    assert len(found.pairs) >= 25


@pytest.mark.parametrize(("unit", "power"), [(Unit.OHM, -3), (Unit.UOHM, 3), (Unit.KOHM, -6)])
def test_a_list_in_another_unit_is_said_to_be_one(unit: Unit, power: int) -> None:
    record = record_of(VALUES)
    memory = [replace(e, reading=Resistance(e.reading.value, unit)) for e in memory_of(VALUES) if e.reading]
    found = pair_lists(record, memory)
    assert found.mismatch_of_whole is not None
    assert (found.mismatch_of_whole.finding, found.mismatch_of_whole.power) == (Whole.OTHER_UNIT, power)
    assert places(found) == {at + 1: at for at in range(12)}
    assert found.pairs[0].likely == record[0].reading


def test_the_same_values_written_in_another_unit_are_no_mismatch() -> None:
    memory = [replace(e, reading=e.reading.to(Unit.OHM)) for e in memory_of(VALUES) if e.reading]
    found = pair_lists(record_of(VALUES), memory)
    assert found.mismatch_of_whole is None
    assert {pair.finding for pair in found.pairs} == {Finding.SAME}


@pytest.mark.parametrize("size", [128, 1000])
def test_a_whole_memory_with_faults(size: int) -> None:
    walked = walk(FAULTY, size, Random(size))
    found = pair_lists(walked.record, walked.memory)
    assert_right(walked, found)
    assert len(found.pairs) > 0.95 * size
    told = {pair.record for pair in found.pairs if pair.finding is Finding.KEYED_DIFFERENTLY}
    told |= {one.record for one in found.undecided if one.record is not None}
    assert all(record in told for record in walked.planted if is_visible(walked, record))


def test_a_memory_that_restarted_without_being_told() -> None:
    first, second = walk(FAULTLESS, 60, Random(1)), walk(FAULTLESS, 50, Random(2))
    walked = joined([first, second])  # the list's numbers go back to 1, its run stays 1
    record = [replace(entry, number=entry.record) for entry in walked.record]
    found = pair_lists(record, walked.memory)
    assert places(found) == walked.truth


def test_a_restarted_memory_listed_as_a_run_of_its_own() -> None:
    walked = joined([walk(FAULTY, 60, Random(3)), walk(FAULTY, 50, Random(4), run=2)])
    record = [replace(entry, number=entry.record, run=1, called=False) for entry in walked.record]
    found = pair_lists(record, walked.memory)
    assert_right(Walked(record, walked.memory, walked.truth), found)
    assert len(found.pairs) > 100


def test_a_list_that_numbers_its_runs_otherwise() -> None:
    found = pair_lists(record_of(VALUES.replace("0.533", "0.353")), memory_of(VALUES, run=7))
    assert places(found) == {at + 1: at for at in range(12)}


def test_a_whole_run_missing_from_the_list_is_said() -> None:
    walked = joined([walk(FAULTY, 60, Random(15)), walk(FAULTY, 50, Random(16), run=2)])
    kept = [entry for entry in walked.memory if entry.run == 2]
    found = pair_lists(walked.record, kept)
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.RECORD_MISSING
    assert (found.mismatch_of_whole.first, found.mismatch_of_whole.last) == (1, 60)
    assert len(found.pairs) > 45


def test_two_meters_interleaved() -> None:
    one, two = walk(FAULTY, 80, Random(5), run=1), walk(FAULTY, 80, Random(6), run=2)
    truth: dict[int, int | None] = {}
    record: list[RecordEntry] = []
    for at in range(80):
        for part, offset in ((one, 0), (two, len(one.memory))):
            place = part.truth[at + 1]
            truth[len(record) + 1] = None if place is None else place + offset
            record.append(replace(part.record[at], record=len(record) + 1))
    memory = one.memory + two.memory
    found = pair_lists(record, memory)
    assert_right(Walked(record, memory, truth), found)
    assert len(found.pairs) > 150
    turned = pair_lists(record, two.memory + one.memory)  # whichever meter was read out first
    assert len(turned.pairs) == len(found.pairs)


def test_a_list_that_shows_the_newest_first() -> None:
    found = pair_lists(record_of(VALUES), memory_of(VALUES)[::-1])
    assert places(found) == {at + 1: 11 - at for at in range(12)}


@pytest.mark.parametrize("numbered", [True, False])
def test_a_lost_run_of_hundreds_is_said_and_the_rest_stays_right(numbered: bool) -> None:
    walked = walk(replace(FAULTY, numbered=numbered), 1000, Random(9))
    memory = walked.memory[:200] + walked.memory[600:]
    truth = {
        record: place if place is None or place < 200 else place - 400 if place >= 600 else None
        for record, place in walked.truth.items()
    }
    found = pair_lists(walked.record, memory)
    assert_right(Walked(walked.record, memory, truth), found)
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.RECORD_MISSING
    assert found.mismatch_of_whole.count == pytest.approx(400, abs=15)
    assert len(found.pairs) > 550


def test_a_list_that_begins_hundreds_earlier() -> None:
    walked = walk(FAULTY, 900, Random(10))
    shift = walked.truth[401] or 0
    truth = {record - 400: place for record, place in walked.truth.items() if record > 400}
    record = [replace(e, record=e.record - 400, number=e.record - 400) for e in walked.record[400:]]
    found = pair_lists(record, walked.memory)
    assert_right(Walked(record, walked.memory, truth), found)
    assert len(found.pairs) > 470
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.MEMORY_MISSING
    assert found.mismatch_of_whole.count == pytest.approx(shift, abs=10)


@pytest.mark.parametrize("size", [20, 200, 1000])
def test_a_list_from_the_wrong_session_is_said_to_be_one(size: int) -> None:
    ours, theirs = walk(FAULTLESS, size, Random(11)), walk(FAULTLESS, size, Random(12))
    found = pair_lists(ours.record, theirs.memory)
    assert_whole(found, ours.record, theirs.memory)
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.OTHER_SESSION
    assert not found.pairs


def test_the_list_of_an_earlier_survey_of_the_same_route_is_not_taken() -> None:
    ours = walk(FAULTLESS, 300, Random(13))
    chance = Random(14)
    memory = [
        replace(
            e,
            reading=Resistance(
                round(e.reading.value * Decimal(f"{math.exp(chance.gauss(0, 0.2)):.6f}"), 2), Unit.MOHM
            ),
        )
        for e in ours.memory
        if e.reading is not None
    ]
    found = pair_lists(ours.record, memory)
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.OTHER_SESSION
    assert not found.pairs


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 60), st.floats(0.0, 0.08), st.booleans(), st.integers(0, 2**32))
def test_nothing_is_lost_whatever_the_crew_did(points: int, rate: float, numbered: bool, seed: int) -> None:
    walked = walk(Crew(FaultRates.each(rate), numbered=numbered), points, Random(seed))
    found = pair_lists(walked.record, walked.memory)
    assert_whole(found, walked.record, walked.memory)
    order = [pair.entry for pair in sorted(found.pairs, key=lambda pair: pair.record)]
    assert order == sorted(order)
