"""Readings closer together than a meter can settle, and what else is told of the time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.position import State
from fieldtui.core.trail import events as ev
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Kind
from fieldtui.report.rhythm import CLOSEST, find_beats, find_pace, pace_of, pace_words
from fieldtui.report.sections import count_sections
from tests.ui.review_fixtures import METER, Story

SECOND = 1 / 60  # minutes


def story_with(seconds: float) -> Story:
    return Story().read("SW-01", "1.38").read("SW-02", "2.10", after_min=seconds * SECOND)


@pytest.mark.parametrize(("seconds", "found"), [(0.0, 1), (2.9, 1), (3.0, 0), (30.0, 0)])
def test_readings_closer_than_the_meter_can_settle_are_an_exception(seconds: float, found: int) -> None:
    assert timedelta(seconds=3) == CLOSEST
    findings = [each for each in find_exceptions(story_with(seconds).session()) if each.kind is Kind.PACE]
    assert len(findings) == found
    for each in findings:
        assert each.where == "point SW-02, record 2, row 3"
        assert "after record 1: no time to settle" in each.what


def test_a_practice_and_a_sheet_keyed_later_have_no_times_to_judge() -> None:
    read = story_with(1).session()
    for facts in (replace(read.facts, practice=True), replace(read.facts, transcribed_from="sheet.csv")):
        untimed = replace(read, facts=facts)
        assert list(find_pace(untimed)) == []
        assert list(find_beats(untimed)) == []


def test_a_meter_that_settles_slowly_wants_its_own_time() -> None:
    slow = Story(instrument=replace(METER, settle_s=8))
    slow.read("SW-01", "1.38").read("SW-02", "2.10", after_min=7.9 * SECOND)
    slow.read("HU-01", "1.0", after_min=8 * SECOND)
    read = slow.session()
    assert [each.where for each in find_pace(read)] == ["point SW-02, record 2, row 3"]
    assert [(beat.what, beat.row) for beat in find_beats(read)] == [("too close", 3)]


def test_after_a_change_of_meter_its_time_counts() -> None:
    story = Story(instrument=replace(METER, settle_s=8)).read("SW-01", "1.38")
    spare = format_meter(replace(METER, title="Spare", settle_s=2))
    story.tell(ev.MeterTaken, ref="spare", reason="dropped", definition=spare)
    story.read("SW-02", "2.10").read("HU-01", "1.0", after_min=5 * SECOND)
    assert list(find_pace(story.session())) == []


def test_a_pause_parts_readings_that_are_close_in_time() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.Paused, after_min=0).tell(ev.Proceeded, after_min=0)
    read = story.read("SW-02", "2.10", after_min=SECOND).session()
    assert list(find_pace(read)) == []
    assert pace_of(read.events) is None


def test_the_pace_is_the_median_and_the_closest_two() -> None:
    story = Story().read("SW-01", "1.38").read("SW-02", "2.10", after_min=10 * SECOND)
    story.read("HU-01", "1.0", after_min=40 * SECOND).read("HU-02", "0.4", after_min=50 * SECOND)
    pace = pace_of(story.events)
    assert pace is not None
    assert (pace.readings, pace.median, pace.closest, pace.at) == (
        4, timedelta(seconds=40), timedelta(seconds=10), 2,
    )  # fmt: skip
    assert pace_words(pace) == "4 readings, 40 s apart in the middle; the closest two 10 s, at record 2"


def test_a_long_pause_is_no_gap_and_a_long_silence_is_one() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.Paused, reason="rain").tell(ev.Proceeded, after_min=40)
    read = story.read("SW-02", "2.10", after_min=16).session()
    told = [(beat.what, beat.told) for beat in find_beats(read)]
    assert told == [("pause", ""), ("went on", "40 min"), ("gap in time", "16 min")]


def test_sections_are_counted_by_state() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.Skipped, point="SW-02", reason="later")
    one, other = count_sections(story.survey())
    assert (one.id, one.points, one.settled, one.is_complete) == ("SW", 2, 1, False)
    assert one.counts[State.SKIPPED] == 1
    assert (other.points, other.settled) == (2, 0)
