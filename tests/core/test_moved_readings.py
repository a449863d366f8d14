"""Readings that are given to another point: first is as-found and last is as-left there too, by when they
were taken and not by when they were moved; takes stay whole; a retest is one that came after the rework.
"""

from __future__ import annotations

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.route import Limit
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk, point

NAMES = [f"P-{number}" for number in range(1, 6)]


def shift(walk: Walk, first: int, last: int, to: str) -> Walk:
    return walk.tell(ev.ReadingsShifted, ref=first, record=last, point=to, reason="out of step")


def move(walk: Walk, record: int, to: str) -> Walk:
    return walk.tell(ev.Amended, ref=record, point=to, reason="wrong point")


def takes(walk: Walk, name: str) -> tuple[str, list[int], list[int]]:
    """State, records of as-found, records of as-left."""
    standing = walk.standing(name)
    found, left = (
        [record.record for record in result.records] if result is not None else []
        for result in (standing.as_found, standing.as_left)
    )
    return standing.state.value, found, left


@pytest.mark.parametrize(("old", "redone", "state"), [("9.00", "1.10", "passed"), ("1.00", "9.10", "failed")])
def test_a_redo_counts_more_than_an_older_reading_shifted_there(old: str, redone: str, state: str) -> None:
    walk = Walk(*NAMES).read("1.00").read(old).read("1.20").redo("P-3").read(redone, at="P-3")
    shift(walk, 2, 3, "P-3")
    assert takes(walk, "P-3") == (state, [2], [4])
    assert takes(walk, "P-4") == ("passed", [3], [3])
    assert walk.state("P-2") == "open"


def test_a_reading_older_than_the_rework_is_no_retest_where_it_is_moved() -> None:
    strict = Limit(maximum=parse_resistance("2.0", Unit.MOHM))
    walk = Walk("P-1", point("P-2", retest=strict), "P-3").read("2.2").read("9.00")
    walk.tell(ev.Reworked, point="P-2", ref="D-1", reason="cleaned").read("1.5", at="P-2")
    move(walk, 1, "P-2")
    assert takes(walk, "P-2") == ("passed", [1], [3])
    assert (walk.record(1).retest, walk.record(1).verdict.value) == (False, "pass")
    assert walk.record(3).retest


def test_a_reading_after_the_rework_is_a_retest_where_it_is_moved() -> None:
    strict = Limit(maximum=parse_resistance("2.0", Unit.MOHM))
    walk = Walk("P-1", point("P-2", retest=strict), "P-3").jump("P-2").read("9.00")
    walk.tell(ev.Reworked, point="P-2", ref="D-1", reason="cleaned").read("2.2", at="P-1")
    move(walk, 2, "P-2")
    assert takes(walk, "P-2") == ("failed", [1], [2])
    assert walk.record(2).retest


def test_whole_takes_that_are_shifted_stay_whole() -> None:
    """The last point's take is under way, and in the way of none."""
    walk = Walk(*(point(name, repeats=3, rule="median") for name in NAMES))
    for value in "1.0 1.1 1.2 2.0 2.1 2.2 3.0".split():
        walk.read(value)
    shift(walk, 1, 7, "P-2")
    assert [takes(walk, name) for name in NAMES] == [
        ("open", [], []),
        ("passed", [1, 2, 3], [1, 2, 3]),
        ("passed", [4, 5, 6], [4, 5, 6]),
        ("open", [], []),
        ("open", [], []),
    ]
    walk.read("3.1", at="P-4").read("3.2", at="P-4")
    assert takes(walk, "P-4") == ("failed", [7, 8, 9], [7, 8, 9])


def test_a_take_that_is_shifted_stays_apart_from_the_redo_under_way_there() -> None:
    walk = Walk(*(point(name, repeats=2, rule="mean") for name in NAMES[:3])).read("1.0").read("1.2")
    walk.redo("P-2").read("5.0", at="P-2")
    shift(walk, 1, 2, "P-2")
    assert takes(walk, "P-2") == ("open", [1, 2], [1, 2])  # what the redo asked for is half there
    walk.read("5.2", at="P-2")
    assert takes(walk, "P-2") == ("failed", [1, 2], [3, 4])


def test_the_reading_that_a_take_lacks_may_be_moved_to_it() -> None:
    walk = Walk(*(point(name, repeats=2) for name in NAMES[:3])).read("1.0").jump("P-2").read("1.2")
    move(walk, 1, "P-2")
    assert takes(walk, "P-2") == ("passed", [1, 2], [1, 2])
    walk = Walk(*(point(name, repeats=2) for name in NAMES[:3])).read("1.0").jump("P-2").read("1.2")
    move(walk, 2, "P-1")
    assert takes(walk, "P-1") == ("passed", [1, 2], [1, 2])


def test_a_moved_reading_struck_out_pulls_no_later_one_into_its_place() -> None:
    walk = Walk(*NAMES[:3]).read("9.0").read("1.0").void(2).read("1.1", at="P-2")
    move(walk, 1, "P-2")
    assert takes(walk, "P-2") == ("passed", [1], [3])
    walk.void(3).void(1).read("1.2", at="P-2").redo("P-2").read("1.3", at="P-2")
    assert takes(walk, "P-2") == ("passed", [4], [5])
    assert len({walk.record(number).take for number in (4, 5)}) == 2


def test_a_redo_asked_for_wants_a_whole_take_though_the_last_one_is_struck_out() -> None:
    walk = Walk(point("P-1", repeats=2, rule="mean"), "P-2").read("1.0").read("1.2").redo("P-1").void(2)
    walk.read("5.0", at="P-1")
    assert takes(walk, "P-1") == ("open", [], [])
    walk.read("5.2", at="P-1")
    assert takes(walk, "P-1") == ("failed", [3, 4], [3, 4])


def test_a_mirrored_section_with_a_redo_in_it_keeps_last_last() -> None:
    walk = Walk(*NAMES[:3]).read("1.1").read("1.2").read("1.3").redo("P-1").read("9.0", at="P-1")
    walk.tell(ev.SectionMirrored, ref=1, record=3, point="P-3", reason="from the far end")
    assert takes(walk, "P-1") == ("failed", [3], [4])
    assert takes(walk, "P-3") == ("passed", [1], [1])


def test_a_reading_older_than_the_redo_is_no_part_of_what_the_redo_asked_for() -> None:
    walk = Walk(*(point(name, repeats=2, rule="mean") for name in NAMES[:3])).read("1.0").redo("P-2")
    move(walk, 1, "P-2")
    walk.read("5.0", at="P-2")
    assert takes(walk, "P-2") == ("open", [], [])
    walk.read("5.2", at="P-2")
    assert takes(walk, "P-2") == ("failed", [2, 3], [2, 3])
