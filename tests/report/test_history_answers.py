"""Comparison, coverage and trend as text and JSON, whatever the sessions hold."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.between.comparison import compare
from fieldtui.core.between.coverage import cover
from fieldtui.core.between.history import Seen
from fieldtui.core.between.trend import find_trends
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Limit
from fieldtui.core.survey.position import State
from fieldtui.core.text import is_clean
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.comparing import Compared, Followed, Merged, RouteTrends
from fieldtui.desk.fleet import Fleet, FleetPoint, FleetRoute
from fieldtui.desk.sources import Source
from fieldtui.files.fleet.engine import PointRow
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.coverage_text import format_coverage
from fieldtui.report.between.fleet_lists import share_of_limit
from fieldtui.report.between.fleet_text import format_fleet
from fieldtui.report.between.history_json import comparison_as_json, coverage_as_json, trends_as_json
from fieldtui.report.between.history_lines import format_figure
from fieldtui.report.between.trend_text import format_trends
from tests.core.history_fixtures import START, mohm, seen

# An escape sequence, an override character (CVE-2021-42574), a delete, markup and a very long word.
HOSTILE = "\x1b]0;x\x07 \u202egnp.exe\x7f\u009b [b]<b> " + "long" * 40


def source(text: str = "") -> Source:
    name = text or "plain"
    return Source(name, Path(name), START, name, name, name, name, name, False, False, False, False, name)


def hostile(value: str, days: float = 0) -> Seen:
    point = seen(value, point=HOSTILE, days=days, state=State.SKIPPED, places=(HOSTILE, HOSTILE))
    return replace(point, title=HOSTILE, reason=HOSTILE)


def answers() -> list[tuple[str, dict[str, object]]]:
    """Each kind of answer with hostile text in every place that takes text."""
    other = replace(hostile("2.60"), a="else")
    told = source(HOSTILE)
    compared = Compared(told, told, (HOSTILE,), tuple(compare([hostile("1.38")], [other])))
    gone = Compared(told, told, (HOSTILE,), tuple(compare([hostile("1.38")], [hostile("")])))
    merged = Merged((told,), (HOSTILE,), tuple(cover({HOSTILE: [hostile("1.38"), other, hostile("")]})))
    trends = find_trends((HOSTILE, [hostile("1.38", days)]) for days in range(5))
    followed = Followed((RouteTrends((told,), (HOSTILE,), tuple(trends)),), (HOSTILE,))
    return [
        (format_comparison(compared), comparison_as_json(compared)),
        (format_comparison(gone), comparison_as_json(gone)),
        (format_coverage(merged), coverage_as_json(merged)),
        (format_trends(followed), trends_as_json(followed)),
    ]


@pytest.mark.parametrize("number", range(4))
def test_hostile_text_comes_out_as_visible_codes(number: int) -> None:
    text, answer = answers()[number]
    printed = json.dumps(answer)
    assert all(is_clean(line) for line in text.split("\n"))
    assert "\\u{1b}" in text and "\\u{202e}" in text
    assert "\x7f" not in printed and "\\u001b" not in printed and "\\u202e" not in printed
    assert "\\\\u{1b}" in printed


@pytest.mark.parametrize("number", range(4))
def test_no_line_is_wider_than_80(number: int) -> None:
    text, _ = answers()[number]
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.endswith("\n") and not text.endswith("\n\n")


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Decimal("1.8913"), "1.89"),
        (1234567.0, "1230000"),
        (0.000012345, "0.0000123"),
        (0.0, "0"),
        (Decimal("0E-9"), "0"),
        (1.0, "1.00"),
        (-0.2504, "-0.250"),
    ],
)
def test_figures_have_three_digits_and_no_exponent(number: Decimal | float, text: str) -> None:
    assert format_figure(number) == text


def test_the_soonest_date_comes_first() -> None:
    def surveys(point: str, *values: str) -> list[Seen]:
        return [seen(value, point=point, days=365 * i) for i, value in enumerate(values)]

    slow = surveys("SLOW", "1.50", "1.60", "1.70", "1.85")
    still = surveys("STILL", "1.50", "1.50", "1.50", "1.50")
    fast = surveys("FAST", "1.50", "1.80", "2.10", "2.40")
    trends = find_trends([("S", [*still, *slow, *fast])])
    text = format_trends(Followed((RouteTrends((source(),), (), tuple(trends)),), ()))
    assert text.index("FAST") < text.index("SLOW") < text.index("STILL")
    assert text.count("LIMIT") == 2


def test_a_rework_is_told_with_what_it_leaves_out() -> None:
    points = [seen("2.4"), seen("1.0", days=365, retest=True), seen("1.1", days=730)]
    trends = find_trends([("S", points)])
    text = format_trends(Followed((RouteTrends((source(),), (), tuple(trends)),), ()))
    day = (START + timedelta(days=365)).date().isoformat()
    assert f"    reworked {day}; 1 survey before left out\n" in text


def test_a_slope_that_is_the_noise_of_floats_is_zero() -> None:
    trends = find_trends([("S", [seen("0.1", days=i / 3) for i in range(5)])])
    text = format_trends(Followed((RouteTrends((source(),), (), tuple(trends)),), ()))
    assert "slope 0 mΩ a year" in text


def test_all_numbers_of_a_trend_are_in_the_unit_of_the_last_reading() -> None:
    """A route in ohm, keyed in milliohm: nobody has to move a point in the head."""
    limit = Limit(maximum=Resistance(Decimal("0.003"), Unit.OHM))
    values = ("1.50", "1.80", "2.10", "2.40")
    points = [
        replace(seen(value, days=365 * i, limit=limit), unit=Unit.OHM) for i, value in enumerate(values)
    ]
    text = format_trends(Followed((RouteTrends((source(),), (), tuple(find_trends([("S", points)]))),), ()))
    told = " ".join(text.split())
    assert "last 2.40 mΩ pass, limit <= 0.003 Ω = 3 mΩ slope +0.300 mΩ a year" in told
    assert "next survey about 2026-05-03: 2.70 mΩ (" in told
    assert "LIMIT 0.003 Ω = 3 mΩ reached about" in told
    assert told.count(" Ω") == told.count("0.003 Ω = 3 mΩ") == 2


def test_a_share_of_a_limit_is_that_of_the_value_at_20() -> None:
    """2.39 at 8.8 C is 2.500042 at 20 C (worked out by hand): it fails, and uses more than the limit."""
    cold = seen("2.39")
    assert cold.reading is not None
    reading = replace(cold.reading, at_20=mohm("2.50004"), verdict=Verdict.FAIL)
    (trend,) = find_trends([("S", [replace(cold, reading=reading)])])
    text = format_trends(Followed((RouteTrends((source(),), (), (trend,)),), ()))
    assert "last 2.39 mΩ (2.50004 mΩ at 20 °C) fail, limit < 2.5 mΩ" in text
    day = "2022-05-04T08:30:00Z"
    counted = PointRow("ZX-41", "wing", "SW-01", 1, 1, day, "2.39", "mohm", day, "2.39", "mohm")
    route = FleetRoute(RouteTrends((source(),), (), (trend,)), (FleetPoint(counted, trend),))
    assert ">100 % of < 2.5 mΩ" in " ".join(format_fleet(Fleet((route,), 1, {}, ()), 5).split())
    assert share_of_limit(trend) == pytest.approx(2.50004 / 2.5)


def test_the_nearest_of_a_fleet_are_held_to_the_limit_that_judged_them() -> None:
    """1.998 after a rework: 80 % of the planned 2.5, and no whole hundred of the 2.0 that judged it."""
    reworked = replace(seen("1.998", retest=True), limit=Limit(maximum=mohm("2.0")))
    (trend,) = find_trends([("S", [reworked])])
    day, value = "2022-05-04T08:30:00Z", ("1.998", "mohm")
    counted = PointRow("ZX-41", "wing", "SW-01", 1, 0, day, *value, day, *value)
    route = FleetRoute(RouteTrends((source(),), (), (trend,)), (FleetPoint(counted, trend),))
    text = " ".join(format_fleet(Fleet((route,), 1, {}, ()), 5).split())
    assert "99.9 % of <= 2.0 mΩ after rework; 1.998 mΩ" in text
    assert share_of_limit(trend) == pytest.approx(0.999)
