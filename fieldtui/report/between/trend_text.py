"""The trends of points as plain text for a person."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from fieldtui.core.between.trend import CONFIDENCE, Interval, Trend
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.text import counted
from fieldtui.desk.comparing import Followed, RouteTrends
from fieldtui.report.between.history_lines import (
    WIDTH,
    describe_value,
    format_day,
    format_figure,
    indented_lines,
    joined_lines,
    left_out_lines,
    named_lines,
    note_lines,
    wrapped_lines,
)

_YEAR = 365.25  # days
_PLACES = 9  # of the point's unit; less is the noise of floats
_AT = f"{CONFIDENCE:.0%}"


def format_trends(followed: Followed) -> str:
    """Each route's points; those with a date first."""
    lines: list[str] = []
    for route in followed.routes:
        lines += _route(route)
    lines += left_out_lines(followed.left_out)
    return joined_lines(lines or ["no session with a reading"])


def _route(route: RouteTrends) -> Iterator[str]:
    first, last = route.sources[0], route.sources[-1]
    yield from wrapped_lines(f"{first.title} ({first.route}), {first.asset or 'asset not given'}", "", "")
    yield "=" * WIDTH
    days = f"{format_day(first.started)} to {format_day(last.started)}"
    yield f"{counted(len(route.sources), 'session')}, {days}"
    yield from note_lines(route.notes)
    tested = sum(trend.band is not None for trend in route.trends)
    if tested:
        yield from wrapped_lines(
            f"{counted(tested, 'point')} tested. Of steady points about one in forty looks like rising, and "
            "one in forty like falling, by chance alone. A date holds only if nothing changes.",
            "note  ",
            "      ",
        )
    for trend in sorted(route.trends, key=_urgency):
        yield ""
        yield from _trend(trend)
    yield ""


def _urgency(trend: Trend) -> tuple[bool, datetime]:
    forecast = trend.forecast
    return forecast is None, forecast.reached if forecast is not None else trend.last.reading.when


def _trend(trend: Trend) -> Iterator[str]:
    first, last = trend.first, trend.last
    surveys = f"{counted(len(trend.samples), 'survey')}, {format_day(first.reading.when)}"
    if len(trend.samples) > 1:
        surveys += f" to {format_day(last.reading.when)}"
    yield from named_lines(last.seen, surveys)
    if first.reading.is_retest:
        before = f"; {counted(trend.left_out, 'survey')} before left out" if trend.left_out else ""
        yield from indented_lines(f"reworked {format_day(first.reading.when)}{before}")
    unit = last.reading.value.unit  # of every number here, whatever the route or an earlier survey had
    limits = list(dict.fromkeys(sample.seen.planned.words(unit) for sample in trend.samples))
    changed = f" (was {', '.join(limits[:-1])})" if len(limits) > 1 else ""
    limit = f"limit {last.seen.planned.words(unit)}{changed}"
    if last.seen.limit != last.seen.planned:  # the value was judged by another, the line is held against this
        limit = f"limit {last.seen.limit.words(unit)} after rework, at first {limit.removeprefix('limit ')}"
    yield from indented_lines(f"last {describe_value(last.reading)}, {limit}")
    yield from indented_lines(_slopes(trend))
    if coming := trend.next_survey():
        when, expected = coming
        yield from indented_lines(f"next survey about {format_day(when)}: {_interval(expected, unit)}")
    yield from indented_lines(_forecast(trend))


def _slopes(trend: Trend) -> str:
    unit = trend.last.reading.value.unit
    if trend.line is None or trend.median_line is None:
        return "no slope"
    middle = _figure(trend.median_line.slope * _YEAR, unit, signed=True)
    if trend.band is None:
        return f"slope {_figure(trend.line.slope * _YEAR, unit, signed=True)} a year, median {middle} a year"
    slope = trend.band.slope
    ends = [_figure(end * _YEAR, unit, signed=True) for end in (slope.value, slope.low, slope.high)]
    return f"slope {ends[0]} a year ({ends[1]} to {ends[2]} at {_AT}), median {middle} a year"


def _forecast(trend: Trend) -> str:
    if trend.forecast is None:
        return f"no date: {trend.withheld.value if trend.withheld is not None else 'nothing known'}"
    forecast = trend.forecast
    bound = forecast.bound.in_both(trend.last.reading.value.unit)
    return (
        f"LIMIT {bound} reached about {format_day(forecast.reached)}; one reading may be past it "
        f"from {format_day(forecast.earliest)} on (at {_AT})"
    )


def _interval(interval: Interval, unit: Unit) -> str:
    low, high = _figure(interval.low, unit), _figure(interval.high, unit)
    return f"{_figure(interval.value, unit)} ({low} to {high} at {_AT})"


def _figure(ohms: float, unit: Unit, *, signed: bool = False) -> str:
    number = round(Decimal(ohms).scaleb(-unit.exponent), _PLACES)
    sign = "+" if signed and number > 0 else ""
    return f"{sign}{format_figure(number)} {unit.symbol}"
