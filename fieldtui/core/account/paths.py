"""Paths: points in series whose as-left values together have a limit of their own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import reduce

from fieldtui.core.account.basis import accuracy_behind, exact_ohms, judged_of
from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.measurement.decision import conformance_probability
from fieldtui.core.measurement.ohms import EXACT, Resistance, Unit
from fieldtui.core.plan.conductors import metal_of, to_20_by_alpha
from fieldtui.core.plan.route import Limit, PathLimit, Point
from fieldtui.core.survey.standing import Result
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict, judge_ohms
from fieldtui.core.verdict.rounding import round_beside
from fieldtui.core.verdict.temperature import is_corrected


@dataclass(frozen=True, slots=True)
class PathResult:
    """A path as it stands: open, without value and verdict, while ``missing`` points have no value."""

    path: PathLimit
    value: Resistance | None
    verdict: Verdict | None
    missing: tuple[str, ...] = ()
    expanded: Decimal | None = None  # U of the sum in ohm, None where the meter states no accuracy
    probability: float | None = None  # that the true sum meets the limit (JCGM 106:2012 7.3)
    is_in_doubt: bool = False  # a reading that it rests on is in doubt for the meter


def describe_path(result: PathResult) -> str:
    """``10.3 mΩ, fail against <= 10 mΩ``, with IN DOUBT where it is; or which values are missing."""
    if result.value is None or result.verdict is None:
        return f"no sum: no value at {', '.join(result.missing)}"
    doubt = " IN DOUBT" if result.is_in_doubt else ""
    limit = result.path.limit.words(result.value.unit)
    return f"{result.value}, {result.verdict.value}{doubt} against {limit}"


def judge_paths(survey: Survey) -> list[PathResult]:
    """Every path of the route, in its order, with the sum of the values that its points are judged by."""
    doubted = points_in_doubt(survey) if survey.route.paths else frozenset[str]()
    found = [_judge(path, survey) for path in survey.route.paths]
    return [replace(each, is_in_doubt=not doubted.isdisjoint(each.path.points)) for each in found]


def _judge(path: PathLimit, survey: Survey) -> PathResult:
    left = {point: survey.standings[point].as_left for point in path.points}
    missing = tuple(point for point, result in left.items() if result is None)
    results = [result for result in left.values() if result is not None]
    if missing or not results:
        return PathResult(path, None, None, missing)
    celsius = survey.conditions.celsius
    behind = [(survey.points[point], result) for point, result in zip(path.points, results, strict=True)]
    shown = [judged_of(point, result, celsius).value for point, result in behind]
    # What is shown of a mean, and at 20 C, is rounded: many of them in a row would be a digit off.
    ohms = reduce(EXACT.add, (_at_20(point, exact_ohms(point, result), celsius) for point, result in behind))
    step = min(value.resolution for value in shown)
    total = Resistance(round_beside(path.limit, ohms, step), Unit.OHM).to(shown[0].unit)
    each = _each_expanded(survey, behind)
    expanded = reduce(EXACT.add, (one for one, _ in each)) if each else None
    verdict = judge_ohms(path.limit, ohms, expanded)
    return PathResult(path, total, verdict, (), expanded, _probability(path.limit, ohms, each))


def _probability(limit: Limit, ohms: Decimal, each: Sequence[tuple[Decimal, Decimal]]) -> float | None:
    if not each or not limit.judges:
        return None
    standard = sum((expanded / coverage for expanded, coverage in each), Decimal(0))
    lower, upper = (None if bound is None else bound.ohms for bound in (limit.minimum, limit.maximum))
    return conformance_probability(ohms, standard, lower, upper)


def _at_20(point: Point, ohms: Decimal, celsius: Decimal | None) -> Decimal:
    """A value measured at ``celsius``, or its U, as it would be at 20 C where ``point`` is judged so."""
    if celsius is None or not is_corrected(point, celsius):
        return ohms
    return to_20_by_alpha(ohms, celsius, metal_of(point))


def _each_expanded(survey: Survey, behind: Iterable[tuple[Point, Result]]) -> list[tuple[Decimal, Decimal]]:
    """U and coverage factor of every value of a sum; none where a meter states no accuracy.

    A meter's error is the same in each of its readings, so the U add up. Those of two meters are
    added all the same: too much rather than too little. A value corrected to 20 C has its U corrected too.
    """
    found = []
    for point, result in behind:
        accuracy = accuracy_behind(point, result, survey.conditions)
        if accuracy is None:
            return []
        expanded = accuracy.expanded(result.value)
        found.append((_at_20(point, expanded, survey.conditions.celsius), accuracy.coverage))
    return found
