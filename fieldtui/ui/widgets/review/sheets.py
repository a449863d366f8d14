"""The tables of the review as plain cells: readings, points, trail. No widget, nothing judged here."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import fields
from datetime import UTC, datetime

from fieldtui.core.account.basis import basis_of, judged_of, share_words, used_words
from fieldtui.core.account.bracket import is_in_doubt, readings_in_doubt
from fieldtui.core.account.closing import asked_words
from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Record, Result, held_limit
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail.events import Event
from fieldtui.desk.reading import ReadSession, unproven_points, unproven_records
from fieldtui.report.basis_words import basis_lines
from fieldtui.report.charts.data import limit_of
from fieldtui.report.identity import Line
from fieldtui.report.rhythm import Beat, find_beats
from fieldtui.report.told import cell_text, let_stand_words, meter_named, prober_of, remarks_on, rests_on
from fieldtui.ui.phrases import STATES, VERDICTS, VOID, Mark, doubtful
from fieldtui.ui.widgets.review.orders import (
    CHECK_ORDERS,
    CHECK_WHICH,
    POINT_ORDERS,
    POINT_WHICH,
    READING_ORDERS,
    READING_WHICH,
    TRAIL_ORDERS,
    TRAIL_WHICH,
)
from fieldtui.ui.widgets.review.sheet import Sheet, SheetRow, columns_of

# What stands in brackets behind a limit; the review's help has the words.
RETEST_SIGN = "R"
RULE_SIGNS = {RuleKind.SIMPLE: "", RuleKind.GUARDED: "G", RuleKind.FOUR_STATES: "4"}

# --- readings ------------------------------------------------------------------------------


def _readings(session: ReadSession) -> list[SheetRow]:
    doubts = {doubt.record: doubt.why for doubt in readings_in_doubt(session.survey)}
    unproven = unproven_records(session)
    return [
        _reading(session, record, doubts.get(number, ""), is_unproven=number in unproven)
        for number, record in session.survey.records.items()
    ]


def _reading(session: ReadSession, record: Record, doubt: str, *, is_unproven: bool) -> SheetRow:
    survey, mark = session.survey, VERDICTS[record.verdict] if record.is_valid else VOID
    mark = doubtful(mark, is_in_doubt=bool(doubt) and record.is_valid, is_unproven=is_unproven)
    return SheetRow(
        (
            str(record.record),
            record.point,
            str(record.reading),
            _word(mark),
            _used(survey, record),
            _memory(record),
            "; ".join((*rests_on(survey, record), *remarks_on(record), *([doubt] if doubt else []))),
            _time(record.time),
            record.by,
            prober_of(session, record),
            meter_named(session, record),
            str(record.row),
        ),
        is_loud=not record.is_valid or record.verdict.is_failed or bool(doubt) or is_unproven,
        point=record.point,
        at=record.record,
    )


def _used(survey: Survey, record: Record) -> str:
    """``97 %``: how much of its limit a reading uses; empty where nothing is judged."""
    point, celsius = survey.points[record.point], survey.route.celsius
    return used_words(held_limit(point, retest=record.retest, celsius=celsius), record.reading.ohms)


def _memory(record: Record) -> str:
    return "" if record.number is None else f"{record.run}/{record.number}"


# --- points --------------------------------------------------------------------------------


def _points(session: ReadSession) -> list[SheetRow]:
    doubts = {doubt.record for doubt in readings_in_doubt(session.survey)}
    survey, unproven = session.survey, unproven_points(session)
    return [_point(survey, point, doubts, is_unproven=point in unproven) for point in survey.order.ids]


def _point(survey: Survey, point_id: str, doubts: Container[int], *, is_unproven: bool) -> SheetRow:
    point, standing = survey.points[point_id], survey.standings[point_id]
    left = standing.as_left
    doubt = is_in_doubt(left, doubts)
    mark = doubtful(STATES[standing.state], is_in_doubt=doubt, is_unproven=is_unproven)
    again = asked_words(survey, point_id) if standing.asked_again else ""
    return SheetRow(
        (
            point.id,
            _word(mark),
            _value(survey, point, standing.as_found),
            _value(survey, point, standing.as_left),
            share_words(point, left, survey.route.celsius) if left is not None else "",
            _limit(point, limit_of(point, standing)),
            point.title,
            point.section,
            point.where,
            point.a,
            point.b,
            "; ".join(filter(None, (standing.reason, again, let_stand_words(survey, standing.as_left)))),
            " ".join(map(str, standing.records)),
            "unplanned" if point.unplanned else "",
        ),
        is_loud=doubt or is_unproven or mark.word.isupper(),
        point=point.id,
    )


def _limit(point: Point, limit: Limit) -> str:
    """``< 2.5 mΩ [R4] (equipment-frame)``: the limit that judged, and in brackets the signs of what it is.

    In the table's width a low screen has room for no more; the row in full has the words.
    """
    signs = RETEST_SIGN if limit is point.retest else ""
    signs += RULE_SIGNS[limit.rule.kind] if limit.judges else ""
    return " ".join(filter(None, (limit.figures, f"[{signs}]" if signs else "", _criterion(limit))))


def _limit_in_full(point: Point, limit: Limit) -> str:
    rework = "after rework " if limit is point.retest else ""
    figures = f"{rework}{', '.join(filter(None, (limit.figures_in(point.unit), limit.rule_words)))}"
    return " ".join(filter(None, (figures, _criterion(limit))))


def _criterion(limit: Limit) -> str:
    told = ", ".join(filter(None, (limit.criterion, "UNVERIFIED" if limit.is_unverified else "")))
    return f"({told})" if told else ""


def _rests_on(session: ReadSession, row: SheetRow) -> Sequence[Line]:
    """What the verdict of the marked point rests on; for thousands of points at once it would take long."""
    survey = session.survey
    point, standing = survey.points[row.point], survey.standings[row.point]
    left, limit = standing.as_left, ("limit", _limit_in_full(point, limit_of(point, standing)))
    if left is None:
        return [limit]
    found = dict(basis_lines(point, basis_of(point, left, survey.conditions)))
    in_paths = [path.id for path in survey.route.paths if point.id in path.points]
    if in_paths:
        found["paths"] = ", ".join(in_paths)
    # The likeliest to be asked for first: a low screen shows only some lines of this.
    wanted = ("conforms", "judged", "paths", "U", "rule")
    return [limit, *((label, found[label]) for label in wanted if label in found)]


def _value(survey: Survey, point: Point, result: Result | None) -> str:
    if result is None:
        return ""
    judged = judged_of(point, result, survey.route.celsius)
    return f"{result.value}, at 20 °C {judged.value}" if judged.is_corrected else str(result.value)


# --- trail ---------------------------------------------------------------------------------


def _trail(session: ReadSession) -> list[SheetRow]:
    records = session.survey.records
    return [_event(row, event, _point_of(event, records)) for row, event in enumerate(session.events, 1)]


def _point_of(event: Event, records: Mapping[int, Record]) -> str:
    """The point that a row names, or where the record it names stands now."""
    point, ref = getattr(event, "point", None), getattr(event, "ref", None)
    record = records.get(ref) if isinstance(ref, int) and not point else None
    return point or (record.point if record is not None and event.kind != "number" else "")


_IN_ORDER = ("point", "record", "reading", "verdict", "run", "number", "ref", "reason", "note", "by")


def _event(row: int, event: Event, point: str) -> SheetRow:
    names = {each.name for each in fields(event)}
    note = "definition" if "definition" in names else "note"
    cells = [
        cell_text(getattr(event, note if name == "note" else name)) if name in names else ""
        for name in _IN_ORDER
    ]
    return SheetRow((str(row), _time(event.time), event.kind, *cells), point=point, at=row)


# --- checks --------------------------------------------------------------------------------


def _checks(session: ReadSession) -> list[SheetRow]:
    return [_check(beat) for beat in find_beats(session)]


def _check(beat: Beat) -> SheetRow:
    event = beat.event
    return SheetRow(
        (
            str(beat.row),
            _time(event.time),
            beat.what,
            str(beat.record) if beat.record else "none yet",
            beat.told,
            beat.expected,
            beat.answer,
            getattr(event, "reason", ""),
            event.note,
            event.by,
        ),
        is_loud=beat.is_loud,
        at=beat.row,
    )


def _time(time: datetime) -> str:
    return time.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S")


def _word(mark: Mark) -> str:
    return f"{mark.shape} {mark.word}"


READINGS = Sheet(
    "readings",
    columns_of(
        ("rec", 5), ("point", 10), ("value", 13), ("verdict", 17), ("of limit", 8), ("memory", 8),
        ("remarks", 26), ("time UTC", 19), ("by", 12), ("prober", 12), ("meter", 14), ("row", 6),
    ),
    _readings,
    READING_ORDERS,
    READING_WHICH,
)  # fmt: skip
POINTS = Sheet(
    "points",
    columns_of(
        ("point", 9), ("state", 18), ("as found", 9), ("as left", 9), ("of limit", 8),
        ("limit", 28, "limit []: F1"), ("title", 30), ("section", 10), ("where", 20), ("A", 20), ("B", 20),
        ("reason", 26), ("records", 12), ("", 9),
    ),
    _points,
    POINT_ORDERS,
    POINT_WHICH,
    _rests_on,
    further_at=6,
)  # fmt: skip
TRAIL = Sheet(
    "trail",
    columns_of(
        ("row", 5), ("time UTC", 19), ("kind", 9), ("point", 9), ("rec", 4), ("value", 12), ("verdict", 8),
        ("run", 3), ("number", 6), ("ref", 12), ("reason", 26), ("note", 40), ("by", 12),
    ),
    _trail,
    TRAIL_ORDERS,
    TRAIL_WHICH,
)  # fmt: skip
CHECKS = Sheet(
    "checks",
    columns_of(
        ("row", 5), ("time UTC", 19), ("what", 15), ("after rec", 9), ("read out", 14), ("expected", 8),
        ("answer", 8), ("reason", 26), ("note", 30), ("by", 12),
    ),
    _checks,
    CHECK_ORDERS,
    CHECK_WHICH,
)  # fmt: skip
SHEETS: Sequence[Sheet] = (READINGS, POINTS, TRAIL, CHECKS)
