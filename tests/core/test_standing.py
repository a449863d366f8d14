"""Takes, as-found and as-left: repeats and rules, voids inside a take, redos, rework, amendments."""

from __future__ import annotations

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.route import Comparator, Limit
from fieldtui.core.survey.standing import Result
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk, point

THREE = {"repeats": 3}


def told(result: Result | None) -> tuple[str, list[int], str] | None:
    """A result as its digits, its records and its verdict."""
    if result is None:
        return None
    return result.value.digits, [record.record for record in result.records], result.verdict.value


def found(walk: Walk, point_id: str = "SW-01") -> tuple[str, list[int], str] | None:
    return told(walk.standing(point_id).as_found)


def left(walk: Walk, point_id: str = "SW-01") -> tuple[str, list[int], str] | None:
    return told(walk.standing(point_id).as_left)


# --- takes of several readings ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "values", "digits", "verdict"),
    [
        ("max", "2.40 2.5 2.45", "2.5", "pass"),
        ("max", "2.40 2.6 2.45", "2.6", "fail"),
        ("mean", "2.4 2.5 2.6", "2.5", "pass"),  # one that was read: its own digits
        ("mean", "2.4 2.5 2.7", "2.53", "fail"),  # one digit finer than the finest
        ("mean", "1 2 2", "1.7", "pass"),
        ("mean", "1200u 1201u 1201u", "1.2007", "pass"),
        ("median", "9.9 2.40 1.0", "2.40", "pass"),
        ("median", "9.9 2.6 1.0", "2.6", "fail"),
    ],
)
def test_three_readings_by_rule(rule: str, values: str, digits: str, verdict: str) -> None:
    walk = Walk(point("SW-01", repeats=3, rule=rule), "SW-02")
    for value in values.split():
        assert walk.state("SW-01") == "open"
        walk.read(value, at="SW-01")
    assert left(walk) == found(walk) == (digits, [1, 2, 3], verdict)
    assert walk.here == "SW-02"


def test_two_readings_and_the_median_between_them() -> None:
    walk = Walk(point("SW-01", repeats=2, rule="median")).read("2.4").read("2.5")
    assert left(walk) == ("2.45", [1, 2], "pass")


def test_the_mean_of_whole_numbers_claims_one_digit_more_and_not_four() -> None:
    walk = Walk(point("SW-01", repeats=2, rule="mean", limit=Limit(maximum=parse_resistance("1r", Unit.OHM))))
    assert left(walk.read("100").read("101")) == ("100.5", [1, 2], "pass")


def test_readings_as_far_apart_as_can_be_keyed_still_give_a_value() -> None:
    walk = Walk(point("SW-01", repeats=2, rule="mean", unit=Unit.UOHM))
    walk.read("999999999.999999999M").read("0.000000001u")
    assert left(walk) is not None
    assert walk.state("SW-01") == "failed"


def test_a_minimum_is_held_by_the_worst_reading_and_that_one_is_told() -> None:
    at_least = Limit(minimum=parse_resistance("1", Unit.MEGOHM))
    walk = Walk(point("SW-01", repeats=2, limit=at_least, unit=Unit.MEGOHM)).read("5.0").read("0.9")
    assert left(walk) == ("0.9", [1, 2], "fail")


def test_in_a_window_the_reading_outside_it_is_told() -> None:
    window = Limit(minimum=parse_resistance("1", Unit.OHM), maximum=parse_resistance("9", Unit.OHM))
    walk = Walk(point("SW-01", repeats=2, limit=window, unit=Unit.OHM)).read("0.5").read("8")
    assert left(walk) == ("0.5", [1, 2], "fail")


def test_what_is_said_of_each_reading_is_of_the_take_so_far() -> None:
    walk = Walk(point("SW-01", repeats=3, rule="median")).read("2.6").read("1.0").read("2.4")
    assert [walk.record(number).said.value for number in (1, 2, 3)] == ["fail", "pass", "pass"]
    assert walk.problems == []


def test_a_void_inside_a_take_wants_one_reading_more() -> None:
    walk = Walk(point("SW-01", **THREE), "SW-02").read("1.1").read("9.9").void(2)
    assert walk.path() == ["SW-01", "SW-01", "SW-02"]
    walk.read("1.2").read("1.3")
    assert left(walk) == ("1.3", [1, 3, 4], "pass")


