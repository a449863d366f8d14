"""What each point should read, before it is read: a log-mean and a spread.

Contact resistances vary by factors, not by steps, so everything here is the natural logarithm
of ohm. Floats are fine: nothing here ever becomes a digit of a reading.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import Enum
from itertools import pairwise

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Expected, Limit, Point, Route

# All in natural-log units; common practice, no source.
DEFAULT_SPREAD = 0.2  # between two surveys of one point, until earlier surveys show it
SMALLEST_SPREAD = 0.03  # display rounding and repeatability
FAMILY_SPREAD = 0.4  # between the members of a family with one member read so far
CONDUCTOR_LIFT, CONDUCTOR_SPREAD = 0.4, 0.5  # a bond reads about 1.5 x its bare conductor
LIMIT_DROP, LIMIT_SPREAD = 1.0, 1.0  # a sound bond reads somewhere below its limit
POPULATION_SPREAD = 0.5  # least spread of "some reading along this route"

# Share of readings that say nothing of their point: a failed bond, a bad contact. No source.
DEFAULT_STRAYS = 0.01
FEWEST_STRAYS = 0.005  # earlier surveys hold what was left behind, most strays put right by then

_POOLED_WEIGHT = 8.0  # how many differences the route's spread counts for against a point's own
_DEFAULT_WEIGHT = 4.0  # how many differences the default spread counts for against the route's
_STRAYS_WEIGHT = 100.0  # how many differences the default share of strays counts for
_FAR = 5.0  # robust spreads from which a difference is surely a stray
_STRAY = 3.0  # differences beyond this many robust spreads are repairs or slips, not spread


class Source(Enum):
    """Where an expectation comes from, best first. The value is the word on screens."""

    SURVEY = "last survey"
    BAND = "expected band"
    FAMILY = "family"
    CONDUCTOR = "conductor"
    LIMIT = "limit"
    NOTHING = "nothing known"

    @property
    def is_telling(self) -> bool:
        """Whether it can tell one point from its neighbour; a limit alone hardly can."""
        return self not in (Source.LIMIT, Source.NOTHING)


@dataclass(frozen=True, slots=True)
class Expectation:
    """What ``point`` should read: ``mean`` and ``spread`` of ln(reading in ohm)."""

    point: str
    section: str
    mean: float
    spread: float
    source: Source

    @property
    def ohms(self) -> float:
        """The middle of what is expected, in ohm; for showing, never for judging."""
        return math.exp(self.mean)


def expectations(
    route: Route,
    history: Mapping[str, Sequence[Resistance]],
    floors: Mapping[str, Decimal] | None = None,
) -> tuple[Expectation, ...]:
    """One expectation for each point of ``route``, in its order.

    Args:
        history: earlier readings by point id, oldest first, one a survey; zero readings are
            passed over. The last one gives the mean; differences between them the spread.
        floors: what a point's conductor alone must have, in ohm, by point id.
    """
    logs = _logs(route, history)
    pooled = pooled_spread([b - a for known in logs.values() for a, b in pairwise(known)])
    families: dict[str, dict[str, float]] = defaultdict(dict)
    for point in route.points:
        if point.family and point.id in logs:
            families[point.family][point.id] = logs[point.id][-1]
    drafts = [
        _from_survey(point, logs[point.id], pooled)
        if point.id in logs
        else _from_plan(point, list(families.get(point.family, {}).values()), pooled, (floors or {}))
        for point in route.points
    ]
    mean, spread = population(drafts)
    return tuple(
        replace(draft, mean=mean, spread=spread) if draft.source is Source.NOTHING else draft
        for draft in drafts
    )


def pooled_spread(differences: Sequence[float]) -> float:
    """The spread between two surveys, from ln differences of the same points.

    Strays beyond three robust spreads (median absolute value / 0.6745) are left out; with few
    differences the answer leans on :data:`DEFAULT_SPREAD`.
    """
    if not differences:
        return DEFAULT_SPREAD
    robust = _robust(differences)
    kept = [d for d in differences if abs(d) <= _STRAY * robust]
    squares = sum(d * d for d in kept) + _DEFAULT_WEIGHT * DEFAULT_SPREAD**2
    return max(math.sqrt(squares / (len(kept) + _DEFAULT_WEIGHT)), SMALLEST_SPREAD)


def stray_share(route: Route, history: Mapping[str, Sequence[Resistance]]) -> float:
    """Share of readings along ``route`` that will say nothing of their point, as earlier surveys show it.

    Differences between two surveys of one point are counted that are far beyond the others. Each
    stray makes one or two of them and is so counted high rather than low.

    Args:
        history: as for :func:`expectations`.
    """
    differences = [b - a for known in _logs(route, history).values() for a, b in pairwise(known)]
    robust = _robust(differences)
    far = sum(abs(difference) > _FAR * robust for difference in differences)
    share = (DEFAULT_STRAYS * _STRAYS_WEIGHT + far) / (_STRAYS_WEIGHT + len(differences))
    return max(share, FEWEST_STRAYS)


def population(plan: Sequence[Expectation]) -> tuple[float, float]:
    """Mean and spread of ln(ohm) for "some reading along this route"."""
    means = [e.mean for e in plan if e.source.is_telling] or [
        e.mean for e in plan if e.source is not Source.NOTHING
    ]
    if not means:
        return math.log(1e-3), 3.0  # nothing known at all: anything from microhm to ohm
    return statistics.fmean(means), max(statistics.pstdev(means), POPULATION_SPREAD)


def _logs(route: Route, history: Mapping[str, Sequence[Resistance]]) -> dict[str, list[float]]:
    """ln(ohm) of the earlier readings of each point that has any."""
    return {
        point.id: known
        for point in route.points
        if (known := [math.log(r.ohms) for r in history.get(point.id, ()) if r.ohms > 0])
    }


def _robust(differences: Sequence[float]) -> float:
    """The spread of differences around zero by their median, whatever the strays among them."""
    return max(statistics.median(map(abs, differences or [0.0])) / 0.6745, SMALLEST_SPREAD)


def _from_survey(point: Point, known: Sequence[float], pooled: float) -> Expectation:
    squares = sum((b - a) ** 2 for a, b in pairwise(known))
    count = len(known) - 1
    spread = math.sqrt((_POOLED_WEIGHT * pooled**2 + squares) / (_POOLED_WEIGHT + count))
    return Expectation(point.id, point.section, known[-1], max(spread, SMALLEST_SPREAD), Source.SURVEY)


def _from_plan(
    point: Point, family: Sequence[float], pooled: float, floors: Mapping[str, Decimal]
) -> Expectation:
    """For a point never read before: its band, its family, its conductor, its limit."""
    floor = floors.get(point.id, Decimal(0))
    if point.expected is not None and point.expected.high.ohms > 0:
        mean, spread, source = *_band(point.expected), Source.BAND
    elif family:
        between = statistics.pstdev(family) if len(family) > 1 else FAMILY_SPREAD
        mean, spread, source = statistics.fmean(family), math.hypot(between, pooled), Source.FAMILY
    elif floor > 0:
        mean, spread, source = math.log(floor) + CONDUCTOR_LIFT, CONDUCTOR_SPREAD, Source.CONDUCTOR
    else:
        mean, spread, source = _limit(point.limit)
    return Expectation(point.id, point.section, mean, spread, source)


def _band(expected: Expected) -> tuple[float, float]:
    """The band is read as two spreads either side; one open at zero reaches down a tenth."""
    high = math.log(expected.high.ohms)
    low = math.log(expected.low.ohms) if expected.low.ohms > 0 else high - math.log(10)
    return (low + high) / 2, max((high - low) / 4, SMALLEST_SPREAD)


def _limit(limit: Limit) -> tuple[float, float, Source]:
    if limit.maximum is not None and limit.maximum.ohms > 0:
        return math.log(limit.maximum.ohms) - LIMIT_DROP, LIMIT_SPREAD, Source.LIMIT
    if limit.minimum is not None and limit.minimum.ohms > 0:
        return math.log(limit.minimum.ohms) + LIMIT_DROP, LIMIT_SPREAD, Source.LIMIT
    return 0.0, LIMIT_SPREAD, Source.NOTHING
