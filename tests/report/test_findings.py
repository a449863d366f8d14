"""Every exception is found, named by its kind and placed; a clean survey has none."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldtui.core.plan.route import Point
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import Problem
from fieldtui.report.findings.all import LONG_GAP, Finding, Kind, find_exceptions
from tests.ui.review_fixtures import METER, OWN, POINTS, Story, mohm, route_of


def three_points() -> tuple[Point, ...]:
    """The route without the point whose limit is from memory."""
    return tuple(point for point in POINTS if point.id != "HU-01")


def told(points: tuple[Point, ...] | None = None) -> Story:
    """A survey with its brief answered and its memory run begun."""
    return Story(route_of(*(points or three_points()))).brief().tell(ev.RunStarted, run=1, number=1)


def of_kind(story: Story, kind: Kind) -> list[Finding]:
    return [finding for finding in find_exceptions(story.session()) if finding.kind is kind]


def only(story: Story, kind: Kind) -> Finding:
    (finding,) = of_kind(story, kind)
    return finding


def test_a_clean_closed_survey_has_no_exceptions() -> None:
    assert find_exceptions(Story(route_of(*three_points())).clean().session()) == []


def test_a_broken_trail_comes_first_with_its_row_its_cause_and_what_to_do() -> None:
    problem = Problem("Row 7: a cell was changed.", "Look for an untouched copy.", "trail.csv", 8, "value")
    first = find_exceptions(told().session(problems=(problem,)))[0]
    assert first == Finding(
        Kind.TRAIL,
        "Row 7: a cell was changed.",
        where="trail.csv:8, value",
        remedy="Look for an untouched copy.",
    )


def test_a_torn_tail_is_told_and_is_no_damage() -> None:
    torn = [f for f in find_exceptions(told().session(torn=b"8,2026")) if f.kind is Kind.TORN]
    assert [(f.what, f.where) for f in torn] == [
        ("the last row is incomplete: 6 bytes of it stand after row 7", "end of trail.csv")
    ]
    assert "cannot be told whether the row had been shown as recorded" in torn[0].remedy
    assert "against the job card" in torn[0].remedy and "against the second copy" in torn[0].remedy


def test_a_verdict_that_differs_is_told_from_other_contradictions() -> None:
    story = told().read("SW-01", "2.500", said="pass").tell(ev.Voided, ref=9, point="SW-02", reason="?")
    # 2.500 mohm fails "< 2.5" (FAA AC 43.13-1B 11-188f).
    assert only(story, Kind.VERDICT).what == "record 1: the verdict said is pass, the limit gives fail"
    assert only(story, Kind.CONTRADICTION).what == "record 9 does not exist at this row"
    assert only(story, Kind.CONTRADICTION).where == "row 9"


def test_an_amended_verdict_that_differs_is_found() -> None:
    story = told().read("SW-01", "1.0")
    story.tell(ev.Amended, ref=1, reading=mohm("3.3"), verdict=Verdict.PASS, reason="misheard")
    assert only(story, Kind.VERDICT).where == "row 9"


def test_overrides_of_the_brief_carry_their_reason() -> None:
    story = Story().brief(calibration="loan meter arrives Friday")
    found = only(story, Kind.OVERRIDE)
    assert (found.what, found.reason) == (
        "calibration: calibration lapsed on 2026-01-31",
        "loan meter arrives Friday",
    )


def test_an_overridden_check_standard_puts_its_readings_in_doubt_as_well() -> None:
    story = Story().brief()
    story.tell(
        ev.Briefed,
        ref="check standard",
        reading=mohm("2.61"),
        verdict=ev.Answer.OVERRIDE,
        reason="told to",
        note="the check standard reads 2.61 mΩ",
    )
    story.read("SW-01", "1.0")
    assert only(story, Kind.OVERRIDE).reason == "told to"
    (doubt,) = of_kind(story, Kind.IN_DOUBT)
    assert doubt.what == "1.0 mΩ: taken after a failed check of the meter"
    assert not of_kind(Story().brief(calibration="paper on its way").read("SW-01", "1.0"), Kind.IN_DOUBT)


def test_items_that_nobody_answered_are_named() -> None:
    story = Story().tell(ev.Briefed, ref="battery", verdict=ev.Answer.GOOD)
    assert (
        only(story, Kind.BRIEF).what == "not answered: cautions read, calibration, check standard, probe tips"
    )


def test_a_failed_point_names_value_limit_record_and_row() -> None:
    found = only(told().read("SW-02", "3.10"), Kind.FAILED)
    assert found.what == "Tank vent: 3.10 mΩ, fail against <= 3.0 mΩ"
    assert found.where == "point SW-02, record 1, row 8"


def test_open_and_skipped_points_are_unsettled_with_their_reason() -> None:
    story = told().tell(ev.AttemptFailed, point="SW-01", reason="unstable contact")
    story.tell(ev.Skipped, point="SW-01", reason="paint not stripped")
    skipped, vent, pump = of_kind(story, Kind.UNSETTLED)
    assert skipped.what == "Flap jumper: skipped, 1 try without a value"
    assert skipped.reason == "paint not stripped"
    assert [vent.where, pump.where] == ["point SW-02", "point HU-02"]


def test_an_inaccessible_point_is_not_counted_as_unsettled() -> None:
    story = told().tell(ev.AttemptFailed, point="SW-01", reason=ev.NOT_ACCESSIBLE)
    assert only(story, Kind.INACCESSIBLE).where == "point SW-01"
    assert "point SW-01" not in [finding.where for finding in of_kind(story, Kind.UNSETTLED)]


def test_a_waived_point_says_how_it_stood_and_by_which_paper() -> None:
    story = told().read("SW-02", "3.10").tell(ev.Waived, point="SW-02", reason="chief engineer", ref="W-12")
    found = only(story, Kind.WAIVED)
    assert found.what == "Tank vent: 3.10 mΩ, fail against <= 3.0 mΩ; let go by paper W-12"
    assert found.reason == "chief engineer"


def test_a_waiver_that_no_longer_holds_says_how_the_point_stands_since() -> None:
    story = told().tell(ev.Waived, point="SW-02", reason="chief engineer", ref="W-12").read("SW-02", "2.40")
    let_go = "Tank vent: not measured; let go by paper W-12"
    assert only(story, Kind.WAIVED).what == (f"{let_go}; since then passed: 2.40 mΩ, pass against <= 3.0 mΩ")
    story = told().read("SW-02", "3.10").tell(ev.Waived, point="SW-02", reason="chief engineer", ref="W-12")
    story.tell(ev.Skipped, point="SW-02", reason="rain")
    assert only(story, Kind.WAIVED).what.endswith("let go by paper W-12; since then failed")


def test_a_point_that_failed_at_first_is_told_though_it_passed_in_the_end() -> None:
    story = told().read("SW-02", "3.10")
    story.tell(ev.RedoAsked, point="SW-02", ref=1, reason="tips cleaned").read("SW-02", "1.10")
    assert not of_kind(story, Kind.FAILED)
    assert only(story, Kind.TURNED).what == (
        "Tank vent: first 3.10 mΩ, fail against <= 3.0 mΩ; last 1.10 mΩ, pass against <= 3.0 mΩ"
    )
    assert only(story, Kind.REDO).what == "asked to be taken again after 3.10 mΩ"
    assert only(story, Kind.REDO).reason == "tips cleaned"


def test_a_void_names_the_value_struck_out() -> None:
    story = told().read("SW-01", "1.38").tell(ev.Voided, ref=1, point="SW-01", reason="wrong point")
    found = only(story, Kind.VOID)
    assert (found.what, found.where, found.reason) == (
        "1.38 mΩ struck out",
        "point SW-01, record 1, row 9",
        "wrong point",
    )


def test_amendments_tell_old_and_new_each_time() -> None:
    story = told().read("SW-01", "1.38")
    story.tell(ev.Amended, ref=1, reading=mohm("1.83"), verdict=Verdict.PASS, reason="digits swapped")
    story.tell(ev.Amended, ref=1, number=4, run=1, point="SW-02", reason="misread")
    first, second = of_kind(story, Kind.AMENDED)
    assert first.what == "value 1.38 mΩ became 1.83 mΩ"
    assert second.what == "point SW-01 became SW-02; memory number 1 became 4"


def test_moved_numbers_are_told_old_and_new() -> None:
    story = told().read("SW-01", "1.38").tell(ev.Renumbered, run=1, number=3, ref=1, reason="lid reading")
    story.tell(ev.Unfiled, ref=1, reason="not stored")
    moved, unfiled = of_kind(story, Kind.MOVED)
    assert moved.what == "next memory number 2 became 3 in run 1, records from 1 on moved with it"
    assert unfiled.what == "the meter did not keep this reading; memory number 2 taken off"


def test_readings_moved_to_other_points_are_told_though_no_verdict_changes() -> None:
    story = told().read("SW-01", "1.38").read("SW-02", "1.02")
    story.tell(ev.ReadingsShifted, ref=2, record=2, point="SW-03", reason="one point passed over")
    moved = only(story, Kind.SHIFTED)
    assert moved.what == "the reading of record 2 moved 1 point along the walk: the first from SW-02 to SW-03"
    assert (moved.reason, "row" in moved.where) == ("one point passed over", True)


def test_a_number_check_that_differed_is_found_and_one_that_agreed_is_not() -> None:
    story = told().read("SW-01", "1.38")
    story.tell(ev.NumberChecked, run=1, number=1, verdict=ev.Agreement.AGREE, ref=1)
    story.tell(ev.NumberChecked, run=1, number=2, verdict=ev.Agreement.DIFFER, ref=1)
    assert only(story, Kind.NUMBER).what == "the meter showed 2, the record expected 1"


def test_readings_after_the_last_agreeing_check_are_told() -> None:
    assert only(told().read("SW-01", "1.38"), Kind.NUMBER).what == (
        "1 reading since the memory numbers were last known to agree"
    )


def test_a_doubtful_value_that_was_confirmed_is_told() -> None:
    story = told().read("SW-01", "1.38", reason="meter read twice")
    assert only(story, Kind.CONFIRMED).reason == "meter read twice"


def test_an_unplanned_point_is_told() -> None:
    story = told().tell(
        ev.PointInserted,
        point="X01",
        ref="SW-02",
        reason="strap not on the plan",
        definition='{"title": "Spare strap", "unit": "mohm", "limit": "<= 2.5 mohm"}',
    )
    assert only(story, Kind.UNPLANNED).where == "point X01, row 8"
    assert only(story, Kind.UNPLANNED).what == "Spare strap: <= 2.5 mΩ, before SW-02"


def test_a_limit_from_memory_is_told_once_it_has_judged() -> None:
    story = told(POINTS)
    assert not of_kind(story, Kind.UNVERIFIED)
    found = only(story.read("HU-01", "2.0"), Kind.UNVERIFIED)
    assert found.what == "enclosure (<= 10 mΩ) is from memory and judged readings of 1 point"
    assert found.where == "point HU-01"


def test_clock_steps_recoveries_and_rework_are_told() -> None:
    story = told().tell(ev.ClockStepped, note="the machine's clock went back by 90 s")
    story.tell(ev.Recovered, ref="trail.torn-1", note="12 bytes set aside")
    story.tell(ev.Reworked, point="SW-02", ref="D-7", reason="strap replaced")
    assert only(story, Kind.CLOCK).what == "the machine's clock went back by 90 s"
    assert only(story, Kind.RECOVERED).remedy == "the bytes set aside are kept in trail.torn-1"
    assert only(story, Kind.REWORK).what == "repaired, discrepancy D-7"


@pytest.mark.parametrize(("minutes", "gaps"), [(15, 0), (15.1, 1), (95, 1)])
def test_a_gap_is_told_when_it_is_longer_than_a_quarter_of_an_hour(minutes: float, gaps: int) -> None:
    assert timedelta(minutes=15) == LONG_GAP
    story = told().tell(ev.Noted, after_min=minutes, note="back from the stores")
    assert len(of_kind(story, Kind.GAP)) == gaps


def test_a_gap_names_its_rows_and_how_long_it_was() -> None:
    found = only(told().tell(ev.Opened, after_min=95), Kind.GAP)
    assert found.what == "1 h 35 min without a row and without a pause, then the session was opened again"
    assert found.where == "rows 7 to 8"


def test_a_pause_is_no_gap() -> None:
    story = (
        told().tell(ev.Paused, reason="rain").tell(ev.Noted, after_min=40).tell(ev.Proceeded, after_min=40)
    )
    assert not of_kind(story, Kind.GAP)


def test_findings_stand_in_the_order_of_their_kinds() -> None:
    story = told().read("SW-02", "3.10").tell(ev.Skipped, point="SW-01", reason="rain")
    kinds = [finding.kind for finding in find_exceptions(story.session())]
    assert kinds == sorted(kinds, key=list(Kind).index)
    assert kinds[-1] is Kind.NOT_CLOSED


def test_an_empty_session_is_read_without_a_fault() -> None:
    story = Story(route_of(), METER)
    story.events.clear()
    kinds = {finding.kind for finding in find_exceptions(story.session())}
    assert kinds == {Kind.BRIEF, Kind.UNSETTLED, Kind.NOT_CLOSED}


def test_repeated_readings_short_of_a_take_are_counted() -> None:
    point = Point(id="R", section="SW", title="Shield", unit=POINTS[0].unit, limit=OWN, repeats=3)
    story = told((point,)).read("R", "1.0").read("R", "1.1")
    assert (
        only(story, Kind.UNSETTLED).what == "Shield: open, 2 readings taken but no complete take that holds"
    )


def test_a_correction_that_turns_a_failure_is_told() -> None:
    story = told().read("SW-01", "9.9")
    story.tell(ev.Amended, ref=1, reading=mohm("1.0"), verdict=Verdict.PASS, reason="value keyed wrong")
    found = only(story, Kind.CHANGED)
    assert found.what == "9.9 mΩ, fail, became 1.0 mΩ, pass"
    assert found.where == "point SW-01, record 1, row 9"


def test_a_failure_that_was_struck_out_is_told() -> None:
    story = told().read("SW-01", "9.9").tell(ev.Voided, ref=1, point="SW-01", reason="probe slipped")
    assert only(story, Kind.CHANGED).what == "9.9 mΩ, fail, was struck out: a failure no longer counts"
    passing = told().read("SW-01", "1.0").tell(ev.Voided, ref=1, point="SW-01", reason="probe slipped")
    assert of_kind(passing, Kind.CHANGED) == []


def test_a_memory_number_held_by_two_records_is_told() -> None:
    story = told().read("SW-01", "1.0").read("SW-02", "1.1")
    story.tell(ev.Amended, ref=2, number=1, reason="memory number keyed wrong")
    assert only(story, Kind.HELD_TWICE).what == "memory number 1 of run 1 is held by records 1, 2"


def test_what_a_list_left_undecided_is_told_until_a_later_one_settles_it() -> None:
    counts = "1 paired, 0 of them keyed differently; 1 in the memory only, 0 on the record only, {} undecided"
    story = told().read("SW-01", "1.0").read("SW-02", "1.1")
    story.tell(ev.Reconciled, run=1, ref="list.csv", note=counts.format(1))
    found = only(story, Kind.UNDECIDED)
    assert found.what == f"memory run 1 was held against list.csv: {counts.format(1)}"
    assert found.where == "row 10"
    story.tell(ev.Reconciled, run=1, ref="list.csv", note=counts.format(0))
    assert of_kind(story, Kind.UNDECIDED) == []
