from __future__ import annotations

import itertools
import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.drift.explanations import (
    Change,
    Explanation,
    Kind,
    NumberedReading,
    SlipRates,
    WayBack,
    explain_mismatch,
    explain_without_numbers,
)
from fieldtui.core.drift.mishearing import mishearings
from fieldtui.core.measurement.ohms import Resistance, Unit


def taken(
    *values: str, start: int = 11, attempts: dict[int, int] | None = None, disturbed: tuple[int, ...] = ()
) -> list[NumberedReading]:
    """Records 101, 102 … with the numbers from ``start`` on; ``attempts`` and ``disturbed`` by record."""
    return [
        NumberedReading(
            record,
            start + i,
            Resistance(Decimal(value), Unit.MOHM),
            (attempts or {}).get(record, 0),
            record in disturbed,
        )
        for i, (record, value) in enumerate(zip(itertools.count(101), values, strict=False))
    ]


TEN = tuple(f"1.{i}2" for i in range(10))  # records 101 to 110, numbers 11 to 20


def by_kind(explanations: tuple[Explanation, ...]) -> dict[Kind, Explanation]:
    return {explanation.kind: explanation for explanation in explanations}


def test_one_too_many_is_explained_in_every_way_it_can_happen() -> None:
    found = by_kind(explain_mismatch(taken(*TEN), 20, 21))
    assert set(found) == {
        Kind.STORED_TWICE,
        Kind.UNANNOUNCED,
        Kind.SPOILED,
        Kind.MISHEARD,
        Kind.SEVERAL,
    }
    assert len(found[Kind.STORED_TWICE].changes) == 10
    assert len(found[Kind.UNANNOUNCED].changes) == 11
    # Storing record 101 again moves 102 and all after it; the last record's double moves none.
    moves = {change.moves_from for change in found[Kind.STORED_TWICE].changes}
    assert moves == {*range(102, 111), None}
    assert {change.moves_from for change in found[Kind.SPOILED].changes} == {*range(101, 111), None}
    for kind in (Kind.STORED_TWICE, Kind.UNANNOUNCED, Kind.SPOILED):
        assert all((c.by, c.loses, c.next_number) == (1, (), 22) for c in found[kind].changes)
    assert all((c.by, c.moves_from, c.next_number) == (0, None, 21) for c in found[Kind.MISHEARD].changes)


def test_one_too_few_is_a_reading_not_stored_which_loses_its_number() -> None:
    best = explain_mismatch(taken(*TEN), 20, 19)[0]
    assert best.kind is Kind.NOT_STORED and best.probability > 0.8
    assert {change.loses for change in best.changes} == {(record,) for record in range(101, 111)}
    for change in best.changes:
        (lost,) = change.loses
        assert change.moves_from == (lost + 1 if lost < 110 else None)
        assert (change.by, change.next_number) == (-1, 20)
        assert str(lost) in change.words


def test_two_too_few_are_two_neighbours_or_two_slips_apart() -> None:
    found = by_kind(explain_mismatch(taken(*TEN), 20, 18))
    assert found[Kind.NOT_STORED].changes[0].loses == (101, 102)
    assert found[Kind.NOT_STORED].changes[0].moves_from == 103
    assert len(found[Kind.NOT_STORED].changes) == 9
    assert found[Kind.SEVERAL].probability > 0.1
    (change,) = found[Kind.SEVERAL].changes
    assert not change.settles and change.moves_from is None and change.next_number == 19


def test_two_too_many_move_the_numbers_by_two() -> None:
    found = by_kind(explain_mismatch(taken(*TEN), 20, 22))
    assert {change.by for change in found[Kind.STORED_TWICE].changes} == {2}
    assert found[Kind.SEVERAL].probability > 0.1
    assert found[Kind.MISHEARD].changes[0].words == "20 became 22: one digit changed"


@pytest.mark.parametrize(
    "expected, called, how",
    [
        (117, 171, "two digits swapped"),
        (117, 917, "one digit changed"),
        (117, 17, "a digit left out"),
        (117, 1117, "a digit too many"),
        (113, 130, "sounds like it"),
    ],
)
def test_a_large_difference_that_a_digit_slip_explains_was_misheard(
    expected: int, called: int, how: str
) -> None:
    best = explain_mismatch(taken(*TEN, start=expected - 9), expected, called)[0]
    assert best.kind is Kind.MISHEARD and best.probability > 0.9
    assert how in best.changes[0].words and best.changes[0].by == 0


