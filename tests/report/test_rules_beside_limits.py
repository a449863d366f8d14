"""A decision rule stands wherever its limit stands, and results.csv has what a verdict is worked out from.

The words are those of ILAC-G8:09/2019 4.2 and JCGM 106:2012 8.3: guard band, four states, simple acceptance.
"""

from __future__ import annotations

import csv
import io
import itertools
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, Limit, PathLimit, Point
from fieldtui.desk.comparing import compare_sessions
from fieldtui.desk.reading import ReadSession
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.history_json import comparison_as_json
from fieldtui.report.html import format_html
from fieldtui.report.point.story import Stories
from fieldtui.report.results_csv import format_results
from fieldtui.report.text_summary import format_summary
from fieldtui.report.told import rests_on
from tests.ui.review_fixtures import METER, Story, mohm, route_of

STATED = replace(METER, accuracy=Accuracy(Decimal("0.5"), mohm("0.02"), mohm("0.01"), Decimal(2)))
GUARDED = DecisionRule(RuleKind.GUARDED)
FOUR = DecisionRule(RuleKind.FOUR_STATES, Decimal("0.5"))
IN_OHM = Resistance(Decimal("0.0025"), Unit.OHM)


def point(name: str, rule: DecisionRule = SIMPLE, maximum: Resistance | None = None, **more: Any) -> Point:
    return Point(
        id=name,
        section="SW",
        title=f"Strap {name}",
        unit=Unit.MOHM,
        limit=Limit(maximum or mohm("2.5"), rule=rule),
        **more,
    )


def surveyed(meter: Any = STATED) -> ReadSession:
    path = PathLimit("E-1", "in series", ("G1", "F1"), Limit(mohm("9"), rule=GUARDED))
    points = (point("S1"), point("G1", GUARDED), point("F1", FOUR), point("O1", GUARDED, IN_OHM))
    story = Story(route_of(*points, paths=(path,)), meter)
    for name in ("S1", "G1", "F1", "O1"):
        story.read(name, "2.49")
    return story.session()


def story_lines(session: ReadSession, name: str) -> str:
    told = Stories(session).tell(name)
    rests = [line for _, lines in told.rests for line in lines]
    return "\n".join(" ".join(line) for line in (*told.defined, *rests, *told.paths))


def flat(text: str) -> str:
    return " ".join(text.split())


def compared(session: ReadSession) -> str:
    return flat(format_comparison(compare_sessions(session, session)))


@pytest.mark.parametrize(
    ("told", "wanted"),
    [
        (lambda s: flat(format_summary(s)), "fail against <= 2.5 mΩ, guard band 1 U"),
        (
            lambda s: flat(format_summary(s)),
            "conditional pass against <= 2.5 mΩ, four states, guard band 0.5 U",
        ),
        (lambda s: flat(format_summary(s)), "path E-1 4.98 mΩ, pass against <= 9 mΩ, guard band 1 U"),
        (format_html, "≤ 2.5 mΩ<br>guard band 1 U"),
        (format_html, "≤ 2.5 mΩ<br>four states, guard band 0.5 U"),
        (format_html, "≤ 9 mΩ<br>guard band 1 U"),
        (lambda s: story_lines(s, "G1"), "limit <= 2.5 mΩ, guard band 1 U"),
        (lambda s: story_lines(s, "S1"), "limit <= 2.5 mΩ; simple acceptance"),
        (lambda s: story_lines(s, "G1"), "E-1 in series: <= 9 mΩ, guard band 1 U"),
        (compared, "limit <= 2.5 mΩ, four states, guard band 0.5 U"),
    ],
)
def test_the_rule_stands_beside_the_limit(told: Any, wanted: str) -> None:
    assert wanted in told(surveyed())


def test_the_usual_rule_is_not_said_beside_every_limit() -> None:
    assert Limit(mohm("2.5")).rule_words == ""
    assert "guard" not in format_summary(Story(route_of(point("S1")), STATED).read("S1", "2.0").session())
    assert Limit(record_only=True, rule=GUARDED).rule_words == ""  # nothing is judged by it


def test_a_verdict_that_the_band_turned_says_how_wide_it_is() -> None:
    session = surveyed()
    told = {
        record.point: list(rests_on(session.survey, record)) for record in session.survey.records.values()
    }
    # U = sqrt((0.5 % of 2.49 + 0.02)^2 + ...) = 0.033 mohm: wider than what is left to the limit
    assert told == {
        "S1": [],
        "G1": ["guard band 0.033 mΩ"],
        "F1": ["guard band 0.016 mΩ"],
        "O1": ["guard band 0.033 mΩ"],
    }
    clear = Story(route_of(point("G1", GUARDED)), STATED).read("G1", "2.0").session()
    assert list(rests_on(clear.survey, clear.survey.records[1])) == []  # the limit alone says the same


def test_the_verdict_can_be_worked_out_from_a_row_of_results() -> None:
    rules = (SIMPLE, GUARDED, FOUR, DecisionRule(RuleKind.GUARDED, Decimal("1.7")))
    values = ("2.40", "2.44", "2.46", "2.47", "2.48", "2.49", "2.50", "2.51", "2.52", "2.55", "2.60")
    for rule, value, strict in itertools.product(rules, values, Comparator):
        if strict in (Comparator.MORE, Comparator.AT_LEAST):
            continue
        limit = Limit(mohm("2.5"), upper=strict, rule=rule)
        session = Story(route_of(replace(point("P"), limit=limit)), STATED).read("P", value).session()
        (row,) = csv.DictReader(io.StringIO(format_results(session).decode(), newline=""))
        assert row["verdict"] == by_hand(row), row


