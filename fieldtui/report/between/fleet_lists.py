"""Which points of a fleet want looking at, worst first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fieldtui.core.account.basis import used_share
from fieldtui.core.between.trend import Trend
from fieldtui.desk.fleet import Fleet, FleetPoint

YEAR = 365.25  # days
_AGAIN = 2  # surveys that a point failed in


@dataclass(frozen=True, slots=True)
class Listed:
    """A point and what it is listed by: surveys failed, or a part of its limit."""

    point: FleetPoint
    measure: float


def failed_again(fleet: Fleet) -> list[Listed]:
    """The points that failed in two surveys or more, by how often."""
    return _listed(fleet, lambda each: each.counts.failed if each.counts.failed >= _AGAIN else None)


def nearest(fleet: Fleet) -> list[Listed]:
    """The points that were judged, by the part of the limit that the last value uses."""
    return _listed(fleet, lambda each: share_of_limit(each.trend))


def movers(fleet: Fleet) -> list[Listed]:
    """The points that move towards their limit and not by chance, by the part of it they use up in a year."""
    return _listed(fleet, lambda each: yearly_share(each.trend))


def share_of_limit(trend: Trend) -> float | None:
    """The part of its limit that the last value uses; above 1 it is beyond. None where there is no limit.

    It is the limit that judged the value: after a rework that may be another than the planned one.
    """
    share = used_share(trend.last.seen.limit, trend.last.reading.judged.ohms)
    return float(share) if share is not None else None


def yearly_share(trend: Trend) -> float | None:
    """The part of its limit that a point uses up in a year; None where it does not move towards it.

    Of a window it is a part of the half width, as :func:`used_share` has it.
    """
    limit, band = trend.last.seen.planned, trend.band
    if band is None or not band.slope.is_off_zero or not limit.judges:
        return None
    bound = limit.maximum if band.line.slope > 0 else limit.minimum
    if bound is None:
        return None
    whole = bound.ohms
    if limit.maximum is not None and limit.minimum is not None:
        whole = (limit.maximum.ohms - limit.minimum.ohms) / 2
    return abs(band.line.slope) * YEAR / float(whole) if whole else None


def _listed(fleet: Fleet, measure: Callable[[FleetPoint], float | None]) -> list[Listed]:
    points = [point for route in fleet.routes for point in route.points]
    found = [Listed(point, share) for point in points if (share := measure(point)) is not None]
    return sorted(found, key=lambda each: (-each.measure, each.point.counts.asset, each.point.counts.point))