def test_a_large_difference_nothing_explains_is_left_to_reconcile() -> None:
    best = explain_mismatch(taken(*TEN), 20, 357)[0]
    assert best.kind is Kind.SEVERAL and best.probability > 0.8 and not best.changes[0].settles
    alone = explain_mismatch([], 8, 4711)[0]
    assert alone.kind is Kind.SEVERAL and not alone.changes[0].settles


def test_a_number_from_the_start_of_a_memory_says_that_it_began_anew() -> None:
    best = explain_mismatch(taken(*TEN, start=81, disturbed=(107,)), 90, 4)[0]
    assert best.kind is Kind.RESTARTED and best.probability > 0.9
    (change,) = best.changes  # the last four readings: 107 to 110, which had 87 to 90
    assert (change.moves_from, change.by, change.next_number) == (107, -86, 5)
    cleared = explain_mismatch(taken(*TEN, start=86), 95, 0, times_called=2)[0]
    assert cleared.kind is Kind.RESTARTED and cleared.changes[0].moves_from is None
    assert cleared.changes[0].next_number == 1


def test_without_any_sign_a_wrong_number_is_likelier_than_a_memory_that_began_anew() -> None:
    readings = taken(*(f"1.{i:02}" for i in range(18)), start=1)
    found = by_kind(explain_mismatch(readings, 18, 3))
    assert found[Kind.MISHEARD].probability > 4 * found[Kind.RESTARTED].probability > 0.1
    after_a_try = taken(*(f"1.{i:02}" for i in range(18)), start=1, attempts={116: 1})
    assert explain_mismatch(after_a_try, 18, 3)[0].kind is Kind.RESTARTED
    thrice = explain_mismatch(readings, 18, 3, times_called=3)
    assert Kind.MISHEARD in by_kind(thrice) and thrice[0].kind is not Kind.MISHEARD


def test_a_way_back_is_the_likeliest_until_a_number_has_agreed() -> None:
    change = Change(0.0, 108, -1, (), 20, "the answer was wrong", takes_back=1, effect="next number 20")
    for kind, way in ((Kind.TAKEN_BACK, WayBack(change)), (Kind.NOT_CLEARED, WayBack(change, is_run=True))):
        found = explain_mismatch(taken(*TEN, start=11)[:2], 20, 19, ways_back=[way])
        assert found[0].kind is kind and found[0].probability > 0.5
        assert replace(found[0].changes[0], probability=0.0) == change
        agreed = by_kind(explain_mismatch(taken(*TEN), 20, 19, ways_back=[replace(way, is_agreed=True)]))
        assert agreed[kind].probability < 0.1
    two = explain_mismatch([], 20, 19, ways_back=[WayBack(change, answers=2)])[0].probability
    assert two < explain_mismatch([], 20, 19, ways_back=[WayBack(change)])[0].probability


def test_an_empty_memory_that_begins_with_nought_has_its_ways_back_as_well() -> None:
    assert [each.probability for each in explain_without_numbers(3)] == [0.5, 0.5]
    way = WayBack(Change(0.0, None, 3, (), 4, "not cleared", takes_back=1), is_run=True)
    found = explain_without_numbers(3, ways_back=[way])
    assert found[0].kind is Kind.NOT_CLEARED
    assert {each.kind for each in found} == {Kind.NOT_CLEARED, Kind.UNANNOUNCED, Kind.MISHEARD}