def test_a_void_in_a_complete_take_opens_its_point_for_the_one_that_is_missing() -> None:
    walk = Walk(point("SW-01", **THREE), "SW-02").read("1.1").read("1.2").read("1.3").void(2)
    assert (walk.state("SW-01"), left(walk)) == ("open", None)
    assert walk.path() == ["SW-02", "SW-01"]
    walk.jump("SW-01").read("1.4")
    assert left(walk) == ("1.4", [1, 3, 4], "pass")
    assert walk.here == "SW-02"


def test_every_reading_void_and_the_take_begins_anew() -> None:
    walk = Walk(point("SW-01", repeats=2)).read("1.1").read("1.2").void(1).void(2)
    assert walk.path() == ["SW-01", "SW-01"]
    walk.read("1.3").read("1.4")
    assert left(walk) == found(walk) == ("1.4", [3, 4], "pass")


# --- one take after another ---------------------------------------------------------------------


def test_as_found_is_the_first_valid_reading_and_as_left_the_last() -> None:
    walk = Walk("SW-01", "SW-02").read("2.6").redo("SW-01").read("2.4")
    assert found(walk) == ("2.6", [1], "fail")
    assert left(walk) == ("2.4", [2], "pass")
    assert walk.state("SW-01") == "passed"


def test_a_void_first_reading_is_not_as_found() -> None:
    walk = Walk("SW-01", "SW-02").read("2.6").redo("SW-01").read("2.4").void(1)
    assert found(walk) == left(walk) == ("2.4", [2], "pass")


def test_a_void_last_reading_leaves_the_one_before() -> None:
    walk = Walk("SW-01", "SW-02").read("2.6").redo("SW-01").read("2.4").void(2)
    assert found(walk) == left(walk) == ("2.6", [1], "fail")
    assert walk.state("SW-01") == "failed"


def test_a_redo_of_a_take_of_three_wants_three_again() -> None:
    walk = Walk(point("SW-01", **THREE), "SW-02").read().read().read().redo("SW-01")
    assert walk.path() == ["SW-01"] * 3 + ["SW-02"]
    assert (walk.state("SW-01"), found(walk)) == ("open", left(walk))


def test_a_redo_in_the_middle_of_a_take_leaves_what_was_read_aside() -> None:
    walk = Walk(point("SW-01", repeats=2)).read("9.9").redo("SW-01").read("1.1").read("1.2")
    assert found(walk) == left(walk) == ("1.2", [2, 3], "pass")


def test_a_void_of_the_first_take_does_not_pull_the_redo_under_way_into_it() -> None:
    walk = Walk(point("SW-01", repeats=2), "SW-02").read("1.1").read("1.2").redo("SW-01").read("2.1").void(2)
    walk.read("2.2")
    assert left(walk) == ("2.2", [3, 4], "pass")
    assert walk.here == "SW-02"


def test_a_void_after_a_rework_leaves_the_retest_to_itself() -> None:
    walk = Walk(point("SW-01", retest=Limit(maximum=parse_resistance("2.0", Unit.MOHM)))).read("2.6")
    walk.tell(ev.Reworked, point="SW-01", reason="new jumper", ref="D-7").void(1).read("2.2", at="SW-01")
    assert left(walk) == ("2.2", [2], "fail")


def test_void_then_read_then_void_never_loses_count() -> None:
    walk = Walk("SW-01").read("1.1").void(1).read("1.2").void(2).read("1.3")
    assert found(walk) == left(walk) == ("1.3", [3], "pass")
    assert walk.survey.next_record == 4
    assert walk.standing("SW-01").records == (1, 2, 3)


# --- rework, waiver, marks ------------------------------------------------------------------------


def test_after_a_rework_the_retest_limit_judges() -> None:
    retest = Limit(maximum=parse_resistance("2.0", Unit.MOHM), upper=Comparator.LESS)
    walk = Walk(point("SW-01", retest=retest), "SW-02").read("2.6")
    walk.tell(ev.Reworked, point="SW-01", reason="new jumper", ref="D-7").jump("SW-01").read("2.0")
    assert walk.state("SW-01") == "failed"
    walk.redo("SW-01").read("1.999")
    assert (walk.state("SW-01"), found(walk)) == ("passed", ("2.6", [1], "fail"))
    assert [walk.record(number).retest for number in (1, 2, 3)] == [False, True, True]


