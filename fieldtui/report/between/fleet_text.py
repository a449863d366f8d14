"""The trends of a whole fleet as plain text: what failed again, what is near its limit, what moves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from fieldtui.core.account.basis import used_words
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.text import counted
from fieldtui.desk.comparing import Followed
from fieldtui.desk.fleet import Fleet, FleetRoute
from fieldtui.report.between.fleet_lists import YEAR, Listed, failed_again, movers, nearest
from fieldtui.report.between.history_lines import (
    WIDTH,
    describe_value,
    format_day,
    format_figure,
    indented_lines,
    joined_lines,
    left_out_lines,
    part_lines,
    wrapped_lines,
)
from fieldtui.report.between.trend_text import format_trends

_CHANCE = (
    "Of steady points about one in forty looks like rising, and one in forty like falling, by chance alone. "
    "A point's own lines: fieldtui trend FOLDER --point ID."
)


def format_fleet(fleet: Fleet, most: int) -> str:
    """The fleet's report, each list at most ``most`` points long."""
    lines = [f"Fleet: {counted(fleet.sessions, 'session')} along {counted(len(fleet.routes), 'route')}"]
    lines.append("=" * WIDTH)
    for route in fleet.routes:
        lines += _route(route)
    lines += _part("Failed in more than one survey", failed_again(fleet), most, _failed)
    lines += _part("Nearest to the limit, by the last value", nearest(fleet), most, _near)
    lines += _part("Moving towards the limit, fastest first", movers(fleet), most, _moving)
    lines += ["", *wrapped_lines(_CHANCE, "", "")]
    lines += _singly(fleet)
    lines += left_out_lines(fleet.left_out)
    return joined_lines(lines)


def format_point(fleet: Fleet) -> str:
    """A fleet that was asked for one point: the point's lines on each route, as of named sessions."""
    routes = tuple(route.trends for route in fleet.routes)
    text = format_trends(Followed(routes, fleet.left_out))
    return joined_lines([text.rstrip("\n"), *_singly(fleet)])


def _route(route: FleetRoute) -> Iterator[str]:
    sources = route.trends.sources
    first, last = sources[0], sources[-1]
    days = f"{format_day(first.started)} to {format_day(last.started)}"
    told = f"{first.asset or 'asset not given'}, {last.title} ({first.route}): "
    told += f"{counted(len(sources), 'session')}, {counted(len(route.points), 'point')}, {days}"
    yield from wrapped_lines(told, "", "  ")
    for note in route.trends.notes:
        yield from wrapped_lines(note, "  note  ", "        ")


def _part(title: str, listed: Sequence[Listed], most: int, tell: Callable[[Listed], str]) -> Iterator[str]:
    yield from part_lines(f"{title}: {len(listed) or 'none'}")
    for each in listed[:most]:
        counts = each.point.counts
        title = each.point.trend.last.seen.title
        name = "  ".join(part for part in (counts.point, title) if part)
        yield from wrapped_lines(f"{name}  [{counts.asset or 'asset not given'}, {counts.route}]", "- ", "  ")
        yield from indented_lines(tell(each))
    if len(listed) > most:
        yield f"  and {len(listed) - most} more"


def _failed(each: Listed) -> str:
    counts = each.point.counts
    limit = _limit(each)
    failed = f"failed in {counts.failed} of {counted(counts.surveys, 'survey')}"
    return f"{failed}, limit {limit}; {_values(each)}"


def _near(each: Listed) -> str:
    last = each.point.trend.last
    limit, value = last.seen.limit, last.reading.judged
    rework = " after rework" if limit != last.seen.planned else ""
    return f"{used_words(limit, value.ohms)} of {limit.words(value.unit)}{rework}; {_values(each)}"


def _moving(each: Listed) -> str:
    trend = each.point.trend
    unit = trend.last.reading.value.unit
    assert trend.band is not None  # the list holds no others
    sign = "-" if trend.band.line.slope < 0 else "+"
    figure = format_figure(abs(trend.band.line.slope) * YEAR / 10.0**unit.exponent)
    limit = _limit(each)
    told = f"{sign}{figure} {unit.symbol} a year, {format_figure(each.measure * 100)} % of {limit}; "
    told += _values(each)
    if trend.forecast is not None:
        told += f"; LIMIT reached about {format_day(trend.forecast.reached)} if nothing changes"
    return told


def _limit(each: Listed) -> str:
    """With its decision rule, and in the unit of the last value too."""
    last = each.point.trend.last
    return last.seen.planned.words(last.reading.value.unit)


def _values(each: Listed) -> str:
    counts, trend = each.point.counts, each.point.trend
    first = Resistance(Decimal(counts.first_value), Unit(counts.first_unit))
    last = trend.last.reading
    told = f"{first} {counts.first_time[:10]} to {describe_value(last)} {format_day(last.when)}"
    return f"{told}, {counted(counts.surveys, 'survey')}"


def _singly(fleet: Fleet) -> Iterator[str]:
    if fleet.read_singly:
        yield from part_lines(f"Read one by one, not by query: {sum(fleet.read_singly.values())}")
        for why, count in fleet.read_singly.items():
            yield from wrapped_lines(f"{counted(count, 'session')}: {why}", "- ", "  ")
