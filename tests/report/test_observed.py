"""What the report says was seen of check standard, repeatability and temperature."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Point
from fieldtui.core.trail import events as ev
from fieldtui.report.html import format_html
from fieldtui.report.tables.observed import observed_lines
from tests.ui.review_fixtures import METER, OWN, PLAIN_METER, Story, mohm, route_of


def test_nothing_seen_is_said_too() -> None:
    assert observed_lines(Story(instrument=METER).read("SW-01", "1.0").session()) == [
        "Check standard: not read in this session.",
        "Repeatability: no point was read several times in one take, so nothing is known of it.",
        "Temperature: every value is judged as measured.",
    ]


def test_the_check_standard_s_worst_reading() -> None:
    standard = METER.check_standard
    assert standard is not None
    story = Story(instrument=METER)
    for away in ("0.01", "-0.03", "0.02"):
        read = mohm(str(standard.value.to(Unit.MOHM).value + Decimal(away)))
        story.tell(ev.StandardRead, reading=read, verdict=ev.Answer.GOOD, ref=ev.CheckTime.INTERVAL)
    said = observed_lines(story.session())[0]
    assert said.startswith("Check standard: read 3 times, at most 0.030 mΩ from its ")
    assert str(standard.tolerance) in said


def test_the_check_standard_read_in_the_brief_counts_too() -> None:
    standard = METER.check_standard
    assert standard is not None
    told = [mohm(str(standard.value.to(Unit.MOHM).value + Decimal(away))) for away in ("0.01", "-0.03")]
    story = Story(instrument=METER)
    story.tell(ev.Briefed, ref="battery", verdict=ev.Answer.GOOD)
    story.tell(ev.Briefed, ref=ev.STANDARD_ITEM, verdict=ev.Answer.GOOD, reading=told[1])
    said = observed_lines(story.session())[0]
    assert said.startswith("Check standard: read 1 time, at most 0.030 mΩ from its ")
    story.tell(ev.StandardRead, reading=told[0], verdict=ev.Answer.GOOD, ref=ev.CheckTime.AFTER)
    said = observed_lines(story.session())[0]
    assert said.startswith("Check standard: read 2 times, at most 0.030 mΩ from its ")


def test_repeatability_is_pooled_over_takes_and_void_readings_are_left_out() -> None:
    """Two takes of two: 0.99 and 1.01 of 1, 1.98 and 2.02 of 2; both have s = 0.0141 of the value."""
    points = [Point(name, "SW", name, Unit.MOHM, OWN, repeats=2, rule="mean") for name in "AB"]
    story = Story(route_of(*points), METER)
    story.read("A", "0.99").read("A", "1.01").read("B", "1.98").read("B", "2.02")
    said = observed_lines(story.session())[1]
    assert said.startswith(
        "Repeatability: standard deviation of one reading 1.4 % of the value, pooled over 2 takes"
    )
    assert "(2 degrees of freedom;" in said
    story.tell(ev.Voided, ref=4, point="B", reason="slipped")
    assert "pooled over 1 take of" in observed_lines(story.session())[1]


def test_a_reversed_pair_is_no_repetition() -> None:
    point = Point("A", "SW", "A", Unit.MOHM, OWN, repeats=2, rule="mean", method="reversed")
    story = Story(route_of(point), METER).read("A", "0.5").read("A", "1.5")
    assert "nothing is known" in observed_lines(story.session())[1]


def test_temperature_says_what_a_degree_does() -> None:
    """alpha20 of copper 0.00393 (IEC 60028): at 20 degrees 0.39 % a degree."""
    point = Point("A", "SW", "A", Unit.MOHM, OWN, correct_to_20=True)
    route = route_of(point)
    assert "no temperature was recorded" in observed_lines(Story(route, METER).session())[2]
    said = observed_lines(Story(replace(route, celsius=Decimal(20)), METER).session())[2]
    assert "1 point corrected from 20 °C to 20 °C" in said
    assert said.endswith("would change a value by copper 0.39 %.")


def test_it_stands_in_the_report() -> None:
    page = format_html(Story(instrument=PLAIN_METER).read("SW-01", "1.0").session())
    assert "Seen in this survey" in page
    assert "Repeatability: no point was read several times" in page
