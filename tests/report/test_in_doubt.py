"""A verdict that a failed check of the meter reaches is nowhere shown as a plain one. All invented."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from fieldtui.core.between.comparison import compare
from fieldtui.core.between.history import seen_points
from fieldtui.core.between.trend import find_trends
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.voltage import VoltUnit, parse_voltage
from fieldtui.core.plan.route import Limit, PathLimit
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.trail import events as ev
from fieldtui.desk.comparing import Followed, RouteTrends, compare_sessions, merge_sessions
from fieldtui.desk.earlier import Earlier, samples_of
from fieldtui.desk.reading import ReadSession
from fieldtui.desk.sources import NONE_STATED, source_of
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.coverage_text import format_coverage
from fieldtui.report.between.history_json import comparison_as_json, trends_as_json
from fieldtui.report.between.trend_text import format_trends
from fieldtui.report.charts.along_route import route_charts
from fieldtui.report.charts.histogram import histogram
from fieldtui.report.charts.pairs import pair_charts
from fieldtui.report.charts.scale import Shape
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Kind
from fieldtui.report.html import format_html
from fieldtui.report.identity import describe_counts
from fieldtui.report.nearest import nearest_lines
from fieldtui.report.point.story import Stories
from fieldtui.report.results_csv import format_results
from fieldtui.report.tables.facts import front_findings
from fieldtui.report.tables.points import path_table, point_tables, reading_tables
from fieldtui.report.text_summary import format_summary
from tests.ui.review_fixtures import METER, POINTS, Story, mohm, route_of

FIRST = replace(POINTS[0], pair="SW-02")
TURNED = replace(
    POINTS[1],
    id="N-02",
    title="Vent strap",
    repeats=2,
    rule="mean",
    method="reversed",
    current_ma=Decimal(100),
)
OTHER = replace(POINTS[1], pair="SW-01")
GOOD = replace(METER, id="second-meter", serial="0999")


def volts(text: str) -> Resistance:
    return parse_voltage(text, VoltUnit.MILLIVOLT, Decimal(100))


def standard(story: Story, *, good: bool) -> None:
    verdict = ev.Answer.GOOD if good else ev.Answer.BAD
    told = mohm("2.50" if good else "2.60")
    story.tell(ev.StandardRead, reading=told, verdict=verdict, ref=ev.CheckTime.INTERVAL)


def voltage(story: Story, text: str) -> None:
    survey = story.survey()
    told = volts(text)
    story.tell(
        ev.ReadingTaken,
        record=survey.next_record,
        point="N-02",
        reading=told,
        verdict=survey.would_say("N-02", told),
    )


def doubtful() -> Story:
    """Three points read with a meter that then fails; another meter; half of N-02 again; then left."""
    route = route_of(FIRST, TURNED, OTHER)
    route = replace(
        route, paths=(PathLimit("P1", "two in series", ("SW-01", "SW-02"), Limit(maximum=mohm("9"))),)
    )
    story = Story(route).brief().read("SW-01", "1.38")
    voltage(story, "0.15")
    voltage(story, "-0.13")
    story.read("SW-02", "3.5")
    standard(story, good=False)
    story.tell(ev.MeterTaken, ref=GOOD.id, reason="the other one failed", definition=format_meter(GOOD))
    standard(story, good=True)
    story.tell(ev.RedoAsked, point="N-02", ref=3, reason="in doubt")
    voltage(story, "0.16")
    story.tell(ev.Skipped, point="N-02", reason="dark")
    return story


def let_stand() -> Story:
    """The same, and the first point's reading let stand."""
    return doubtful().tell(ev.Released, ref=1, reason="compared with a third meter")


def rows(session: ReadSession) -> dict[str, dict[str, str]]:
    read = csv.DictReader(io.StringIO(format_results(session).decode(), newline=""))
    return {row["point"]: row for row in read}


def flat(text: str) -> str:
    return " ".join(text.split())


def kinds(session: ReadSession, kind: Kind) -> list[tuple[str, str]]:
    return [(each.what, each.where) for each in find_exceptions(session) if each.kind is kind]


# --- half a retake --------------------------------------------------------------------------------


def test_half_a_retake_is_an_exception_that_names_the_point_and_clears_nothing() -> None:
    session = doubtful().session()
    assert session.problems == ()
    assert [where.split(",")[1] for _, where in kinds(session, Kind.IN_DOUBT)] == [
        " record 1", " record 2", " record 3", " record 4",
    ]  # fmt: skip
    ((what, where),) = [each for each in kinds(session, Kind.UNSETTLED) if "N-02" in each[1]]
    assert where == "point N-02"
    assert "Vent strap: skipped; retake awaited, 1 of 2 readings taken; before it 1.40" in what
    ((what, where),) = kinds(session, Kind.INCOMPLETE)
    assert "(record 5) is 1 of 2 readings of a take" in what
    assert where == "point N-02, record 5, row 15"


