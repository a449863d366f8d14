"""Comparison, coverage and trend as the commands answer them with ``--json``.

Readings are texts with the digits keyed, beside their unit; statistics are numbers in ohm and days.
"""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

from fieldtui.core.between.comparison import Change, Difference, Evidence
from fieldtui.core.between.coverage import Covered
from fieldtui.core.between.history import Reading, Seen
from fieldtui.core.between.trend import CONFIDENCE, Forecast, Interval, Trend
from fieldtui.core.plan.inserted import format_limit
from fieldtui.core.survey.position import State
from fieldtui.core.text import visible
from fieldtui.desk.comparing import Compared, Followed, Merged, RouteTrends
from fieldtui.desk.sources import Source
from fieldtui.files.trail.rows import format_time
from fieldtui.report.basis_words import rule_words

Answer = dict[str, object]


def comparison_as_json(compared: Compared) -> Answer:
    counts = Counter(difference.change for difference in compared.differences)
    return {
        "ok": not compared.has_findings,
        "old": source_as_json(compared.old),
        "new": source_as_json(compared.new),
        "notes": [visible(note) for note in compared.notes],
        "counts": {change.value: counts[change] for change in Change},
        "points": [_difference(difference) for difference in compared.differences],
    }


def coverage_as_json(merged: Merged) -> Answer:
    counts = Counter(point.state for point in merged.points)
    return {
        "ok": not merged.has_findings,
        "sessions": [source_as_json(source) for source in merged.sources],
        "notes": [visible(note) for note in merged.notes],
        "counts": {state.value: counts[state] for state in State},
        "points": [_covered(point) for point in merged.points],
        "unclaimed": [visible(point) for point, _ in merged.unclaimed],
    }


def trends_as_json(followed: Followed) -> Answer:
    return {
        "ok": True,
        "confidence": CONFIDENCE,
        "routes": [_route(route) for route in followed.routes],
        "left_out": [visible(why) for why in followed.left_out],
    }


# --- parts --------------------------------------------------------------------------------


def source_as_json(source: Source) -> Answer:
    """A session, as far as it matters when it is held against others."""
    return {
        "session": visible(source.id),
        "folder": visible(str(source.folder)),
        "started": format_time(source.started),
        "route": visible(source.route),
        "asset": visible(source.asset),
        "revision": visible(source.revision),
        "meter": visible(source.meter),
        "uncertainty_stated": source.has_accuracy,
        "closed": source.is_closed,
        "intact": source.is_intact,
        "trail": source.has_trail,
        "practice": source.is_practice,
    }


def _difference(difference: Difference) -> Answer:
    return {
        "point": visible(difference.point),
        "change": difference.change.value,
        "finding": difference.is_finding,
        "limit_changed": difference.is_limit_changed,
        "places_changed": difference.is_place_changed,
        "old": _seen(difference.old),
        "new": _seen(difference.new),
        "evidence": _evidence(difference.evidence) if difference.evidence is not None else None,
    }


def _evidence(evidence: Evidence) -> Answer:
    return {
        "real": evidence.is_real,
        "difference_ohm": _plain(evidence.difference),
        "allowed_ohm": _plain(evidence.allowed),
        "ratio": float(evidence.ratio) if evidence.ratio is not None else None,
        "e_n": float(evidence.e_n) if evidence.e_n is not None else None,
    }


def _seen(seen: Seen | None) -> Answer | None:
    if seen is None:
        return None
    reading = seen.reading
    return {
        "title": visible(seen.title),
        "a": visible(seen.a),
        "b": visible(seen.b),
        "state": seen.state.value,
        "reason": visible(seen.reason),
        "limit": format_limit(seen.limit),
        "limit_status": seen.limit.status.value if seen.limit.judges else None,
        "limit_rule": rule_words(seen.limit.rule) if seen.limit.judges else None,
        "value": reading.value.digits if reading is not None else None,
        "unit": reading.value.unit.value if reading is not None else seen.unit.value,
        "at_20": _at_20(reading) if reading is not None else None,
        "verdict": reading.verdict.value if reading is not None else None,
        "in_doubt": reading is not None and reading.is_in_doubt,
        "asked_again": seen.is_asked_again,
        "unproven": seen.is_unproven,
        "time": format_time(reading.when) if reading is not None else None,
        "retest": reading is not None and reading.is_retest,
        "as_found": _found(reading) if reading is not None else None,
    }


def _at_20(reading: Reading) -> str | None:
    """The value that was judged, in the unit of the one as measured, where it is that at 20 C."""
    return reading.at_20.to(reading.value.unit).digits if reading.at_20 is not None else None


def _found(reading: Reading) -> Answer | None:
    """The first value, where its verdict was another one."""
    if reading.as_found is None:
        return None
    value, verdict = reading.as_found
    return {"value": value.digits, "unit": value.unit.value, "verdict": verdict.value}


def _covered(point: Covered) -> Answer:
    return {
        "point": visible(point.point),
        "state": point.state.value,
        "settled_by": [visible(part.session) for part in point.settled_by],
        "conflicts": [conflict.value for conflict in point.conflicts],
        "sessions": {visible(part.session): _seen(part.seen) for part in point.parts},
    }


def _route(route: RouteTrends) -> Answer:
    return {
        "sessions": [source_as_json(source) for source in route.sources],
        "notes": [visible(note) for note in route.notes],
        "points": [trend_as_json(trend) for trend in route.trends],
    }


def trend_as_json(trend: Trend) -> Answer:
    """One point over its surveys."""
    coming = trend.next_survey()
    band = trend.band
    return {
        "point": visible(trend.point),
        "title": visible(trend.last.seen.title),
        "limit": format_limit(trend.last.seen.planned),
        "judged_by": format_limit(trend.last.seen.limit),
        "limit_status": trend.last.seen.planned.status.value if trend.last.seen.planned.judges else None,
        "left_out": trend.left_out,
        "samples": [
            {
                "session": visible(sample.session),
                "time": format_time(sample.reading.when),
                "value": sample.reading.value.digits,
                "unit": sample.reading.value.unit.value,
                "at_20": _at_20(sample.reading),
                "verdict": sample.reading.verdict.value,
                "in_doubt": sample.reading.is_in_doubt,
                "limit": format_limit(sample.seen.planned),
                "judged_by": format_limit(sample.seen.limit),
                "retest": sample.reading.is_retest,
            }
            for sample in trend.samples
        ],
        "least_squares_ohm_per_day": trend.line.slope if trend.line is not None else None,
        "median_of_slopes_ohm_per_day": trend.median_line.slope if trend.median_line is not None else None,
        "slope_ohm_per_day": _interval(band.slope) if band is not None else None,
        "significant": band is not None and band.slope.is_off_zero,
        "next": {"time": format_time(coming[0]), "ohm": _interval(coming[1])} if coming is not None else None,
        "forecast": _forecast(trend.forecast) if trend.forecast is not None else None,
        "no_date_because": trend.withheld.value if trend.withheld is not None else None,
    }


def _forecast(forecast: Forecast) -> Answer:
    return {
        "bound": forecast.bound.digits,
        "unit": forecast.bound.unit.value,
        "reached": format_time(forecast.reached),
        "earliest": format_time(forecast.earliest),
    }


def _interval(interval: Interval) -> Answer:
    return {"value": interval.value, "low": interval.low, "high": interval.high}


def _plain(number: Decimal) -> str:
    return format(number, "f")
