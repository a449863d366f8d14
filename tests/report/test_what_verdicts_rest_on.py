"""Wherever a verdict is shown it says what it rests on: a limit from memory, a value carried to 20 C,
several readings put together, points in series."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, PathLimit, Point, Rule
from fieldtui.desk.comparing import compare_sessions, merge_sessions
from fieldtui.desk.reading import ReadSession
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.coverage_text import format_coverage
from fieldtui.report.between.history_json import comparison_as_json
from fieldtui.report.charts.data import slots_of
from fieldtui.report.findings.all import Kind, find_exceptions
from fieldtui.report.html import format_html
from fieldtui.report.point.story import Stories
from fieldtui.report.results_csv import format_results
from fieldtui.report.text_summary import format_summary
from fieldtui.report.told import rests_on
from fieldtui.ui.widgets.review.sheets import POINTS, READINGS
from tests.ui.review_fixtures import FROM_MEMORY, METER, OWN, Story, mohm, route_of


def from_memory() -> ReadSession:
    return Story().read("HU-01", "2.0").session()


def cells(session: ReadSession, sheet: str) -> str:
    rows = next(one for one in (POINTS, READINGS) if one.name == sheet).rows(session)
    return "\n".join(" ".join(row.cells) for row in rows if "HU-01" in row.cells)


@pytest.mark.parametrize(
    "shown",
    [
        format_summary,
        format_html,
        lambda session: format_results(session).decode(),
        lambda session: cells(session, "points"),
        lambda session: cells(session, "readings"),
        lambda session: format_comparison(compare_sessions(session, session)),
        lambda session: format_coverage(merge_sessions([session])),
    ],
    ids=["summary", "page", "results", "points", "readings", "compare", "coverage"],
)
def test_a_limit_from_memory_never_judges_silently(shown: Callable[[ReadSession], str]) -> None:
    assert "UNVERIFIED" in shown(from_memory()).upper()
    quoted = Story().read("SW-01", "2.0").session()
    facts = replace(quoted.facts, route=route_of(*route_of().points[:2]))
    told = shown(replace(quoted, facts=facts, survey=Story(facts.route).read("SW-01", "2.0").survey()))
    assert "UNVERIFIED" not in told  # and it is no word that is always there


def test_the_answer_in_json_has_the_status_of_each_limit() -> None:
    answer = comparison_as_json(compare_sessions(from_memory(), from_memory()))
    points = answer["points"]
    assert isinstance(points, list)
    found = {point["point"]: point["new"]["limit_status"] for point in points}
    assert found == {"SW-01": "quoted", "SW-02": "own", "HU-01": "unverified", "HU-02": None}


def warm(**changes: object) -> Story:
    point = Point(
        id="W-1", section="SW", title="Strap", unit=Unit.MOHM, limit=Limit(mohm("2.5")), correct_to_20=True
    )
    return Story(route_of(replace(point, **changes), celsius=Decimal(35)))  # type: ignore[arg-type]


def test_both_values_are_told_and_which_one_was_judged() -> None:
    session = warm().read("W-1", "2.600").session()
    (row,) = csv.DictReader(io.StringIO(format_results(session).decode(), newline=""))
    assert (row["as_left"], row["judged"], row["celsius"], row["verdict"]) == (
        "2.600", "2.45526", "35", "pass",
    )  # fmt: skip
    (record,) = session.survey.records.values()
    assert list(rests_on(session.survey, record)) == ["at 20 °C 2.45526 mΩ"]
    assert "2.600 mΩ, at 20 °C 2.45526 mΩ" in " ".join(POINTS.rows(session)[0].cells)
    assert "judged at       20 °C where the route asks for it, from 35 °C" in format_summary(session)
    assert "at 20 °C 2.45526 mΩ" in format_html(session)
    failed = warm().read("W-1", "2.700").session()
    (finding,) = [each for each in find_exceptions(failed) if each.kind is Kind.FAILED]
    assert "2.700 mΩ (2.54970 mΩ at 20 °C), fail against <= 2.5 mΩ" in finding.what


def test_a_pair_says_what_was_judged() -> None:
    story = warm(method="reversed", repeats=2, rule="mean").read("W-1", "2.65").read("W-1", "2.55")
    first, second = story.survey().records.values()
    assert list(rests_on(story.survey(), first)) == []  # one way only: nothing is judged yet
    assert list(rests_on(story.survey(), second)) == ["mean 2.600 mΩ", "at 20 °C 2.45526 mΩ"]


@pytest.mark.parametrize(
    ("bound", "words"), [("3.0", "fail against <= 3.0 mΩ"), ("3.2", "pass against <= 3.2 mΩ")]
)
def test_a_path_in_series_is_told_and_its_failure_is_an_exception(bound: str, words: str) -> None:
    path = PathLimit("E-1", "stud to stud", ("SW-01", "SW-02"), Limit(mohm(bound)))
    story = Story(route_of(paths=(path,))).read("SW-01", "1.1")
    (finding,) = [each for each in find_exceptions(story.session()) if "E-1" in each.what]
    assert (finding.kind, finding.where) == (Kind.UNSETTLED, "point SW-02")
    session = story.read("SW-02", "2.1").session()
    assert f"path E-1        3.2 mΩ, {words}" in format_summary(session)
    found = [each.what for each in find_exceptions(session) if "E-1" in each.what]
    assert found == ([f"path E-1, stud to stud: 3.2 mΩ, {words}"] if "fail" in words else [])


def test_a_path_limit_from_memory_is_told_too() -> None:
    path = PathLimit("E-1", "stud to stud", ("SW-02",), FROM_MEMORY)
    session = Story(route_of(paths=(path,))).read("SW-02", "2.1").session()
    assert OWN.is_unverified is False
    (finding,) = [each for each in find_exceptions(session) if each.kind is Kind.UNVERIFIED]
    assert finding.what == "enclosure (<= 10 mΩ) is from memory and judged readings of 1 point"


# --- a take of several ----------------------------------------------------------------------------

STATED = replace(METER, accuracy=Accuracy(Decimal("0.5"), mohm("0.02"), mohm("0.01"), Decimal(2)))


def take_of(rule: Rule, *values: str, maximum: str = "2.5") -> dict[int, list[str]]:
    """What is said beside each reading of one take that is held to ``<= maximum``, less U."""
    guarded = Limit(mohm(maximum), rule=DecisionRule(RuleKind.GUARDED))
    point = Point("G-1", "SW", "Strap", Unit.MOHM, guarded, repeats=len(values), rule=rule)
    story = Story(route_of(point), STATED)
    for value in values:
        story.read("G-1", value)
    survey = story.survey()
    return {number: list(rests_on(survey, record)) for number, record in survey.records.items()}


def test_the_guard_band_is_not_blamed_for_what_another_reading_of_the_take_did() -> None:
    """5.00 fails the limit itself, and so do the two after it: all three must meet it."""
    told = take_of("max", "5.00", "1.00", "1.00")
    assert told == {1: [], 2: ["max 5.00 mΩ"], 3: ["max 5.00 mΩ"]}


def test_the_guard_band_is_named_where_the_take_as_far_as_it_went_hangs_on_it() -> None:
    """U of 2.49 is 2 sqrt((0.03245 / 2)^2 + 0.005^2 / 3) = 0.03296 mohm: 2.49 meets 2.5, not 2.5 less U."""
    told = take_of("max", "1.00", "2.49", "1.00")
    assert told == {
        1: [],
        2: ["guard band 0.033 mΩ"],
        3: ["max 2.49 mΩ", "guard band 0.033 mΩ"],
    }
    # Means as far as they went: 2.60, (2.60 + 2.38) / 2 = 2.490, (2.60 + 2.38 + 2.34) / 3 = 2.440
    told = take_of("mean", "2.60", "2.38", "2.34")
    assert told == {1: [], 2: ["mean 2.490 mΩ", "guard band 0.033 mΩ"], 3: ["mean 2.440 mΩ"]}


def test_the_guard_band_is_not_blamed_for_a_mean_that_is_rounded() -> None:
    """9.85 / 4 = 2.4625 fails <= 2.462 by itself, however few digits are told."""
    told = take_of("mean", "2.46", "2.46", "2.46", "2.47", maximum="2.462")
    assert told[4] == ["mean 2.4625 mΩ"]


def test_a_value_at_20_that_only_just_fails_is_told_as_one_that_fails() -> None:
    """2.39 at 8.8 C: 1 + 0.00393 * (8.8 - 20) = 0.955984; 2.39 / 0.955984 = 2.500042 (by hand)."""
    cold = replace(warm().route, celsius=Decimal("8.8"))
    session = Story(cold).read("W-1", "2.39").session()
    (finding,) = [each for each in find_exceptions(session) if each.kind is Kind.FAILED]
    assert finding.what == "Strap: 2.39 mΩ (2.50004 mΩ at 20 °C), fail against <= 2.5 mΩ"
    summary = " ".join(format_summary(session).split())
    assert "2.39 mΩ, judged at 20 °C as 2.50004 mΩ, fail against <= 2.5 mΩ" in summary
    for page in (format_html(session), " ".join(POINTS.rows(session)[0].cells)):
        assert "2.50004 mΩ" in page and "2.5000 mΩ" not in page
    (slot,) = slots_of(session.survey, ["W-1"])
    assert slot.left is not None and slot.left.text == "2.39 mΩ, at 20 °C 2.50004 mΩ"
    story = Stories(session).tell("W-1")
    assert "2.50004 mΩ, corrected to 20 °C from 8.8 °C (copper)" in str(story.rests)
    later = compare_sessions(session, session)
    (point,) = comparison_as_json(later)["points"]  # type: ignore[misc]
    assert (point["new"]["value"], point["new"]["at_20"]) == ("2.39", "2.50004")
    assert "2.39 mΩ (2.50004 mΩ at 20 °C) fail" in " ".join(format_comparison(later).split())