def test_the_other_half_makes_it_a_take_that_replaces_the_one_in_doubt() -> None:
    story = doubtful()
    voltage(story, "-0.14")
    session = story.session()
    assert [where.split(",")[1] for _, where in kinds(session, Kind.IN_DOUBT)] == [" record 1", " record 4"]
    assert kinds(session, Kind.INCOMPLETE) == []
    assert not [each for each in kinds(session, Kind.UNSETTLED) if "N-02" in each[1]]
    assert rows(session)["N-02"]["in_doubt"] == ""


# --- wherever a verdict is shown ------------------------------------------------------------------


def test_results_say_it_in_a_column_of_its_own() -> None:
    table = rows(let_stand().session())
    assert {point: (row["verdict"], row["state"], row["in_doubt"]) for point, row in table.items()} == {
        "SW-01": ("pass", "passed", "let stand: compared with a third meter"),
        "N-02": ("pass", "skipped", "in doubt; to be taken again"),
        "SW-02": ("fail", "failed", "in doubt"),
    }


def test_the_result_says_how_many_of_a_state_are_in_doubt_and_that_it_is_not_complete() -> None:
    counts = dict(describe_counts(doubtful().session()))
    assert counts["points"] == (
        "1 of 3 settled; not complete: 1 skipped, 1 failed without a paper, 1 to be taken again, "
        "3 in doubt for the meter"
    )
    assert counts["passed"] == "1, 1 of them IN DOUBT for the meter"
    assert counts["failed"] == "1, 1 of them IN DOUBT for the meter"
    assert counts["open"] == "0"
    assert "IN DOUBT against" in counts["path P1"]
    summary = flat(format_summary(doubtful().session()))
    assert "passed 1, 1 of them IN DOUBT for the meter" in summary
    assert "N-02 Vent strap: skipped, to be taken again" in summary
    assert "SW-02 Tank vent: failed" in summary


def test_the_nearest_to_their_limits_say_it() -> None:
    lines = {line.split()[0]: line for line in nearest_lines(let_stand().survey())}
    assert "fail IN DOUBT against" in lines["SW-02"]
    assert "pass IN DOUBT against" in lines["N-02"]
    assert "IN DOUBT" not in lines["SW-01"]


def test_the_tables_of_the_page_say_it_and_why_a_reading_was_let_stand() -> None:
    session = let_stand().session()
    points = {row.cells[0][0]: row for table in point_tables(session) for row in table.rows}
    assert points["SW-01"].cells[5] == ("pass", "let stand: compared with a third meter")
    assert points["N-02"].cells[5] == ("pass", "IN DOUBT")
    assert "to be taken again" in points["N-02"].cells[6]
    assert points["N-02"].is_loud
    assert "IN DOUBT" in points["SW-02"].cells[3][-1]
    readings = {row.cells[0][0]: row for table in reading_tables(session) for row in table.rows}
    assert "let stand: compared with a third meter" in readings["1"].cells[7]
    assert readings["4"].cells[5] == ("fail", "IN DOUBT")
    paths = path_table(session)
    assert paths is not None
    assert paths.rows[0].cells[5] == ("pass", "IN DOUBT")


def test_the_front_page_calls_attention_to_points_in_doubt_failed_and_left() -> None:
    story = doubtful()
    front = front_findings(find_exceptions(story.session()))
    told = {line.split(",")[0]: line for line in front}
    assert told["in doubt"].startswith("in doubt, 4: ")
    assert told["in doubt"].endswith(" and 1 more")
    assert "SW-02" in told["failed"] and "IN DOUBT" in told["failed"]
    assert "no discrepancy" in told
    assert "N-02" in told["unsettled"]
    assert "N-02" in told["incomplete take"]
    story.tell(ev.DiscrepancyRaised, point="SW-02", ref="D-4")
    story.tell(ev.AttemptFailed, point="N-02", reason="not accessible: dark")
    front = front_findings(find_exceptions(story.session()))
    told = {line.split(",")[0]: line for line in front}
    assert "SW-02" in told["rework awaited"]
    assert "N-02" in told["inaccessible"]
    page = flat(format_html(story.session()))
    assert "in doubt, 4: " in page[page.index("Attention") : page.index("The survey")]


