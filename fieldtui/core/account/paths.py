"""Paths: points in series whose as-left values together have a limit of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce

from fieldtui.core.measurement.decision import conformance_probability
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Limit, PathLimit
from fieldtui.core.survey.standing import Result
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import EXACT, Verdict, expanded_uncertainty, judge_ohms
from fieldtui.core.verdict.temperature import judged_value


@dataclass(frozen=True, slots=True)
class PathResult:
    """A path as it stands: open, without value and verdict, while ``missing`` points have no value."""

    path: PathLimit
    value: Resistance | None
    verdict: Verdict | None
    missing: tuple[str, ...] = ()
    expanded: Decimal | None = None  # U of the sum in ohm, None where the meter states no accuracy
    probability: float | None = None  # that the true sum meets the limit (JCGM 106:2012 7.3)


def describe_path(result: PathResult) -> str:
    """``10.3 mΩ, fail against <= 10 mΩ``, or which values are missing."""
    if result.value is None or result.verdict is None:
        return f"no sum: no value at {', '.join(result.missing)}"
    return f"{result.value}, {result.verdict.value} against {result.path.limit}"


def judge_paths(survey: Survey) -> list[PathResult]:
    """Every path of the route, in its order, with the sum of the values that its points are judged by."""
    return [_judge(path, survey) for path in survey.route.paths]


def _judge(path: PathLimit, survey: Survey) -> PathResult:
    left = {point: survey.standings[point].as_left for point in path.points}
    missing = tuple(point for point, result in left.items() if result is None)
    results = [result for result in left.values() if result is not None]
    if missing or not results:
        return PathResult(path, None, None, missing)
    celsius = survey.conditions.celsius
    values = [
        judged_value(survey.points[point], result.value, celsius).value
        for point, result in zip(path.points, results, strict=True)
    ]
    ohms = reduce(EXACT.add, (value.ohms for value in values))
    step = min(value.resolution for value in values)
    total = Resistance(ohms.quantize(step, context=EXACT), Unit.OHM).to(values[0].unit)
    each = _each_expanded(survey, results)
    expanded = sum((one for one, _ in each), Decimal(0)) if each else None
    verdict = judge_ohms(path.limit, ohms, expanded)
    return PathResult(path, total, verdict, (), expanded, _probability(path.limit, ohms, each))


def _probability(limit: Limit, ohms: Decimal, each: Sequence[tuple[Decimal, Decimal]]) -> float | None:
    if not each or not limit.judges:
        return None
    standard = sum((expanded / coverage for expanded, coverage in each), Decimal(0))
    lower, upper = (None if bound is None else bound.ohms for bound in (limit.minimum, limit.maximum))
    return conformance_probability(ohms, standard, lower, upper)


def _each_expanded(survey: Survey, results: Sequence[Result]) -> list[tuple[Decimal, Decimal]]:
    """U and coverage factor of every value of a sum; none where a meter states no accuracy.

    A meter's error is the same in each of its readings, so the U add up. Those of two meters are
    added all the same: too much rather than too little.
    """
    found = []
    for result in results:
        accuracy = survey.conditions.of(result.last).accuracy
        if accuracy is None:
            return []
        step = max(record.reading.resolution for record in result.records)
        found.append((expanded_uncertainty(accuracy, result.value.ohms, step), accuracy.coverage))
    return found