@pytest.mark.parametrize("rule", [SIMPLE, GUARDED, FOUR], ids=lambda rule: rule.kind.value)
@pytest.mark.parametrize("celsius", ["8.8", "20", "40.5"])
def test_it_can_at_20_and_of_means_too(rule: DecisionRule, celsius: str) -> None:
    """Also where it hangs on the ninth decimal: limits a hair beside the value, and beside value and U."""
    factor = 1 + Decimal("0.00393") * (Decimal(celsius) - 20)
    for repeats, beyond, hair in itertools.product((1, 3), (0, 1, -1), range(-3, 4)):
        value = Decimal("2.39") if repeats == 1 else Decimal("7.18") / 3
        # U as in the budget of the meter: 0.5 % and 0.02 mohm, and half a step over the root of 3, times 2
        squared = (value * Decimal("0.005") + Decimal("0.02")) ** 2 + Decimal("0.01") ** 2 / 3
        edge = (value + beyond * rule.factor * squared.sqrt()) / factor
        bound = edge.quantize(Decimal("0.00000001")) + hair * Decimal("0.00000001")
        asked = replace(
            point("P", rule), limit=Limit(Resistance(bound, Unit.MOHM), rule=rule), correct_to_20=True
        )
        asked = replace(asked, repeats=repeats, rule="mean")
        story = Story(route_of(asked).at_temperature(Decimal(celsius)), STATED)
        for each in ["2.39"] if repeats == 1 else ["2.39", "2.39", "2.40"]:
            story.read("P", each)
        (row,) = csv.DictReader(io.StringIO(format_results(story.session()).decode(), newline=""))
        assert row["celsius"] == celsius
        assert row["verdict"] == by_hand(row), row


def test_u_of_the_judged_value_is_that_at_20() -> None:
    """2.67 mohm of aluminium at 40.5 C: 1 + 0.00403 * 20.5 = 1.082615, and 2.67 / 1.082615 = 2.46625.

    U = sqrt((0.5 % of 2.67 + 0.02)^2 + 0.01^2 / 3) = 0.033847 as measured, 0.033847 / 1.082615 = 0.031264
    at 20 C (worked out by hand). As measured it would be over: 2.46625 + 0.03385 = 2.5001.
    """
    asked = replace(point("P", GUARDED), correct_to_20=True, metal="aluminium")
    story = Story(route_of(asked).at_temperature(Decimal("40.5")), STATED).read("P", "2.67")
    (row,) = csv.DictReader(io.StringIO(format_results(story.session()).decode(), newline=""))
    assert (row["judged"], row["expanded_u"], row["judged_u"]) == ("2.4663", "0.03385", "0.03126")
    assert (row["verdict"], by_hand(row)) == ("pass", "pass")


def by_hand(row: dict[str, str]) -> str:
    """ILAC-G8:09/2019 4.2 as a reader of the file would work it out: value against limit less w = r U."""
    sign, bound, unit = row["limit"].split(" ")
    assert unit == row["unit"]
    value, limit = Decimal(row["judged"]), Decimal(bound)
    band = Decimal(row["guard"] or 0) * Decimal(row["judged_u"])

    def meets(most: Decimal) -> bool:
        return value < most if sign == "<" else value <= most

    if row["decision"] == "simple":
        return "pass" if meets(limit) else "fail"
    if meets(limit - band):
        return "pass"
    if row["decision"] == "guarded":
        return "fail"
    if meets(limit):
        return "conditional pass"
    return "conditional fail" if meets(limit + band) else "fail"


def test_a_meter_without_an_accuracy_leaves_u_empty() -> None:
    rows = list(csv.DictReader(io.StringIO(format_results(surveyed(METER)).decode(), newline="")))
    assert {row["expanded_u"] for row in rows} == {""}
    assert [row["decision"] for row in rows] == ["simple", "guarded", "four-state", "guarded"]


def test_a_rule_that_changed_between_surveys_is_told() -> None:
    old, new = (
        Story(route_of(point("P", rule)), STATED).read("P", "2.0").session() for rule in (SIMPLE, FOUR)
    )
    told = flat(format_comparison(compare_sessions(old, new)))
    assert "the decision rule changed from simple acceptance to four states, guard band 0.5 U" in told
    assert "rule changed" not in compared(old)
    points: Any = comparison_as_json(compare_sessions(old, new))["points"]
    assert [points[0][side]["limit_rule"] for side in ("old", "new")] == [
        "simple acceptance", "four states, guard band 0.5 U",
    ]  # fmt: skip


# --- units -----------------------------------------------------------------------------------------


def test_a_limit_in_another_unit_than_the_value_stands_in_both() -> None:
    session = surveyed()
    both = "<= 0.0025 Ω = 2.5 mΩ, guard band 1 U"
    assert f"2.49 mΩ, fail against {both}" in flat(format_summary(session))
    assert "≤ 0.0025 Ω = 2.5 mΩ<br>guard band 1 U" in format_html(session)
    assert f"limit {both}" in story_lines(session, "O1")
    assert f"limit {both}" in compared(session)


def test_a_value_keyed_in_the_limits_unit_stands_as_keyed_beside_the_limit_as_stated() -> None:
    session = Story(route_of(point("O1", maximum=IN_OHM)), STATED).read("O1", "0.0024r").session()
    assert "0.0024 Ω, pass against <= 0.0025 Ω, 96 % of it" in flat(format_summary(session))
    assert "≤ 0.0025 Ω</td>" in format_html(session)
    assert "0.0025 Ω = 2.5 mΩ" not in flat(format_summary(session))
