"""What the close-out asks for; crews, finishes and papers are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fieldtui.core.account.closing import Group, Item, closing_items, holding_signature, left_undone
from fieldtui.core.account.completeness import completeness
from fieldtui.core.plan.route import Limit, PathLimit
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk, point
from tests.ui.review_fixtures import PLAIN_METER, POINTS, Story, mohm, route_of

SEALED = replace(POINTS[1], restore="sealant fillet")


def story(*, meter: bool = True) -> Story:
    """The first point passed, the second failed at 3.5 mohm; the second has a finish to restore."""
    route = route_of(POINTS[0], SEALED)
    told = Story(route) if meter else Story(route, PLAIN_METER)
    if meter:
        told.brief().tell(ev.RunStarted, run=1, number=1)
    return told.read("SW-01", "1.38").read("SW-02", "3.5")


def of_group(survey: Survey, group: Group, *, undone: bool = True) -> list[Item]:
    items = left_undone(survey) if undone else closing_items(survey)
    return [item for item in items if item.group is group]


def test_points_that_are_open_or_skipped_are_to_settle() -> None:
    told = Story(route_of(POINTS[0], SEALED)).tell(ev.Skipped, point="SW-02", reason="rain")
    whats = [(item.point, item.what) for item in of_group(told.survey(), Group.POINTS)]
    assert whats == [("SW-01", "Flap jumper, open"), ("SW-02", "Tank vent, skipped: rain")]
    told.tell(ev.Waived, point="SW-02", reason="C. Chief", ref="W-9")
    told.tell(ev.AttemptFailed, point="SW-01", reason="not accessible: scaffold gone")
    assert not of_group(told.survey(), Group.POINTS)
    (item,) = of_group(told.survey(), Group.POINTS, undone=False)  # nothing to do, but it was not measured
    assert (item.point, item.what) == (
        "SW-01",
        "Flap jumper, not measured: not accessible: scaffold gone",
    )


def test_a_point_that_was_to_be_taken_again_is_to_settle_with_what_it_read_before() -> None:
    told = story(meter=False).tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips")
    told.tell(ev.Skipped, point="SW-01", reason="rain")
    (item,) = of_group(told.survey(), Group.POINTS)
    assert item.what == ("Flap jumper, skipped: rain; retake awaited; before it 1.38 mΩ, pass (record 1)")
    told.tell(ev.Released, ref=1, reason="read right after all")
    assert not of_group(told.survey(), Group.POINTS, undone=False)


def test_a_failed_point_is_not_done_with_its_paper_while_its_retest_is_awaited() -> None:
    told = story(meter=False).tell(ev.Reworked, point="SW-02", reason="cleaned", ref="D-17")
    (item,) = of_group(told.survey(), Group.FAILED)
    assert "retest awaited; before it 3.5 mΩ, fail (record 2)" in item.what
    told.read("SW-02", "1.1")
    assert not of_group(told.survey(), Group.FAILED)


def test_complete_is_said_only_where_nothing_is_lacking() -> None:
    told = story(meter=False)
    assert completeness(told.survey()) == "not complete: 1 failed without a paper"
    told.tell(ev.DiscrepancyRaised, point="SW-02", ref="D-17")
    assert completeness(told.survey()) == "COMPLETE"
    told.tell(ev.Reworked, point="SW-02", reason="cleaned", ref="D-17")
    assert completeness(told.survey()) == "not complete: 1 to be taken again"
    told.read("SW-02", "1.1").tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips")
    assert completeness(told.survey()) == "not complete: 1 open, 1 to be taken again"
    told.tell(ev.AttemptFailed, point="SW-01", reason="not accessible")
    assert completeness(told.survey()) == "not complete: 1 not accessible, 1 to be taken again"
    told.read("SW-01", "1.2")
    assert completeness(told.survey()) == "COMPLETE"
    never = Story(route_of(POINTS[0]), PLAIN_METER)
    never.tell(ev.AttemptFailed, point="SW-01", reason="not accessible")
    assert completeness(never.survey()) == "not complete: 1 not accessible"
    assert never.survey().settled == 0


def test_a_verdict_in_doubt_is_not_complete() -> None:
    told = Story(route_of(POINTS[0])).brief().read("SW-01", "1.38")
    told.tell(ev.StandardRead, reading=mohm("2.9"), verdict=ev.Answer.BAD, ref=ev.CheckTime.AFTER)
    assert completeness(told.survey()) == "not complete: 1 in doubt for the meter"


def test_a_failed_point_wants_its_paper_and_is_listed_with_it() -> None:
    told = story()
    (item,) = of_group(told.survey(), Group.FAILED)
    assert (item.point, item.is_done) == ("SW-02", False)
    told.tell(ev.DiscrepancyRaised, point="SW-02", ref="D-17")
    assert not of_group(told.survey(), Group.FAILED)
    (item,) = of_group(told.survey(), Group.FAILED, undone=False)
    assert item.what == "Tank vent, 3.5 mΩ, failed; discrepancy D-17"
    told.tell(ev.Reworked, point="SW-02", reason="cleaned")
    (item,) = of_group(told.survey(), Group.FAILED, undone=False)
    assert "retest awaited" in item.what


def test_a_surface_is_to_restore_from_its_first_reading_until_it_is_ticked_off_and_again_after_the_next() -> (
    None
):
    told = story()
    (item,) = of_group(told.survey(), Group.RESTORE)
    assert (item.point, item.since) == ("SW-02", told.survey().records[2].time)
    told.tell(ev.Voided, ref=2, point="SW-02", reason="wrong place")  # it was opened all the same
    assert of_group(told.survey(), Group.RESTORE) == [item]
    told.tell(ev.Restored, point="SW-02")
    assert not of_group(told.survey(), Group.RESTORE)
    told.read("SW-02", "1.2")
    (item,) = of_group(told.survey(), Group.RESTORE)
    assert item.since == told.survey().records[3].time


def test_a_point_that_was_never_read_has_nothing_to_restore() -> None:
    assert not of_group(Story(route_of(SEALED)).survey(), Group.RESTORE)


def test_the_check_standard_is_read_after_the_last_reading_and_after_another_lead() -> None:
    told = story()
    assert of_group(told.survey(), Group.METER)
    told.tell(ev.StandardRead, reading=mohm("2.5"), verdict=ev.Answer.GOOD, ref=ev.CheckTime.AFTER)
    assert not of_group(told.survey(), Group.METER)
    told.tell(ev.LeadChanged, reason="tip broke")
    assert of_group(told.survey(), Group.METER)
    told.tell(ev.StandardRead, reading=mohm("2.5"), verdict=ev.Answer.GOOD, ref=ev.CheckTime.AFTER)
    told.read("SW-01", "1.4")
    assert of_group(told.survey(), Group.METER)


def test_a_failed_check_after_lists_every_reading_back_to_the_last_good_one() -> None:
    told = story()
    told.tell(ev.StandardRead, reading=mohm("2.5"), verdict=ev.Answer.GOOD, ref=ev.CheckTime.INTERVAL)
    told.read("SW-01", "1.40").read("SW-02", "1.2")
    told.tell(ev.StandardRead, reading=mohm("2.9"), verdict=ev.Answer.BAD, ref=ev.CheckTime.AFTER)
    assert [item.record for item in of_group(told.survey(), Group.DOUBT)] == [3, 4]
    assert not of_group(told.survey(), Group.METER)
    told.tell(ev.Released, ref=3, reason="compared with another meter")
    assert [item.record for item in of_group(told.survey(), Group.DOUBT)] == [4]


def test_a_meter_without_standard_and_memory_asks_for_neither() -> None:
    survey = story(meter=False).survey()
    assert not of_group(survey, Group.METER, undone=False)
    assert not of_group(survey, Group.MEMORY, undone=False)


def test_each_filled_run_is_reconciled_and_a_due_number_check_falls_to_it() -> None:
    told = story().tell(ev.Skipped, point="SW-02", reason="rain")
    first, second = of_group(told.survey(), Group.MEMORY)
    assert (first.run, second.run) == (1, 0)
    assert second.what == "a number check is due: after a skip"
    told.tell(ev.Reconciled, run=1, ref="list.csv")
    assert not of_group(told.survey(), Group.MEMORY)


def test_a_run_reconciled_over_undecided_lines_is_not_done_until_a_later_row_has_none() -> None:
    told = story().tell(ev.Reconciled, run=1, ref="list.csv", note="0 on the record only, 2 undecided")
    (item,) = of_group(told.survey(), Group.MEMORY)
    assert (item.what, item.run) == ("memory run 1: reconciled, 2 undecided", 1)
    told.tell(ev.Reconciled, run=1, ref="list.csv", note="0 on the record only, 0 undecided")
    (item,) = of_group(told.survey(), Group.MEMORY, undone=False)
    assert item.what == "memory run 1: reconciled" and item.is_done


def test_numbers_that_differ_stay_until_they_are_explained() -> None:
    told = story().tell(ev.NumberChecked, run=1, number=5, verdict=ev.Agreement.DIFFER, ref=2)
    told.tell(ev.Reconciled, run=1, ref="list.csv")
    (item,) = of_group(told.survey(), Group.MEMORY)
    assert "differ" in item.what


def test_two_signatures_are_wanted_and_hold_through_the_close() -> None:
    told = story()
    assert [item.role for item in of_group(told.survey(), Group.SIGNATURES)] == list(ev.Role)
    told.signed().tell(ev.Closed)
    assert not of_group(told.survey(), Group.SIGNATURES)


@pytest.mark.parametrize(
    ("kind", "facts", "holds"),
    [
        (ev.Opened, {}, True),
        (ev.ClockStepped, {"note": "forward"}, True),
        (ev.Noted, {"note": "dew on the tips"}, False),
        (ev.Restored, {"point": "SW-02"}, False),
        (ev.Voided, {"ref": 1, "point": "SW-01", "reason": "wrong place"}, False),
    ],
)
def test_a_signature_covers_the_record_as_it_was_signed(
    kind: type[ev.Event], facts: dict[str, object], holds: bool
) -> None:
    told = story().signed().tell(kind, **facts)
    signed = holding_signature(told.survey(), ev.Role.TECHNICIAN)
    assert (signed is not None) is holds
    told.signed()
    assert holding_signature(told.survey(), ev.Role.TECHNICIAN) is not None


def test_only_a_reopening_may_follow_a_close_and_it_breaks_the_signatures() -> None:
    told = story().signed().tell(ev.Closed)
    closed_row = told.survey().rows
    assert [problem.what for problem in told.survey().after(ev.Noted(time=told.time, by="x")).problems] == [
        "a note row stands after the close"
    ]
    told.tell(ev.Reopened, ref="0" * 32, reason="retest", after_min=60)
    survey = told.survey()
    assert not survey.closed and not survey.problems
    assert survey.ending.reopenings[0].closed_row == closed_row
    assert holding_signature(survey, ev.Role.INSPECTOR) is None
    told.read("SW-01", "1.4").tell(ev.Closed)
    assert not told.survey().problems


def test_what_was_not_closed_cannot_be_reopened() -> None:
    told = story().tell(ev.Reopened, ref="0" * 32, reason="retest")
    assert [problem.what for problem in told.survey().problems] == [
        "the session is reopened, but was not closed"
    ]


# --- points in series ---------------------------------------------------------------------

IN_SERIES = PathLimit("E-1", "Flap to tank", ("SW-01", "SW-02"), Limit(maximum=mohm("3.0")))


def test_a_path_that_fails_or_has_no_sum_wants_its_paper_though_each_point_passes() -> None:
    """1.5 and 1.6 mohm pass against 2.5 and 3.0; together they are 3.1 against 3.0."""
    told = Story(route_of(POINTS[0], POINTS[1], paths=(IN_SERIES,))).read("SW-01", "1.50")
    (item,) = of_group(told.survey(), Group.PATHS)
    assert (item.path, item.what) == ("E-1", "path E-1, Flap to tank: no sum: no value at SW-02; no paper")
    told.read("SW-02", "1.60")
    assert not of_group(told.survey(), Group.FAILED)
    (item,) = of_group(told.survey(), Group.PATHS)
    assert "3.10 mΩ, fail against <= 3.0 mΩ; no paper" in item.what
    told.tell(ev.PathPapered, ref="E-1", reason="D-18")
    assert not of_group(told.survey(), Group.PATHS)
    (item,) = of_group(told.survey(), Group.PATHS, undone=False)
    assert item.what.endswith("; paper D-18")


def test_a_path_that_passes_is_not_listed() -> None:
    told = Story(route_of(POINTS[0], POINTS[1], paths=(IN_SERIES,))).read("SW-01", "1.3").read("SW-02", "1.4")
    assert not of_group(told.survey(), Group.PATHS, undone=False)


def test_a_paper_of_no_path_of_the_route_is_told() -> None:
    told = Story(route_of(POINTS[0], POINTS[1], paths=(IN_SERIES,))).tell(
        ev.PathPapered, ref="E-2", reason="D-1"
    )
    (problem,) = told.survey().problems
    assert problem.what == "path E-2 is not on the route"


def test_half_of_another_take_is_listed_until_a_whole_one_follows() -> None:
    """The verdict of such a point is of the take before: nobody has said whether it stands."""
    walk = Walk(point("SW-01", repeats=3, title="Flap jumper"), "SW-02").read("1.1").read("1.2").read("1.3")
    walk.jump("SW-01").read("2.9").read("2.8", at="SW-01")
    walk.read("1.0", at="SW-02")
    (what,) = _titles(walk, Group.POINTS)
    assert what == (
        "Flap jumper, 2 of 3 readings of another take (record 5); the verdict is of 1.3 mΩ before"
    )
    assert completeness(walk.survey) == "not complete: 1 with half a take"
    walk.redo("SW-01")
    assert completeness(walk.survey) == "not complete: 1 open, 1 to be taken again"  # counted once
    walk.read("1.1").read("1.1").read("1.2")
    assert (_titles(walk, Group.POINTS), completeness(walk.survey)) == ([], "COMPLETE")


def _titles(walk: Walk, group: Group) -> list[str]:
    return [item.what for item in closing_items(walk.survey) if item.group is group]
