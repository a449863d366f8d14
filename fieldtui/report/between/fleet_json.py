"""The trends over a folder of sessions as ``trend FOLDER --json`` answers them.

Everything that ``trend SESSION... --json`` answers is there under the same names; the rest comes on top.
"""

from __future__ import annotations

from fieldtui.core.between.trend import CONFIDENCE
from fieldtui.core.text import visible
from fieldtui.desk.fleet import Fleet, FleetPoint, FleetRoute
from fieldtui.report.between.fleet_lists import (
    Listed,
    failed_again,
    movers,
    nearest,
    share_of_limit,
    yearly_share,
)
from fieldtui.report.between.history_json import Answer, source_as_json, trend_as_json


def fleet_as_json(fleet: Fleet, most: int) -> Answer:
    """Every point with its counts and trend; the lists name points, each at most ``most`` long."""
    return {
        "ok": True,
        "confidence": CONFIDENCE,
        "sessions": fleet.sessions,
        "routes": [_route(route) for route in fleet.routes],
        "failed_again": _names(failed_again(fleet), most),
        "nearest_to_limit": _names(nearest(fleet), most),
        "moving_to_limit": _names(movers(fleet), most),
        "read_singly": {visible(why): count for why, count in fleet.read_singly.items()},
        "left_out": [visible(why) for why in fleet.left_out],
    }


def _route(route: FleetRoute) -> Answer:
    return {
        "sessions": [source_as_json(source) for source in route.trends.sources],
        "notes": [visible(note) for note in route.trends.notes],
        "points": [_point(point) for point in route.points],
    }


def _point(point: FleetPoint) -> Answer:
    counts = point.counts
    return {
        "asset": visible(counts.asset),
        "route": visible(counts.route),
        "surveys": counts.surveys,
        "failed": counts.failed,
        "first": {"time": counts.first_time, "value": counts.first_value, "unit": counts.first_unit},
        "last": {"time": counts.last_time, "value": counts.last_value, "unit": counts.last_unit},
        "share_of_limit": share_of_limit(point.trend),
        "share_of_limit_a_year": yearly_share(point.trend),
        **trend_as_json(point.trend),
    }


def _names(listed: list[Listed], most: int) -> list[Answer]:
    return [
        {
            "asset": visible(each.point.counts.asset),
            "route": visible(each.point.counts.route),
            "point": visible(each.point.counts.point),
            "measure": each.measure,
        }
        for each in listed[:most]
    ]