@pytest.mark.parametrize("used_up", range(1, 11))
@pytest.mark.parametrize("first_number", [0, 1])
@pytest.mark.parametrize("filed", [1, 2, 3, 5])
def test_a_memory_that_began_anew_never_gives_a_number_that_no_meter_has(
    used_up: int, first_number: int, filed: int
) -> None:
    """A number used up without a value, after the clearing or before it, is no reading's."""
    whole = taken(*TEN, start=81)
    readings = [replace(each, number=each.number + (at >= used_up)) for at, each in enumerate(whole)]
    called = first_number + filed - 1
    found = by_kind(explain_mismatch(readings, 91, called, first_number=first_number))
    (change,) = found[Kind.RESTARTED].changes
    moved = [each for each in readings if change.moves_from is not None and each.record >= change.moves_from]
    numbers = [each.number + change.by for each in moved]
    assert all(first_number <= number <= called for number in numbers)
    is_used_up_since = 10 - used_up < filed  # one of the entries in the memory is that number
    assert len(moved) == filed - is_used_up_since
    assert change.next_number == called + 1


def test_a_try_before_all_readings_may_be_the_first_entry_of_a_new_memory() -> None:
    after_a_try = by_kind(explain_mismatch(taken("1.02", start=31, attempts={101: 1}), 31, 2))
    assert after_a_try[Kind.RESTARTED].changes[0].moves_from == 101
    assert Kind.RESTARTED not in by_kind(explain_mismatch(taken("1.02", start=31), 31, 2))


def test_an_attempt_makes_a_spoiled_number_likeliest_and_there() -> None:
    best = explain_mismatch(taken(*TEN, attempts={104: 1}), 20, 21)[0]
    assert best.kind is Kind.SPOILED
    assert best.changes[0].moves_from == 104 and best.changes[0].probability > 0.5
    after = explain_mismatch(taken(*TEN), 20, 21, attempts_since=1)[0]
    assert after.kind is Kind.SPOILED and after.changes[0].moves_from is None
    two = explain_mismatch(taken(*TEN, attempts={104: 2}), 20, 22)[0]
    assert two.kind is Kind.SPOILED and (two.changes[0].moves_from, two.changes[0].by) == (104, 2)


def test_equal_digits_point_at_the_reading_keyed_twice() -> None:
    best = explain_mismatch(taken("1.10", "1.20", "1.20", "1.30"), 14, 13)[0]
    assert best.kind is Kind.NOT_STORED and best.changes[0].loses == (103,)
    first, second = best.changes[:2]
    assert first.probability / second.probability == pytest.approx(SlipRates().same_digits)
    differing = explain_mismatch(taken("1.10", "1.20", "1.2", "1.30"), 14, 13)[0]  # digits as keyed differ
    assert len({change.probability for change in differing.changes}) == 1


def test_a_pause_makes_its_place_likelier_by_the_published_factor() -> None:
    best = by_kind(explain_mismatch(taken(*TEN, disturbed=(106,)), 20, 19))[Kind.NOT_STORED]
    first, second = best.changes[:2]
    assert first.loses == (106,)
    assert first.probability / second.probability == pytest.approx(SlipRates().disturbed)


def test_the_same_number_read_out_again_is_less_likely_misheard() -> None:
    readings = taken(*TEN)
    once, twice = (
        by_kind(explain_mismatch(readings, 20, 22, times_called=n))[Kind.MISHEARD].probability for n in (1, 2)
    )
    assert twice < once / 3


def test_without_readings_since_the_last_check_nothing_can_be_lost() -> None:
    fewer = explain_mismatch([], 20, 19)
    assert fewer[0].kind is Kind.MISHEARD and Kind.NOT_STORED not in by_kind(fewer)
    more = by_kind(explain_mismatch([], 20, 21))
    assert Kind.STORED_TWICE not in more
    assert [change.moves_from for change in more[Kind.UNANNOUNCED].changes] == [None]


def test_the_odds_are_those_of_the_rates() -> None:
    rates = SlipRates(stored_twice=0.02, unannounced=0.01, spoiled=0.005)
    found = by_kind(explain_mismatch(taken(*TEN), 20, 21, rates=rates))
    twice, unannounced, spoiled = (
        found[k].probability for k in (Kind.STORED_TWICE, Kind.UNANNOUNCED, Kind.SPOILED)
    )
    assert twice / unannounced == pytest.approx(10 * 0.02 / (11 * 0.01))
    assert unannounced / spoiled == pytest.approx(2.0)


