"""Paths: points in series whose as-left values together have a limit of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce

from fieldtui.core.judging import EXACT, Verdict, expanded_uncertainty, judge_ohms
from fieldtui.core.ohms import Resistance, Unit
from fieldtui.core.route import PathLimit
from fieldtui.core.standing import Result
from fieldtui.core.survey import Survey
from fieldtui.core.temperature import judged_value


@dataclass(frozen=True, slots=True)
class PathResult:
    """A path as it stands: open, without value and verdict, while ``missing`` points have no value."""

    path: PathLimit
    value: Resistance | None
    verdict: Verdict | None
    missing: tuple[str, ...] = ()


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
    return PathResult(path, total, judge_ohms(path.limit, ohms, _expanded(survey, results)))


def _expanded(survey: Survey, results: Sequence[Result]) -> Decimal | None:
    """U of a sum of readings of one meter: its error is the same in each, so the U add up."""
    accuracy = survey.conditions.accuracy
    if accuracy is None:
        return None
    steps = [max(record.reading.resolution for record in result.records) for result in results]
    return sum(
        (expanded_uncertainty(accuracy, r.value.ohms, step) for r, step in zip(results, steps, strict=True)),
        Decimal(0),
    )
