"""``results.csv``: one row a point, for spreadsheets and for whoever takes the survey over.

RFC 4180 but for the line end, which is LF as in the trail: one habit for both files, and every
spreadsheet reads it. Cells that a spreadsheet would run carry an apostrophe (CWE-1236).
"""

from __future__ import annotations

import csv
import io
from decimal import Context, Decimal

from fieldtui.core.account.basis import Basis, basis_of
from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.inserted import format_limit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.meters import meter_of, meter_words
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, Standing, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import neutral, visible
from fieldtui.core.verdict.judging import judge_ohms
from fieldtui.core.verdict.rounding import FINEST, round_to
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.files.fleet.folders import IN_DOUBT, UNPROVEN
from fieldtui.files.trail.rows import format_time
from fieldtui.report.told import let_stand_words, prober_of

COLUMNS = (
    "point", "section", "title", "where", "a", "b", "limit", "as_found", "as_found_record",
    "as_left", "as_left_record", "unit", "verdict", "state", "reason", "run", "number", "time", "by",
    "judged", "celsius", "probed_by", "meter", "in_doubt", "decision", "guard",
    "expanded_u", "judged_u",
)  # fmt: skip

_U_DIGITS = Context(prec=4)  # more than the two that are shown: enough to work a verdict out again

# The states whose reason still stands; a reading taken since answers the others.
_REASONED = frozenset({State.OPEN, State.SKIPPED, State.INACCESSIBLE, State.WAIVED})


def format_results(session: ReadSession) -> bytes:
    """The results as UTF-8 CSV, points in walking order.

    ``as_found`` and ``as_left`` are in ``unit``, digits as keyed. A take of several readings names
    all its records; ``run``, ``number``, ``time`` (UTC) and ``by`` are those of the last of them.
    ``judged`` is the value held against the limit, in ``unit``: that at 20 C where the route asks
    for it, and then ``celsius`` is the temperature of the measurement; else as measured.
    ``probed_by`` and ``meter`` are those of the same reading as ``by``. ``in_doubt`` says what keeps the
    verdict from being relied on: ``in doubt`` where a failed check of the meter reaches it, ``to be taken
    again`` where that was asked for and not done, ``let stand: `` with the reason where it stands in spite
    of either, ``unproven`` where the trail is broken and what the row says does not follow from what stands
    before the break; empty for a plain verdict of a proven reading. ``decision`` and ``guard`` are the
    limit's decision rule and the factor of its guard band, as on a route and in a list of points, and
    ``expanded_u`` is U of the value as left, as measured, in ``unit``; ``judged_u`` is that of ``judged``,
    another one at 20 C. ``judged`` and ``judged_u`` have digits enough for the verdict to be worked out from
    them. Where both U are empty the meter states no accuracy, and every rule is simple acceptance.
    """
    survey = session.survey
    doubted, unproven = points_in_doubt(survey), unproven_points(session)
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for point in survey.order.ids:
        cells = _cells(survey.points[point], survey.standings[point])
        left = survey.standings[point].as_left
        cells["probed_by"] = prober_of(session, left.last) if left is not None else ""
        cells["meter"] = meter_words(meter_of(survey.meters, left.last)) if left is not None else ""
        cells["in_doubt"] = _doubt(survey, point, is_in_doubt=point in doubted, is_unproven=point in unproven)
        cells |= _rule(survey, survey.points[point], survey.standings[point])
        cells |= _judged(survey, survey.points[point], left)
        writer.writerow([neutral(visible(cells[column])) for column in COLUMNS])
    return text.getvalue().encode()


def _doubt(survey: Survey, point: str, *, is_in_doubt: bool, is_unproven: bool) -> str:
    standing = survey.standings[point]
    is_asked = standing.asked_again and standing.as_left is not None
    words = [IN_DOUBT if is_in_doubt else "", "to be taken again" if is_asked else ""]
    unproven = UNPROVEN if is_unproven else ""
    return "; ".join(filter(None, (*words, let_stand_words(survey, standing.as_left), unproven)))