def test_without_a_retest_limit_the_first_one_holds_on() -> None:
    walk = Walk("SW-01").read("2.6").tell(ev.Reworked, point="SW-01", reason="new jumper")
    assert walk.read("2.5", at="SW-01").state("SW-01") == "passed"


def test_a_waived_point_is_waived_whatever_it_read() -> None:
    walk = Walk("SW-01").read("2.6").tell(ev.Waived, point="SW-01", reason="chief engineer", ref="D-7")
    assert (walk.state("SW-01"), left(walk)) == ("waived", ("2.6", [1], "fail"))


def test_a_reading_ends_a_waiver_a_skip_and_a_not_accessible() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").tell(ev.Waived, point="SW-01", reason="chief", ref="D-7")
    walk.skip().tell(ev.AttemptFailed, point="SW-03", reason="not accessible")
    assert [walk.state(each) for each in ("SW-01", "SW-02", "SW-03")] == ["waived", "skipped", "inaccessible"]
    for each in ("SW-01", "SW-02", "SW-03"):
        walk.read(at=each)
        assert (walk.state(each), walk.standing(each).reason) == ("passed", "")


def test_a_skip_of_a_point_that_was_to_be_taken_again_leaves_its_reading_and_wants_it_settled() -> None:
    walk = Walk("SW-01", "SW-02").read("1.1").redo("SW-01").skip()
    assert (walk.state("SW-01"), left(walk), walk.here) == ("skipped", ("1.1", [1], "pass"), "SW-02")
    assert walk.standing("SW-01").reason == "paint"
    assert walk.path() == ["SW-02", "SW-01"]  # the second pass leads there
    assert (walk.read().read("1.2").state("SW-01"), walk.survey.here) == ("passed", None)


@pytest.mark.parametrize("again", ["redo", "rework"])
@pytest.mark.parametrize(("value", "state"), [("1.1", "open"), ("9.9", "failed")])
def test_a_point_that_was_to_be_taken_again_is_not_settled_until_it_is(
    again: str, value: str, state: str
) -> None:
    walk = Walk("SW-01", "SW-02").read(value)
    walk.tell(ev.DiscrepancyRaised, point="SW-01", ref="D-1")
    assert walk.survey.settled == 1
    if again == "redo":
        walk.redo("SW-01")
    else:
        walk.tell(ev.Reworked, point="SW-01", reason="new jumper", ref="D-1")
    assert (walk.state("SW-01"), walk.standing("SW-01").asked_again, walk.survey.settled) == (state, True, 0)
    walk.read("1.2", at="SW-01")
    assert (walk.state("SW-01"), walk.standing("SW-01").asked_again, walk.survey.settled) == (
        *("passed", False),
        1,
    )


def test_what_is_awaited_is_a_retest_once_and_then_a_retake() -> None:
    """A retest that was read and is to be read again is no second retest."""
    walk = Walk("SW-01", "SW-02").read("9.9")
    assert walk.standing("SW-01").awaited == ""
    assert walk.redo("SW-01").standing("SW-01").awaited == "retake"
    walk.tell(ev.Reworked, point="SW-01", reason="new jumper", ref="D-1")
    assert walk.standing("SW-01").awaited == "retest"
    assert walk.read("1.2", at="SW-01").standing("SW-01").awaited == ""
    walk.redo("SW-01")
    assert walk.standing("SW-01").awaited == "retake"


def test_half_a_take_again_is_none() -> None:
    walk = Walk(point("SW-01", repeats=2), "SW-02").read("1.1").read("1.2").redo("SW-01").read("1.3").skip()
    assert (walk.state("SW-01"), left(walk)) == ("skipped", ("1.2", [1, 2], "pass"))
    walk.jump("SW-01").read("1.4")
    assert (walk.state("SW-01"), left(walk)) == ("passed", ("1.4", [3, 4], "pass"))


def test_a_void_of_the_take_that_was_asked_for_asks_for_it_again() -> None:
    walk = Walk("SW-01").read("1.1").redo("SW-01").read("1.2").void(2)
    assert (walk.state("SW-01"), left(walk)) == ("open", ("1.1", [1], "pass"))
    assert walk.read("1.3").state("SW-01") == "passed"