def test_the_story_of_a_point_says_it() -> None:
    stories = Stories(let_stand().session())
    half, stood = stories.tell("N-02"), stories.tell("SW-01")
    assert half.is_in_doubt and not stood.is_in_doubt
    told = dict(half.stands)
    assert "pass IN DOUBT (record 2, 3)" in told["as left"]
    assert told["TO DO"].startswith("retake awaited, 1 of 2 readings taken")
    assert dict(stood.stands)["as left"].endswith("; let stand: compared with a third meter")
    assert "IN DOUBT" in dict(stood.paths)["sum"]


def test_charts_draw_it_in_a_shape_of_its_own() -> None:
    survey = let_stand().survey()
    (chart,) = route_charts(survey)
    shapes = {mark.text.split(":")[0]: (mark.shape, mark.text) for mark in chart.marks}
    assert shapes["SW-01"][0] is Shape.PASSED
    assert shapes["N-02"][0] is Shape.DOUBT and "pass IN DOUBT" in shapes["N-02"][1]
    assert shapes["SW-02"][0] is Shape.DOUBT and "fail IN DOUBT" in shapes["SW-02"][1]
    assert "IN DOUBT for the meter: N-02, SW-02." in chart.description
    assert "IN DOUBT" in [entry.text for entry in chart.legend]
    bars = histogram(survey)
    assert bars is not None
    assert sum(bar.doubted for bar in bars.bars) == 2
    (pairs,) = pair_charts(survey)
    assert pairs.has_doubt
    assert [mark.shape for mark in pairs.pairs[0].marks] == [Shape.PASSED, Shape.DOUBT]
    page = format_html(let_stand().session())
    assert "? IN DOUBT" in page
    assert ">?</text>" in page


# --- held against the next survey -----------------------------------------------------------------


def next_survey() -> ReadSession:
    route = doubtful().route
    story = Story(route)
    story.time += timedelta(days=365)
    session = story.brief().read("SW-01", "1.40").read("SW-02", "3.6").session()
    return replace(session, facts=replace(session.facts, id="2027-05-04_zx-41_twin-wing_01"))


def test_the_next_survey_hears_that_the_one_before_was_in_doubt() -> None:
    old, new = doubtful().session(), next_survey()
    compared = compare_sessions(old, new)
    text = flat(format_comparison(compared))
    assert "1.38 mΩ pass IN DOUBT -> 1.40 mΩ pass" in text
    assert "asked for again and not taken" in text
    answer: Any = comparison_as_json(compared)
    points = {each["point"]: each["old"] for each in answer["points"]}
    assert (points["SW-01"]["in_doubt"], points["SW-01"]["asked_again"]) == (True, False)
    assert (points["N-02"]["in_doubt"], points["N-02"]["asked_again"]) == (True, True)
    turned = {each.point: each for each in compare(seen_points(new.survey), seen_points(old.survey))}
    assert turned["SW-01"].new is not None and turned["SW-01"].new.reading is not None
    assert turned["SW-01"].new.reading.is_in_doubt


def test_a_trend_that_ends_in_doubt_says_so() -> None:
    new, old = next_survey(), doubtful().session()
    surveys = [(each.facts.id, list(seen_points(each.survey))) for each in (old,)]
    followed = Followed((RouteTrends((source_of(old, NONE_STATED),), (), tuple(find_trends(surveys))),), ())
    text = flat(format_trends(followed))
    assert "last 1.38 mΩ pass IN DOUBT, limit" in text
    answer: Any = trends_as_json(followed)
    samples = {each["point"]: each["samples"] for each in answer["routes"][0]["points"]}
    assert [each["in_doubt"] for each in samples["SW-01"]] == [True]
    stories = Stories(new)
    stories.earlier = Earlier({"SW-01": [each for each in samples_of(old) if each.seen.point == "SW-01"]}, 1)
    ((_, words),) = stories.tell("SW-01").before
    assert "pass IN DOUBT against" in words


def test_sessions_put_together_say_it() -> None:
    text = flat(format_coverage(merge_sessions([doubtful().session(), next_survey()])))
    assert "passed 1.38 mΩ IN DOUBT" in text


@pytest.mark.parametrize("again", [False, True])
def test_without_a_failed_check_nothing_is_in_doubt(again: bool) -> None:
    story = Story().brief().read("SW-01", "1.38")
    standard(story, good=True)
    if again:
        story.tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips").read("SW-01", "1.37")
    session = story.session()
    assert "IN DOUBT" not in format_html(session) + format_summary(session)
    assert all(row["in_doubt"] == "" for row in rows(session).values())
    assert [a <= b for a, b in pairwise(session.survey.records)] == [True] * again
