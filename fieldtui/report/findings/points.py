"""Exceptions that show in how the survey stands at its end: the brief, the points, the limits."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from decimal import Decimal

from fieldtui.core.account.basis import judged_of
from fieldtui.core.account.bracket import is_in_doubt, readings_in_doubt, short_takes
from fieldtui.core.account.closing import asked_words
from fieldtui.core.account.paths import describe_path, judge_paths
from fieldtui.core.measurement.voltage import VoltageReading
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.brief import ITEMS, STANDARD
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, Standing, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.trail.events import Answer
from fieldtui.report.findings.finding import Finding, Kind, place

_NAMED = 6  # point ids written out before "and N more"


def find_in_brief(survey: Survey) -> Iterator[Finding]:
    """Overrides, bad answers, and items nobody answered."""
    for item, answer in survey.brief.items():
        if answer.verdict is Answer.GOOD:
            continue
        kind = Kind.OVERRIDE if answer.verdict is Answer.OVERRIDE else Kind.BRIEF
        yield Finding(kind, f"{item}: {answer.note or 'not good'}", where="brief", reason=answer.reason)
    has_standard = survey.meters[0].instrument.check_standard is not None  # the brief was with the first
    wanted = [item for item in ITEMS if item != STANDARD or has_standard]
    missing = [item for item in wanted if item not in survey.brief]
    if missing:
        yield Finding(Kind.BRIEF, f"not answered: {', '.join(missing)}", where="brief")


def find_in_points(survey: Survey) -> Iterator[Finding]:
    """Points that failed or are not settled; limits that want a second look."""
    doubts = {doubt.record for doubt in readings_in_doubt(survey)}
    for point_id in survey.order.ids:
        point, standing = survey.points[point_id], survey.standings[point_id]
        yield from _find_in_point(point, standing, survey, doubts)
    yield from _find_short_takes(survey)
    yield from _find_in_paths(survey)
    yield from _find_unverified(survey)
    yield from _find_held_twice(survey)
    yield from _find_other_units(survey)


def _find_other_units(survey: Survey) -> Iterator[Finding]:
    """Readings that a correction or a move left in volt where ohm is read, or the other way round."""
    for record in survey.records.values():
        reading, point = record.reading, survey.points[record.point]
        current = reading.current_ma if isinstance(reading, VoltageReading) else None
        if record.is_valid and record.changed_by and current != point.current_ma:
            yield Finding(
                Kind.CONTRADICTION,
                f"{reading} stands where {point.keyed_in} is read: its take is put together by size alone",
                where=place(point=point.id, record=record.record, row=record.row),
                remedy="judge this point again by hand, or take it again",
            )


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


def _find_in_point(
    point: Point, standing: Standing, survey: Survey, doubts: Container[int]
) -> Iterator[Finding]:
    left, where, celsius = standing.as_left, place(point=point.id), survey.route.celsius
    match standing.state:
        case State.FAILED if left is not None:
            doubt = ", IN DOUBT" if is_in_doubt(left, doubts) else ""
            yield Finding(
                Kind.FAILED,
                f"{point.title}: {describe_result(point, left, celsius)}{doubt}",
                where=_where(point, left),
            )
        case State.OPEN | State.SKIPPED if left is None:
            yield Finding(Kind.UNSETTLED, _unsettled(point, standing), where=where, reason=standing.reason)
        case State.INACCESSIBLE:
            again = f"; {asked_words(survey, point.id)}" if left is not None else ""
            what = f"{point.title}: not measured{again}"
            yield Finding(Kind.INACCESSIBLE, what, where=where, reason=standing.reason)
        case _:
            pass
    if standing.asked_again and left is not None and standing.state not in (State.WAIVED, State.INACCESSIBLE):
        yield Finding(
            Kind.UNSETTLED,
            f"{point.title}: {standing.state.value}; {asked_words(survey, point.id)}",
            where=where,
            reason=standing.reason,
            remedy="take it again, or let what it reads stand for a reason",
        )
    found = standing.as_found
    if found is not None and left is not None and _has_turned(found, left):
        first, last = (describe_result(point, result, celsius) for result in (found, left))
        yield Finding(
            Kind.TURNED,
            f"{point.title}: first {first}; last {last}"
            + (", IN DOUBT" if is_in_doubt(left, doubts) else ""),
            where=_where(point, found),
        )


def _find_short_takes(survey: Survey) -> Iterator[Finding]:
    """Readings that hold and count for nothing, because their take lacks one."""
    for point_id, taken in short_takes(survey):
        point = survey.points[point_id]
        values = ", ".join(str(record.reading) for record in taken)
        numbers = ", ".join(str(record.record) for record in taken)
        yield Finding(
            Kind.INCOMPLETE,
            f"{point.title}: {values} (record {numbers}) is {len(taken)} of {point.repeats} readings of a "
            "take and gives no verdict",
            where=place(point=point_id, record=taken[-1].record, row=taken[-1].row),
            remedy="the verdict rests on another take; see whether that is the one that was wanted",
        )


def _find_in_paths(survey: Survey) -> Iterator[Finding]:
    """Paths whose sum fails, and paths that have none; each of their points may be as planned."""
    for result in judge_paths(survey):
        path = result.path
        paper = survey.ending.path_papers.get(path.id, "")
        told = f"{describe_path(result)}; paper {paper}" if paper else describe_path(result)
        what = f"path {path.id}, {path.title}: {told}"
        if result.verdict is None:
            yield Finding(Kind.UNSETTLED, what, where=some_points(list(result.missing)))
        elif result.verdict.is_failed:
            yield Finding(Kind.FAILED, what, where=some_points(list(path.points)))


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


def describe_result(point: Point, result: Result, celsius: Decimal | None) -> str:
    """``2.61 mΩ, fail against < 2.5 mΩ``: the value, the one judged where it is another, and the limit."""
    limit = limit_for(point, retest=result.last.retest)
    judged = judged_of(point, result, celsius)
    at_20 = f" ({judged.value} at 20 °C)" if judged.is_corrected else ""
    return f"{result.value}{at_20}, {result.verdict.value} against {limit.words(result.value.unit)}"


def _where(point: Point, result: Result) -> str:
    deciding = result.deciding
    return place(point=point.id, record=deciding.record, row=deciding.row)


def _find_unverified(survey: Survey) -> Iterator[Finding]:
    """Limits from memory that judged a reading or a path: one finding a limit, with its points."""
    for name, points in unverified_limits(survey).items():
        yield Finding(
            Kind.UNVERIFIED,
            f"{name} is from memory and judged readings of {counted(len(points), 'point')}",
            where=some_points(points),
            remedy="look the figure up in its source, or put the approved figure in its place",
        )


def unverified_limits(survey: Survey) -> dict[str, list[str]]:
    """Limits from memory that judged something, with the points judged by each."""
    judged: dict[Limit, dict[str, None]] = {}
    for point_id in survey.order.ids:
        for limit in _limits_used(survey, survey.points[point_id]):
            if limit.is_unverified:
                judged.setdefault(limit, {})[point_id] = None
    for result in judge_paths(survey):
        if result.verdict is not None and result.path.limit.is_unverified:
            judged.setdefault(result.path.limit, {}).update(dict.fromkeys(result.path.points))
    return {
        f"{limit.criterion} ({limit.figures})" if limit.criterion else limit.figures: list(points)
        for limit, points in judged.items()
    }


def _limits_used(survey: Survey, point: Point) -> Iterable[Limit]:
    records = (survey.records[number] for number in survey.standings[point.id].records)
    used = {limit_for(point, retest=record.retest): None for record in records if record.is_valid}
    return [limit for limit in used if not limit.record_only]


def some_points(points: Sequence[str]) -> str:
    """``point SW-07``, or ``points SW-07, SW-09`` and how many more."""
    more = len(points) - _NAMED
    tail = f" and {more} more" if more > 0 else ""
    return f"point{'s' if len(points) > 1 else ''} {', '.join(points[:_NAMED])}{tail}"
