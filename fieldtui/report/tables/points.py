"""The report's tables of points and of readings."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from datetime import UTC, datetime
from decimal import Decimal

from fieldtui.core.account.basis import Basis, basis_of, judged_of
from fieldtui.core.account.bracket import is_in_doubt, readings_in_doubt
from fieldtui.core.account.paths import PathResult, judge_paths
from fieldtui.core.plan.route import CriterionStatus, Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record, Result, Standing
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.temperature import lacks_temperature
from fieldtui.desk.reading import ReadSession, unproven_points, unproven_records
from fieldtui.report.basis_words import probability_words, two_figures
from fieldtui.report.charts.data import limit_of
from fieldtui.report.tables.table import Cell, Row, Table, chunked, columns, limit_words, lines
from fieldtui.report.told import let_stand_words, memory_words, meter_named, prober_of, remarks_on, rests_on
from fieldtui.report.unproven import UNPROVEN

CHUNK = 250  # rows of one table: a browser lays out many small ones sooner than one long one

_POINTS = columns(
    "Point:name", "What and where:wide", "Limit:long", "As found:long", "As left:long", "Verdict:short",
    "State:long",
)  # fmt: skip
_READINGS = columns(
    "Record:slim", "Time:clock", "Point:name", "Value:short", "Said:short", "Verdict:short", "Memory:short",
    "Remarks:wide", "By:long",
)  # fmt: skip
_PATHS = columns("Path:name", "What:wide", "Points in series:wide", "Limit:long", "Sum:long", "Verdict:short")
_MARKS = {CriterionStatus.UNVERIFIED: "UNVERIFIED", CriterionStatus.SECOND_HAND: "second-hand"}
# The states whose reason still stands; a reading taken since answers the others.
_REASONED = frozenset({State.OPEN, State.SKIPPED, State.INACCESSIBLE, State.WAIVED})
_LOUD = frozenset({State.OPEN, State.SKIPPED, State.FAILED, State.INACCESSIBLE})


# --- points ----------------------------------------------------------------------------------


def point_tables(session: ReadSession) -> Iterator[Table]:
    """Every point in walking order, a table for each stretch of a section."""
    survey, unproven = session.survey, unproven_points(session)
    titles = {section.id: section.title for section in survey.route.sections}
    doubts = {doubt.record: doubt.why for doubt in readings_in_doubt(survey)}
    rows = (
        (
            survey.points[point_id].section,
            _point(survey, point_id, doubts, is_unproven=point_id in unproven),
        )
        for point_id in survey.order.ids
    )
    for section, gathered in chunked(rows, CHUNK):
        title = titles.get(section, "")
        yield Table(f"{title} ({section})" if title else section or "No section", _POINTS, gathered)


def _point(survey: Survey, point_id: str, doubts: Mapping[int, str], *, is_unproven: bool) -> Row:
    point, standing = survey.points[point_id], survey.standings[point_id]
    found, left = standing.as_found, standing.as_left
    is_left_in_doubt = is_in_doubt(left, doubts)
    return Row(
        (
            lines(point.id, "unplanned" if point.unplanned else ""),
            lines(point.title, point.where, _places(point)),
            _limit(point, standing, survey.route.celsius),
            _found(survey, point, found, doubts),
            _left(survey, point, left),
            lines(
                left.verdict.value if left is not None else "none",
                UNPROVEN if is_unproven else "",
                "IN DOUBT" if is_left_in_doubt else "",
                let_stand_words(survey, left),
            ),
            _state(standing),
        ),
        is_loud=standing.state in _LOUD or is_left_in_doubt or is_unproven,
    )


def _places(point: Point) -> str:
    return f"{point.a or 'not given'} to {point.b or 'not given'}" if point.a or point.b else ""


def _limit(point: Point, standing: Standing, celsius: Decimal | None) -> Cell:
    limit, left = limit_of(point, standing), standing.as_left
    unit = left.value.unit if left is not None else point.unit
    first = lines(limit_words(point.limit, unit), point.limit.rule_words) if limit is not point.limit else ()
    return lines(
        limit_words(limit, unit),
        limit.rule_words,
        limit.criterion,
        _MARKS.get(limit.status, "") if limit.judges else "",
        f"at first {', '.join(first)}" if first else "",
        "judged as measured, no temperature taken" if lacks_temperature(point, celsius) else "",
    )


def _found(survey: Survey, point: Point, result: Result | None, doubts: Container[int]) -> Cell:
    if result is None:
        return ()
    judged = judged_of(point, result, survey.route.celsius)
    return lines(
        str(result.value),
        f"at 20 °C {judged.value}" if judged.is_corrected else "",
        f"{result.verdict.value}, {'IN DOUBT, ' if is_in_doubt(result, doubts) else ''}{_records(result)}",
    )


def _left(survey: Survey, point: Point, result: Result | None) -> Cell:
    if result is None:
        return ()
    basis = basis_of(point, result, survey.conditions)
    return lines(
        str(result.value),
        f"at 20 °C {basis.judged.value}" if basis.judged.is_corrected else "",
        *_basis_cell(basis),
        f"{'retest, ' if result.last.retest else ''}{_records(result)}",
    )


def _records(result: Result) -> str:
    return f"record {', '.join(str(record.record) for record in result.records)}"


def _basis_cell(basis: Basis) -> Cell:
    """``U 0.031 mΩ`` and how likely the value conforms; nothing where the meter states no accuracy."""
    unit, probability = basis.judged.measured.unit, basis.probability
    return lines(
        f"U {two_figures(basis.expanded, unit)}" if basis.expanded is not None else "",
        f"conforms with {probability_words(probability)}" if probability is not None else "",
    )


def _state(standing: Standing) -> Cell:
    return lines(
        standing.state.value,
        "to be taken again" if standing.asked_again and standing.as_left is not None else "",
        standing.reason if standing.state in _REASONED else "",
        f"discrepancy {standing.discrepancy}" if standing.discrepancy else "",
        f"tries without a value: {standing.attempts}" if standing.attempts else "",
    )


# --- paths -------------------------------------------------------------------------------------


def path_table(session: ReadSession) -> Table | None:
    """Paths of points in series with the sum of what was left; None where the route has none."""
    results, unproven = judge_paths(session.survey), unproven_points(session)
    rows = [_path(each, is_unproven=not unproven.isdisjoint(each.path.points)) for each in results]
    return Table("Paths", _PATHS, rows) if rows else None


def _path(result: PathResult, *, is_unproven: bool) -> Row:
    path, verdict = result.path, result.verdict
    return Row(
        (
            (path.id,),
            lines(path.title),
            (" + ".join(path.points),),
            lines(
                limit_words(path.limit, result.value.unit if result.value is not None else None),
                path.limit.rule_words,
                path.limit.criterion,
                _MARKS.get(path.limit.status, ""),
            ),
            _sum(result),
            lines(
                verdict.value if verdict is not None else State.OPEN.value,
                UNPROVEN if is_unproven else "",
                "IN DOUBT" if result.is_in_doubt else "",
            ),
        ),
        is_loud=verdict is None or verdict.is_failed or result.is_in_doubt or is_unproven,
    )


def _sum(result: PathResult) -> Cell:
    if result.value is None:
        return (f"no value: {', '.join(result.missing)}",)
    expanded, probability = result.expanded, result.probability
    return lines(
        str(result.value),
        f"U {two_figures(expanded, result.value.unit)}" if expanded is not None else "",
        f"conforms with {probability_words(probability)}" if probability is not None else "",
    )


# --- readings ----------------------------------------------------------------------------------


def reading_tables(session: ReadSession) -> Iterator[Table]:
    """Every reading in the order taken, void ones too, a table for each day (UTC)."""
    survey, unproven = session.survey, unproven_records(session)
    doubts = {doubt.record: doubt.why for doubt in readings_in_doubt(survey)}
    rows = (
        (
            day_of(record.time),
            _reading(session, record, doubts.get(number, ""), is_unproven=number in unproven),
        )
        for number, record in survey.records.items()
    )
    for day, gathered in chunked(rows, CHUNK):
        first, last = gathered[0].cells[0][0], gathered[-1].cells[0][0]
        yield Table(f"Records {first} to {last}, {day} (UTC)", _READINGS, gathered)


def _reading(session: ReadSession, record: Record, doubt: str, *, is_unproven: bool) -> Row:
    survey = session.survey
    verdict = record.verdict.value if record.is_valid else "VOID"
    return Row(
        (
            (str(record.record),),
            (clock_of(record.time),),
            (record.point,),
            (str(record.reading),),
            (record.said.value,),
            lines(verdict, UNPROVEN if is_unproven else "", "IN DOUBT" if doubt else ""),
            lines(memory_words(record.run, record.number)),
            (
                *rests_on(survey, record),
                *remarks_on(record),
                *lines(f"in doubt: {doubt}" if doubt else "", meter_named(session, record)),
            ),
            lines(record.by, f"probed: {prober_of(session, record)}"),
        ),
        is_loud=not record.is_valid or record.verdict.is_failed or bool(doubt) or is_unproven,
    )


def day_of(time: datetime) -> str:
    return time.astimezone(UTC).date().isoformat()


def clock_of(time: datetime) -> str:
    """``07:41:04``, with milliseconds where there are any."""
    utc = time.astimezone(UTC)
    return utc.time().isoformat("milliseconds" if utc.microsecond >= 1000 else "seconds")
