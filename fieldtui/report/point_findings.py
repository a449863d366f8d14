"""Exceptions that show in how the survey stands at its end: the brief, the points, the limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fieldtui.core.brief import ITEMS, STANDARD
from fieldtui.core.events import Answer
from fieldtui.core.position import State
from fieldtui.core.route import CriterionStatus, Limit, Point
from fieldtui.core.standing import Result, Standing, limit_for
from fieldtui.core.survey import Survey
from fieldtui.report.finding import Finding, Kind, counted, place

_NAMED = 6  # point ids written out before "and N more"


def find_in_brief(survey: Survey) -> Iterator[Finding]:
    """Overrides, bad answers, and items nobody answered."""
    for item, answer in survey.brief.items():
        if answer.verdict is Answer.GOOD:
            continue
        kind = Kind.OVERRIDE if answer.verdict is Answer.OVERRIDE else Kind.BRIEF
        yield Finding(kind, f"{item}: {answer.note or 'not good'}", where="brief", reason=answer.reason)
    wanted = [item for item in ITEMS if item != STANDARD or survey.instrument.check_standard is not None]
    missing = [item for item in wanted if item not in survey.brief]
    if missing:
        yield Finding(Kind.BRIEF, f"not answered: {', '.join(missing)}", where="brief")


def find_in_points(survey: Survey) -> Iterator[Finding]:
    """Points that failed or are not settled; limits that want a second look."""
    for point_id in survey.order.ids:
        point, standing = survey.points[point_id], survey.standings[point_id]
        yield from _find_in_point(point, standing)
    yield from _find_unverified(survey)
    yield from _find_held_twice(survey)


def _find_held_twice(survey: Survey) -> Iterator[Finding]:
    """Memory numbers under which the record has several readings: at most one of them can be right."""
    held: dict[tuple[int, int], list[int]] = {}
    for record in survey.records.values():
        if record.run is not None and record.number is not None:
            held.setdefault((record.run, record.number), []).append(record.record)
    for (run, number), records in held.items():
        if len(records) > 1:
            yield Finding(
                Kind.HELD_TWICE,
                f"memory number {number} of run {run} is held by records {', '.join(map(str, records))}",
                where=place(record=records[0]),
                remedy="reconcile with the meter's memory list",
            )


def _find_in_point(point: Point, standing: Standing) -> Iterator[Finding]:
    left, where = standing.as_left, place(point=point.id)
    match standing.state:
        case State.FAILED if left is not None:
            yield Finding(
                Kind.FAILED, f"{point.title}: {describe_result(point, left)}", where=_where(point, left)
            )
        case State.OPEN | State.SKIPPED:
            yield Finding(Kind.UNSETTLED, _unsettled(point, standing), where=where, reason=standing.reason)
        case State.INACCESSIBLE:
            yield Finding(
                Kind.INACCESSIBLE, f"{point.title}: not measured", where=where, reason=standing.reason
            )
        case _:
            pass
    found = standing.as_found
    if found is not None and left is not None and _has_turned(found, left):
        yield Finding(
            Kind.TURNED,
            f"{point.title}: first {describe_result(point, found)}; last {describe_result(point, left)}",
            where=_where(point, found),
        )


def _has_turned(found: Result, left: Result) -> bool:
    return found.verdict.is_failed and not left.verdict.is_failed


def _unsettled(point: Point, standing: Standing) -> str:
    what = f"{point.title}: {standing.state.value}"
    taken = len(standing.records)
    if taken:
        what += f", {counted(taken, 'reading')} taken but no complete take that holds"
    if standing.attempts:
        what += f", {counted(standing.attempts, 'try', 'tries')} without a value"
    return what


def describe_result(point: Point, result: Result) -> str:
    """``2.61 mΩ, fail against < 2.5 mΩ``: the value and the limit that judged it."""
    limit = limit_for(point, retest=result.last.retest)
    return f"{result.value}, {result.verdict.value} against {limit}"


def _where(point: Point, result: Result) -> str:
    deciding = result.deciding
    return place(point=point.id, record=deciding.record, row=deciding.row)


def _find_unverified(survey: Survey) -> Iterator[Finding]:
    """Limits from memory that judged a reading: one finding a limit, with its points."""
    judged: dict[Limit, list[str]] = {}
    for point_id in survey.order.ids:
        point = survey.points[point_id]
        for limit in _limits_used(survey, point):
            if limit.status is CriterionStatus.UNVERIFIED:
                judged.setdefault(limit, []).append(point_id)
    for limit, points in judged.items():
        name = f"{limit.criterion} ({limit})" if limit.criterion else str(limit)
        yield Finding(
            Kind.UNVERIFIED,
            f"{name} is from memory and judged readings of {counted(len(points), 'point')}",
            where=_some(points),
            remedy="look the figure up in its source, or put the approved figure in its place",
        )


def _limits_used(survey: Survey, point: Point) -> Iterable[Limit]:
    records = (survey.records[number] for number in survey.standings[point.id].records)
    used = {limit_for(point, retest=record.retest): None for record in records if record.is_valid}
    return [limit for limit in used if not limit.record_only]


def _some(points: list[str]) -> str:
    more = len(points) - _NAMED
    tail = f" and {more} more" if more > 0 else ""
    return f"point{'s' if len(points) > 1 else ''} {', '.join(points[:_NAMED])}{tail}"