def test_what_was_to_be_taken_again_may_stand_for_a_reason() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read("1.1").read().redo("SW-01")
    walk.tell(ev.Released, ref=2, reason="of another point")
    assert walk.state("SW-01") == "open"
    walk.tell(ev.Released, ref=1, reason="read right after all")
    assert (walk.state("SW-01"), walk.here, walk.survey.released[1]) == (
        *("passed", "SW-03"),
        "read right after all",
    )
    assert walk.redo("SW-01").state("SW-01") == "open"  # asked for once more


def test_a_void_brings_back_the_skip_that_was_there_before() -> None:
    walk = Walk("SW-01", "SW-02").read("1.1").redo("SW-01").skip().void(1)
    assert walk.state("SW-01") == "skipped"


@pytest.mark.parametrize("reason", ["not accessible", "Not accessible: cowl riveted", "INACCESSIBLE"])
def test_an_attempt_at_what_cannot_be_reached_settles_the_point(reason: str) -> None:
    walk = Walk("SW-01", "SW-02").tell(ev.AttemptFailed, point="SW-01", reason=reason)
    assert (walk.state("SW-01"), walk.standing("SW-01").attempts) == ("inaccessible", 1)


def test_attempts_are_counted_and_leave_the_point_open() -> None:
    walk = Walk("SW-01")
    for _ in range(3):
        walk.tell(ev.AttemptFailed, point="SW-01", reason="unstable contact")
    assert (walk.state("SW-01"), walk.standing("SW-01").attempts) == ("open", 3)


# --- amendments -----------------------------------------------------------------------------------


def test_an_amended_value_is_judged_and_the_first_form_kept() -> None:
    walk = Walk("SW-01", "SW-02").read("13.8")
    walk.tell(ev.Amended, ref=1, reason="decimal moved", reading=parse_resistance("1.38", Unit.MOHM))
    assert left(walk) == ("1.38", [1], "pass")
    record = walk.record(1)
    assert record.original is not None
    assert (record.original.reading.digits, record.said.value, record.changed_by) == ("13.8", "fail", (2,))


def test_a_second_amendment_keeps_the_very_first_form() -> None:
    walk = Walk("SW-01").read("13.8")
    for digits in ("1.83", "1.38"):
        walk.tell(ev.Amended, ref=1, reason="slip", reading=parse_resistance(digits, Unit.MOHM))
    assert walk.record(1).original is not None
    assert walk.record(1).original.reading.digits == "13.8"  # type: ignore[union-attr]
    assert walk.record(1).changed_by == (2, 3)


def test_a_record_moved_to_another_point_opens_the_one_and_settles_the_other() -> None:
    walk = (
        Walk("SW-01", "SW-02", "SW-03").read("1.1").tell(ev.Amended, ref=1, reason="shifted", point="SW-02")
    )
    assert [walk.state(each) for each in ("SW-01", "SW-02", "SW-03")] == ["open", "passed", "open"]
    assert walk.here == "SW-03"
    assert walk.path() == ["SW-03", "SW-01"]
    walk.jump("SW-02").read("2.9")
    assert (found(walk, "SW-02"), left(walk, "SW-02")) == (("1.1", [1], "pass"), ("2.9", [2], "fail"))


def test_a_void_record_can_be_moved_and_stays_void() -> None:
    walk = Walk("SW-01", "SW-02").read("1.1").void(1).tell(ev.Amended, ref=1, reason="shifted", point="SW-02")
    assert (walk.record(1).is_valid, walk.state("SW-02"), walk.standing("SW-02").records) == (
        False,
        "open",
        (1,),
    )


def test_results_follow_when_memory_numbers_are_corrected() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").start_run(1).read().read()
    walk.tell(ev.Renumbered, run=1, number=4, reason="stored twice", ref=2)
    assert [walk.record(number).number for number in (1, 2)] == [1, 3]
    result = walk.standing("SW-02").as_left
    assert result is not None
    assert result.last.number == 3
    walk.tell(ev.Unfiled, ref=1, reason="not kept")
    result = walk.standing("SW-01").as_left
    assert result is not None
    assert (result.last.number, result.value.digits) == (None, "1.00")
