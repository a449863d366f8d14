"""Rates learned from the lists, what is made of entries shown as erased, and lists of strangers."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.pairing import alignment
from fieldtui.core.pairing.alignment import CERTAIN, Finding, MemoryEntry, RecordEntry, Whole, pair_lists
from fieldtui.core.pairing.band import are_strangers
from fieldtui.core.pairing.model import Rates
from fieldtui.core.pairing.rates import UNEXPLAINED, learn_rates, weights_of_shares
from fieldtui.core.slips import Slip, ticks
from tests.bench.crew import Crew, FaultRates, Walked, walk
from tests.bench.pairing import Both, true_rates

VALUES = "1.38 0.712 2.45 1.91 0.533 3.07 1.16 0.894 1.72 2.08 0.645 1.27"


def r(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


def record_of(values: str) -> list[RecordEntry]:
    return [RecordEntry(at + 1, r(value), 1 + at, 1) for at, value in enumerate(values.split())]


def memory_of(values: str) -> list[MemoryEntry]:
    return [MemoryEntry(1, 1 + at, r(value)) for at, value in enumerate(values.split())]


# --- rates --------------------------------------------------------------------------------


def taught(walked: Walked) -> Rates:
    """The rates learned with every pair known: the counts must then be those that were planted."""
    chances = [
        {} if (place := walked.truth[entry.record]) is None else {place: 1.0} for entry in walked.record
    ]
    listed = [None if entry.reading is None else ticks(entry.reading) for entry in walked.memory]
    alone = [(0.0, 0.0)] * len(listed)
    return learn_rates(Rates(), walked.record, walked.memory, listed, chances, alone)[0]


def test_with_every_pair_known_the_rates_are_the_planted_ones() -> None:
    faults = FaultRates(
        replaced=0.03, swapped=0.01, not_stored=0.02, spoiled=0.015, unannounced=0.015, misheard_number=0.15
    )
    learned = taught(walk(Crew(faults), 6000, Random(5)))
    assert learned.keyed_wrong == pytest.approx(0.04, rel=0.2)
    assert learned.shares[Slip.REPLACED] == pytest.approx(0.75, abs=0.1)
    assert learned.not_stored == pytest.approx(0.02, rel=0.25)
    assert learned.stored_more == pytest.approx(0.03, rel=0.2)
    assert learned.erased_alone == pytest.approx(0.5, abs=0.12)
    assert learned.erased_kept < 0.001
    assert learned.number_misheard == pytest.approx(0.15, rel=0.2)


def test_a_short_list_leaves_the_rates_where_they_were() -> None:
    learned = taught(walk(Crew(FaultRates()), 5, Random(1)))
    published = Rates()
    assert learned.keyed_wrong == pytest.approx(published.keyed_wrong, rel=0.15)
    assert learned.not_stored == pytest.approx(published.not_stored, rel=0.15)
    assert learned.shares == pytest.approx(published.shares)


def learned_by_pairing(walked: Walked, monkeypatch: pytest.MonkeyPatch) -> Rates:
    seen: list[Rates] = []

    def listening(*given: object) -> tuple[Rates, float]:
        learned = learn_rates(*given)  # type: ignore[arg-type]
        seen.append(learned[0])
        return learned

    monkeypatch.setattr(alignment, "learn_rates", listening)
    pair_lists(walked.record, walked.memory)
    return seen[-1]


def test_the_expected_counts_of_each_class_are_the_planted_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    faults = FaultRates.each(0.01)
    learned = learned_by_pairing(walk(Crew(faults), 2000, Random(4)), monkeypatch)
    assert learned.keyed_wrong == pytest.approx(0.07, rel=0.25)
    assert learned.not_stored == pytest.approx(0.01, rel=0.35)
    assert learned.stored_more == pytest.approx(0.03, rel=0.25)
    assert learned.copied == pytest.approx(1 / 3, abs=0.12)
    assert learned.erased_alone == pytest.approx(1 / 3, abs=0.12)


def test_shares_of_unexplained_slips_are_weighed_by_bayes_rule() -> None:
    assert sum(UNEXPLAINED.values()) == pytest.approx(1.0)
    assert weights_of_shares([-900.0] * 3) == pytest.approx(list(UNEXPLAINED.values()))
    few, middle, many = UNEXPLAINED.values()
    weights = weights_of_shares([-1000.0, -999.0, -997.0])
    assert weights[2] / weights[0] == pytest.approx(many / few * 20.0855, rel=1e-4)  # e cubed
    assert weights[1] / weights[0] == pytest.approx(middle / few * 2.71828, rel=1e-4)


ODD = "1.38 0.712 2.45 6.84 0.533 3.07 1.16 0.894 1.72 2.08 0.645 1.27"  # the fourth is no slip of 1.91


def test_a_pair_that_no_slip_explains_is_not_certain() -> None:
    found = pair_lists(record_of(ODD), memory_of(VALUES))
    (open_one,) = [one for one in found.undecided if one.record is not None]
    assert open_one.record == 4
    assert {option.finding for option in open_one.options} == {Finding.KEYED_DIFFERENTLY, Finding.RECORD_ONLY}


def test_many_pairs_that_no_slip_explains_speak_for_one_another() -> None:
    """Where odd values come one after another they are odd slips, not readings and entries both lost."""
    walked = walk(Crew(FaultRates()), 300, Random(6))
    odd = list(walked.record)
    for at in range(20, 300, 20):
        odd[at] = replace(odd[at], reading=Resistance(walked.record[at].reading.value * 7 + 1, Unit.MOHM))
    one = list(walked.record)
    one[20] = odd[20]

    def probability(record: list[RecordEntry]) -> float:
        found = pair_lists(record, walked.memory)
        likely = {pair.record: pair.probability for pair in found.pairs}
        for each in found.undecided:
            if each.record is not None:
                likely[each.record] = sum(o.probability for o in each.options if o.entry is not None)
        return likely.get(21, 0.0)

    assert probability(odd) > probability(one) + 0.05


# --- a reading that was never filed beside an entry that nobody called out ---------------------


def probability_of_pair(keyed: str, rates: Rates | None = None) -> float:
    """That the fourth reading, keyed so, and the entry 1.91 in its place belong together."""
    found = pair_lists(record_of(VALUES.replace("1.91", keyed)), memory_of(VALUES), rates)
    for pair in found.pairs:
        if pair.record == 4:
            return pair.probability
    (open_one,) = [one for one in found.undecided if one.record == 4]
    return sum(option.probability for option in open_one.options if option.entry == 3)


def test_a_reading_lost_and_its_point_filed_again_have_the_odds_that_bayes_rule_gives_them() -> None:
    """Keyed 1.98, filed 1.91: a digit replaced, or not filed, and the point taken again uncalled before it.

    A digit replaced in one of 27 ways, of which one is this: 0.006 / 27. The other way: not filed 0.01,
    taken again 0.01, and 1.91 to the last digit, which is a step of 0.01 / 1.91 in the logarithm, under a
    normal law of spread 0.15 times the root of 2, 0.036 from its middle: its density there is 1.85.
    """
    slip, other = 0.006 / 27, 0.01 * 0.01 * 0.01 / 1.91 * 1.85
    told = true_rates(Crew(FaultRates(replaced=0.006, not_stored=0.01, unannounced=0.01)))
    # The model lets the entry stand before or after the reading, and be the point of either neighbour.
    assert 1.0 - probability_of_pair("1.98", told) == pytest.approx(other / (slip + other), rel=0.4)


def test_a_near_value_that_no_slip_explains_is_rather_the_point_taken_again_and_a_far_one_a_slip() -> None:
    near, far = probability_of_pair("1.67"), probability_of_pair("6.84")
    assert near < 0.4
    assert far > 0.5
    # Neither is ruled out in a real crew's list.
    assert near > 0.1
    assert far < 0.9


def test_a_number_misheard_by_ten_parts_a_pair_no_more_than_one_misheard_by_one() -> None:
    """A neighbour's number is rather the neighbour's; ten further on nobody was."""

    def probability(off: int) -> float:
        record = record_of(VALUES.replace("0.533", "0.513"))
        record[4] = replace(record[4], number=5 + off, called=True)
        found = pair_lists(record, memory_of(VALUES))
        return max(
            [pair.probability for pair in found.pairs if pair.record == 5]
            + [one.options[0].probability for one in found.undecided if one.record == 5]
        )

    assert probability(1) < probability(10) < probability(0)


# --- entries shown as erased --------------------------------------------------------------


def spoiled(value: str, **said: bool) -> tuple[list[RecordEntry], list[MemoryEntry]]:
    """An entry shown as erased just before the fifth reading, and perhaps a record of its own."""
    memory = memory_of(VALUES.replace("0.533", f"{value} 0.533"))
    memory[4] = replace(memory[4], erased=True)
    record = record_of(VALUES.replace("0.533", f"{value} 0.533") if said else VALUES)
    if said:
        record[4] = replace(record[4], void=said.get("void", False), erased=said.get("erased", False))
    return record, memory


@pytest.mark.parametrize("value", ["0.561", "0.912"])
def test_an_erased_entry_that_nobody_called_out_is_certain(value: str) -> None:
    found = pair_lists(*spoiled(value))
    assert [(one.entry, one.copy_of) for one in found.memory_only] == [(4, None)]
    assert found.memory_only[0].probability > 0.9999
    assert not found.undecided


def test_an_erased_entry_that_reads_like_the_kept_one_is_the_one_alone_though_its_number_fits() -> None:
    record, memory = spoiled("0.533")
    assert memory[4].number == record[4].number
    options = next(one.options for one in pair_lists(record, memory).undecided if one.entry == 4)
    assert options[0].finding is Finding.MEMORY_ONLY
    assert options[0].probability > 0.99


@pytest.mark.parametrize("said", [{"erased": True, "void": True}, {"void": True}, {"erased": True}])
def test_an_erased_entry_of_a_reading_struck_out_is_its_pair(said: dict[str, bool]) -> None:
    found = pair_lists(*spoiled("0.561", **said))
    pair = next(pair for pair in found.pairs if pair.record == 5)
    assert pair.entry == 4
    assert pair.probability > 0.9999
    assert len(found.pairs) == 13


@pytest.mark.parametrize("said", [{"erased": True, "void": True}, {"void": True}])
def test_what_the_record_calls_erased_tells_two_equal_values_apart(said: dict[str, bool]) -> None:
    """The same value twice, the first deleted on the meter: states alone say which reading is which."""
    record, memory = spoiled("0.533", **said)
    record = [replace(entry, number=None) for entry in record]
    found = pair_lists(record, memory)
    assert {pair.record: pair.entry for pair in found.pairs}.items() >= {5: 4, 6: 5}.items()


def test_an_entry_deleted_on_the_meter_may_be_gone_from_a_list_without_states() -> None:
    record, memory = spoiled("0.561", erased=True, void=True)
    del memory[4]
    plain = [replace(entry, erased=False, void=False) for entry in record]
    (said,) = pair_lists(record, memory).record_only
    assert said.record == 5
    (unsaid,) = pair_lists(plain, memory).record_only
    assert said.probability > unsaid.probability >= CERTAIN


def test_a_reading_that_stands_against_an_erased_entry_is_not_lost_sight_of() -> None:
    """The crew deleted an entry on the meter and said nothing: its reading and it still belong together."""
    memory = memory_of(VALUES)
    memory[4] = replace(memory[4], erased=True)
    found = pair_lists(record_of(VALUES), memory)
    paired = {pair.record: pair.entry for pair in found.pairs}
    shown = {one.record: one.options[0].entry for one in found.undecided if one.record is not None}
    assert (paired | shown)[5] == 4


def erased_without_a_word(count: int) -> tuple[Walked, list[MemoryEntry]]:
    """A crew that spoils and loses readings, and so many entries erased of readings that stand."""
    walked = walk(Crew(FaultRates(not_stored=0.01, spoiled=0.01)), 600, Random(8))
    kept = [place for place in walked.truth.values() if place is not None]
    chosen = {kept[at] for at in range(20, 20 + 25 * count, 25)}
    memory = [replace(entry, erased=entry.erased or at in chosen) for at, entry in enumerate(walked.memory)]
    return walked, memory


@pytest.mark.parametrize(("count", "told"), [(0, 0), (1, 0), (2, 1), (20, 19)])
def test_a_pair_with_an_erased_entry_does_not_vouch_for_itself(count: int, told: int) -> None:
    walked, memory = erased_without_a_word(count)
    learned = taught(replace(walked, memory=memory)).erased_kept
    assert learned == pytest.approx((Rates().erased_kept * 100 + told) / 700, rel=0.02)


def test_one_reading_that_stands_against_an_erased_entry_is_undecided_and_many_are_certain() -> None:
    """One may as well be a spoiled entry whose point, taken again, read the same and was never filed:
    0.01 of 0.01 of a step of the display, against a deletion in the hundreds that stand without one."""

    def open_ones(count: int) -> int:
        walked, memory = erased_without_a_word(count)
        sure = {pair.entry for pair in pair_lists(walked.record, memory).pairs}
        places = [place for place in walked.truth.values() if place is not None and memory[place].erased]
        assert len(places) == count
        return sum(place not in sure for place in places)

    assert open_ones(1) == 1
    assert open_ones(20) == 0


# --- strangers ----------------------------------------------------------------------------


def never(*given: object) -> None:
    raise AssertionError("aligned all the same")


def test_the_list_of_another_session_is_refused_without_aligning(monkeypatch: pytest.MonkeyPatch) -> None:
    ours, theirs = (walk(Crew(FaultRates.each(0.01)), 1000, Random(seed)) for seed in (21, 22))
    monkeypatch.setattr(alignment, "posteriors", never)
    found = pair_lists(ours.record, theirs.memory)
    assert found.mismatch_of_whole is not None
    assert found.mismatch_of_whole.finding is Whole.OTHER_SESSION
    assert (len(found.record_only), len(found.memory_only)) == (len(ours.record), len(theirs.memory))
    assert not found.pairs
    assert not found.undecided


@pytest.mark.parametrize("kept", [60, 200])
def test_a_list_of_which_a_part_belongs_is_looked_at(kept: int) -> None:
    ours, theirs = (walk(Crew(FaultRates.each(0.01)), 1000, Random(seed)) for seed in (23, 24))
    found = pair_lists(ours.record, theirs.memory[:500] + ours.memory[400 : 400 + kept] + theirs.memory[500:])
    belong = {record for record, place in ours.truth.items() if place in range(400, 400 + kept)}
    likely = {pair.record for pair in found.pairs} | {one.record for one in found.undecided}
    assert len(belong & likely) > 0.9 * len(belong)


def test_who_strangers_are() -> None:
    ours = [str(at * 7919 % 2003) for at in range(1000)]
    theirs = [str(at * 104729 % 1999) for at in range(1000)]
    assert are_strangers(ours, theirs, [])
    assert not are_strangers(ours, theirs, [(at, at) for at in range(51)])  # numbers go with values
    assert not are_strangers(ours, theirs[:500] + ours[300:330] + theirs[500:], [])
    assert not are_strangers(ours[:150], theirs[:150], [])  # short lists are looked at
    assert not are_strangers(["0.00"] * 1000, ["0.01"] * 1000, [])  # values that tell nothing apart
    assert not are_strangers([], [], [])


# --- the bench's own figures --------------------------------------------------------------------


def both(told: int, more: int, fewer: int) -> Both:
    found = Both(more=more, fewer=fewer, squares=more + fewer)
    found.told.wrong, found.plain.wrong = told, told + more - fewer
    return found


def test_the_interval_of_the_bench_is_that_of_the_walks_that_differ() -> None:
    ratio, low, high = both(100, 0, 0).ratio()
    assert ratio == 1.0
    assert (low, high) == pytest.approx((0.9616, 1.0384), abs=1e-4)  # none seen: fewer than 3.84
    ratio, low, high = both(400, 120, 100).ratio()
    assert ratio == pytest.approx(1.05)
    assert high - low == pytest.approx(2 * 1.96 * 220**0.5 / 400, rel=0.01)  # many: the normal law
    one, *_ = both(400, 9, 2).ratio()
    other, *_ = both(400, 2, 9).ratio()
    assert one - 1.0 == pytest.approx(1.0 - other)


def test_the_bench_counts_what_only_one_of_the_two_gets_wrong() -> None:
    walked = walk(Crew(FaultRates()), 12, Random(2))
    right = pair_lists(walked.record, walked.memory)
    swapped = list(walked.memory)
    swapped[4], swapped[5] = replace(swapped[5], number=5), replace(swapped[4], number=6)
    wrong = pair_lists(walked.record, swapped)
    tally = Both()
    tally.add(walked, wrong, right)
    assert tally.plain.wrong == tally.only_plain == tally.more == tally.chosen_apart > 0
    assert tally.told.wrong == tally.only_told == tally.fewer == 0
    assert tally.reckoned == pytest.approx(tally.only_plain, abs=0.01)


# --- the number of the last entry, read out right after a reading -------------------------------


def chance_of_entry(record: list[RecordEntry], memory: list[MemoryEntry], at: int, entry: int) -> float:
    """That the reading and the entry at these places, from 0, belong together."""
    found = pair_lists(record, memory)
    for pair in found.pairs:
        if pair.record == record[at].record:
            return pair.probability if pair.entry == entry else 0.0
    one = next(one for one in found.undecided if one.record == record[at].record)
    return sum(option.probability for option in one.options if option.entry == entry)


def test_a_number_read_out_says_how_many_entries_there_were_and_not_which() -> None:
    """The fifth entry is none of the fifth reading's digits: a slip of no kind, or lost and another filed.

    Either way there are five entries by then, unless the other was filed after the number was read out:
    that half of the ways goes, and no more.
    """
    memory = memory_of(VALUES.replace("0.533", "0.871"))
    record = record_of(VALUES)
    unheard = chance_of_entry(record, memory, 4, 4)
    record[4] = replace(record[4], filed=True)
    heard = chance_of_entry(record, memory, 4, 4)
    assert 0.05 < unheard < heard < 0.95
    assert heard / (1.0 - heard) < 2.2 * unheard / (1.0 - unheard)


def test_a_number_read_out_outweighs_one_that_is_counted_up() -> None:
    """Two equal readings, one entry: the second is lost if four entries stood there after the first."""
    memory = memory_of(VALUES)
    first = [*record_of(VALUES)]
    at = 3
    again = replace(first[at], record=99)
    record = [
        replace(each, record=place + 1, number=place + 1)
        for place, each in enumerate([*first[: at + 1], again, *first[at + 1 :]])
    ]
    unheard = chance_of_entry(record, memory, at, at)
    record[at] = replace(record[at], filed=True)
    assert chance_of_entry(record, memory, at, at) > max(0.9, unheard + 0.2)