def _judged(survey: Survey, point: Point, left: Result | None) -> dict[str, str]:
    """The value judged, its U and the temperature, in the point's unit, with digits enough for the verdict.

    A value that stands beside the limit less its guard band is told finer than elsewhere: rounded, it and
    its U could give another verdict than they do.
    """
    basis = basis_of(point, left, survey.conditions) if left is not None else None
    if basis is None or not basis.limit.judges:
        return {"judged": "", "judged_u": "", "celsius": _celsius(basis)}
    told, expanded = basis.judged.value.ohms, basis.judged_expanded
    verdict = judge_ohms(basis.limit, basis.ohms, expanded)
    step, finer = Decimal(1).scaleb(int(told.as_tuple().exponent)), 0
    used = _U_DIGITS.plus(expanded) if expanded is not None else None
    while judge_ohms(basis.limit, told, used) is not verdict and finer < FINEST:
        finer += 1
        told = round_to(basis.ohms, step.scaleb(-finer))
        used = Context(prec=_U_DIGITS.prec + finer).plus(expanded) if expanded is not None else None
    return {
        "judged": Resistance(told, Unit.OHM).to(point.unit).digits,
        "judged_u": Resistance(used, Unit.OHM).to(point.unit).digits if used is not None else "",
        "celsius": _celsius(basis),
    }


def _celsius(basis: Basis | None) -> str:
    return str(basis.judged.celsius) if basis is not None and basis.judged.is_corrected else ""


def _rule(survey: Survey, point: Point, standing: Standing) -> dict[str, str]:
    """How uncertainty counts for the limit, in the words of a list of points, and U."""
    left = standing.as_left
    limit = limit_for(point, retest=left.last.retest if left is not None else standing.retest)
    expanded = basis_of(point, left, survey.conditions).expanded if left is not None else None
    in_unit = Resistance(expanded, Unit.OHM).to(point.unit).value if expanded is not None else None
    is_banded = limit.judges and limit.rule.kind is not RuleKind.SIMPLE
    return {
        "decision": limit.rule.kind.value if limit.judges else "",
        "guard": f"{limit.rule.factor:f}" if is_banded else "",
        "expanded_u": f"{_U_DIGITS.plus(in_unit):f}" if in_unit is not None else "",
    }


def _cells(point: Point, standing: Standing) -> dict[str, str]:
    found, left = standing.as_found, standing.as_left
    last = left.last if left is not None else None
    limit = limit_for(point, retest=last.retest if last is not None else standing.retest)
    return {
        "point": point.id,
        "section": point.section,
        "title": point.title,
        "where": point.where,
        "a": point.a,
        "b": point.b,
        "limit": describe_limit(limit),
        "as_found": _digits(found, point),
        "as_found_record": _records(found),
        "as_left": _digits(left, point),
        "as_left_record": _records(left),
        "unit": point.unit.value,
        "verdict": left.verdict.value if left is not None else "",
        "state": standing.state.value,
        "reason": standing.reason if standing.state in _REASONED else "",
        "run": _whole(last.run if last is not None else None),
        "number": _whole(last.number if last is not None else None),
        "time": format_time(last.time) if last is not None else "",
        "by": last.by if last is not None else "",
    }


def describe_limit(limit: Limit) -> str:
    """The limit as text, with its criterion: ``< 2.5 mohm (equipment-frame)``, UNVERIFIED where it is so."""
    said = [limit.criterion, "UNVERIFIED" if limit.is_unverified else ""]
    told = ", ".join(filter(None, said))
    return f"{format_limit(limit)} ({told})" if told else format_limit(limit)


def _digits(result: Result | None, point: Point) -> str:
    return result.value.to(point.unit).digits if result is not None else ""


def _records(result: Result | None) -> str:
    return " ".join(str(record.record) for record in result.records) if result is not None else ""


def _whole(number: int | None) -> str:
    return "" if number is None else str(number)