@pytest.mark.parametrize(
    "readings, expected, called",
    [(taken(*TEN), 20, 20), (taken(*TEN), 15, 16), ([], -1, 3), (taken("1.1", "1.2", start=9)[::-1], 12, 13)],
)
def test_numbers_that_agree_or_do_not_rise_are_refused(
    readings: list[NumberedReading], expected: int, called: int
) -> None:
    with pytest.raises(ValueError):
        explain_mismatch(readings, expected, called)


@given(
    count=st.integers(0, 40),
    start=st.integers(1, 900),
    called=st.integers(0, 12_000),
    attempts=st.lists(st.integers(0, 3), min_size=40, max_size=40),
    disturbed=st.lists(st.booleans(), min_size=40, max_size=40),
    times=st.integers(1, 3),
)
def test_probabilities_sum_to_one_and_every_change_fits_the_called_number(
    count: int, start: int, called: int, attempts: list[int], disturbed: list[bool], times: int
) -> None:
    value = Resistance(Decimal("1.38"), Unit.MOHM)
    readings = [NumberedReading(i + 1, start + i, value, attempts[i], disturbed[i]) for i in range(count)]
    expected = start + count - 1
    if called == expected:
        return
    found = explain_mismatch(readings, expected, called, times_called=times)
    assert math.fsum(e.probability for e in found) == pytest.approx(1.0, abs=1e-12)
    assert Kind.MISHEARD in by_kind(found)
    assert [e.probability for e in found] == sorted((e.probability for e in found), reverse=True)
    for explanation in found:
        assert math.fsum(c.probability for c in explanation.changes) == pytest.approx(explanation.probability)
        for change in explanation.changes:
            right = expected if explanation.kind is Kind.MISHEARD else called
            assert change.next_number == right + 1
            if explanation.kind in (Kind.STORED_TWICE, Kind.SPOILED, Kind.UNANNOUNCED):
                assert change.by == called - expected > 0 and not change.loses
            if explanation.kind is Kind.NOT_STORED:
                assert len(change.loses) == -change.by == expected - called


def test_nothing_that_came_after_the_numbers_first_differed_so_explains_it() -> None:
    readings = taken(*TEN, attempts={106: 2})
    more = explain_mismatch(readings, 20, 21, since_it_differed=5, attempts_since=0)
    for kind in (Kind.STORED_TWICE, Kind.UNANNOUNCED, Kind.SPOILED):
        moved = [change.moves_from for change in by_kind(more)[kind].changes]
        assert set(moved) <= set(range(101, 107)) and 106 in moved  # 105 doubled moves 106
    assert by_kind(more)[Kind.SPOILED].probability < 0.1  # the tries before 106 were made afterwards
    fewer = by_kind(explain_mismatch(readings, 20, 19, since_it_differed=5))[Kind.NOT_STORED]
    assert {change.loses for change in fewer.changes} == {(record,) for record in range(101, 106)}
    restarted = explain_mismatch(readings, 20, 3, since_it_differed=5)
    assert Kind.RESTARTED not in by_kind(restarted)  # only three readings came after an empty memory


def test_a_rate_of_zero_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="misheard"):
        SlipRates(misheard=0.0)


# --- mishearing ---------------------------------------------------------------------------


@pytest.mark.parametrize("said", ["7", "13", "20", "117", "105", "111", "1000"])
def test_the_chances_of_all_mishearings_sum_to_one_at_most(said: str) -> None:
    others = (str(n) for n in range(11_000) if str(n) != said)
    total = sum(chance for other in others for _, chance in mishearings(said, other))
    possible = 0.75 + 0.06 * (len(said) > 1) + 0.12 * (len(set(said)) > 1)
    assert 0.8 * possible < total <= 1.0 + 1e-12


def test_equal_digits_cannot_be_swapped_and_are_left_out_in_two_ways() -> None:
    assert [how for how, _ in mishearings("11", "1")] == ["a digit left out"]
    assert mishearings("110", "10")[0][1] == pytest.approx(2 * mishearings("123", "13")[0][1])
    assert dict(mishearings("112", "121"))["two digits swapped"] == pytest.approx(0.12)
    assert dict(mishearings("132", "123"))["two digits swapped"] == pytest.approx(0.06)


def test_unlike_numbers_are_no_mishearing() -> None:
    assert mishearings("20", "57") == []
    assert mishearings("20", "2345") == []
