"""The plain-text summary: everything a person needs, 80 columns, nothing that drives a terminal."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Caution, Instrument
from fieldtui.core.text import is_clean
from fieldtui.core.trail import events as ev
from fieldtui.errors import Problem
from fieldtui.report.text_summary import WIDTH, format_summary
from tests.ui.review_fixtures import POINTS, Story, route_of
from tests.ui.review_rich import session

HOSTILE = "[bold red]x[/] \x1b[2J\u202e\u200b = end"


def short_route_story() -> Story:
    return Story(route_of(*(point for point in POINTS if point.id != "HU-01"))).clean()


def flat(text: str) -> str:
    """The text with its line breaks taken out, so that a test does not hang on where they fall."""
    return " ".join(text.split())


def test_a_clean_survey_says_who_on_what_with_which_meter_and_that_nothing_is_wrong() -> None:
    text = flat(format_summary(short_route_story().session()))
    for words in (
        "Starboard wing bonds",
        "asset amphibious twin ZX-41",
        "job JC-2207",
        "prober Ben",
        "recorder Ana",
        "meter Small bond meter, serial 0417",
        "calibration due 2027-01-31",
        "points 3 of 3 settled",
        "passed 2",
        "readings 3, 0 of them void",
        "Exceptions: none",
        "Points not settled: none",
    ):
        assert words in text


def test_rows_and_seal_stand_in_groups_to_copy_to_the_job_card() -> None:
    text = format_summary(short_route_story().session())
    copy = text[text.index("Copy to the job card") :]
    assert "0123 4567 89ab cdef 0123 4567 89ab cdef" in copy
    assert "rows            16\n" in copy
    assert "chain           intact" in copy


def test_a_broken_chain_an_override_and_open_points_are_told() -> None:
    story = Story().brief(calibration="loan meter")
    problem = Problem("Row 3 was changed.", "Look for an untouched copy.", "trail.csv", 4)
    session = replace(story.session(problems=(problem,)), rows=2, unproven_from=3)
    text = flat(format_summary(session))
    assert "chain BROKEN from row 3 on" in text
    assert "trail: Row 3 was changed. [trail.csv:4] to do: Look for an untouched copy." in text
    assert "calibration OVERRIDDEN: calibration lapsed on 2026-01-31; went on because: loan meter" in text
    assert "Points not settled: 4" in text
    assert "HU-02 Bilge pump" in text


@pytest.mark.parametrize(
    ("due", "words"),
    [
        (None, "NO DATE KNOWN"),
        (date(2026, 5, 3), "LAPSED on 2026-05-03"),
        (date(2026, 5, 4), "due 2026-05-04"),
    ],
)
def test_a_calibration_is_told_as_it_stood_on_the_day_of_the_survey(due: date | None, words: str) -> None:
    meter = Instrument(id="m", title="Old meter", calibration_due=due)
    assert f"calibration     {words}\n" in format_summary(Story(instrument=meter).session())


def test_labels_never_run_into_their_text() -> None:
    story = Story().tell(ev.Briefed, ref="check standard", verdict=ev.Answer.GOOD)
    assert "check standard  good\n" in format_summary(story.session())


def test_cautions_defer_to_local_codes_and_claim_nothing() -> None:
    text = flat(format_summary(short_route_story().session()))
    assert "2 cautions shown in the brief: What comes first; Static first." in text
    assert "Local codes, the approved maintenance data and licensed practice come first" in text
    assert "it claims no compliance with any regulation" in text


def test_no_line_is_longer_than_a_screen_and_hostile_text_is_shown_as_codes() -> None:
    story = short_route_story()
    story.events.insert(7, ev.Noted(time=story.events[6].time, by=HOSTILE, note=HOSTILE * 9))
    story.events.insert(
        8, ev.Skipped(time=story.events[6].time, by=HOSTILE, point="SW-01", reason=HOSTILE * 9)
    )
    text = format_summary(
        story.session(
            crew=Crew(HOSTILE, HOSTILE),
            job=HOSTILE * 5,
            cautions=(Caution("c", HOSTILE, HOSTILE),),
        )
    )
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert all(is_clean(line) for line in text.splitlines())
    assert "[bold red]x[/]" in text
    assert "\\u{1b}[2J\\u{202e}\\u{200b}" in flat(text)


def test_sections_paths_and_the_points_nearest_to_their_limits_say_what_was_judged_and_how_sure() -> None:
    text = flat(format_summary(session()))
    for words in (
        "SW Starboard wing: 3 of 3 settled; 2 passed, 1 waived",
        "TL: 3 of 4 settled; 1 open, 2 passed, 1 recorded",
        "path P1 4.3563 mΩ, fail IN DOUBT against <= 4.0 mΩ; conforms with below 0.1 %",
        "SW-02 2.48 mΩ, conditional pass IN DOUBT against < 2.5 mΩ, four states, guard band 1 U, 99 % of it, "
        "U 0.035 mΩ, conforms with 87.2 %",
        "SW-01 1.95 mΩ, judged at 20 °C as 1.8763 mΩ, pass IN DOUBT against <= 2.0 mΩ after rework, "
        "94 % of it",
    ):
        assert words in text
    assert text.index("SW-03 11.0 mΩ") < text.index("SW-02 2.48 mΩ") < text.index("SW-01 1.95 mΩ")


def test_a_survey_in_which_nothing_was_judged_names_no_nearest_point() -> None:
    assert "nothing was judged" in format_summary(Story().session())
