"""What the report says of limits, uncertainty and trust: its front page and its budget."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from fieldtui.core.account.basis import accuracy_behind, share_of
from fieldtui.core.account.closing import STATEMENTS, holding_signature
from fieldtui.core.account.completeness import completeness
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import CriterionStatus, Limit, Point
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.survey.meters import meter_words
from fieldtui.core.survey.standing import Result
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.verdict.judging import lacks_accuracy
from fieldtui.desk.reading import ReadSession
from fieldtui.report.basis_words import STATUSES, rule_words, two_figures
from fieldtui.report.findings.finding import Finding, Kind
from fieldtui.report.tables.points import day_of
from fieldtui.report.tables.table import Row, Table, columns, limit_words, lines
from fieldtui.report.told import accuracy_words
from fieldtui.report.unproven import unproven_words

# What shakes the record as a whole stands on the front page.
_FRONT = frozenset(
    {
        Kind.TRAIL,
        Kind.TORN,
        Kind.REOPENED,
        Kind.CONTRADICTION,
        Kind.VERDICT,
        Kind.OVERRIDE,
        Kind.BRIEF,
        Kind.NO_METER,
        Kind.CALIBRATION,
        Kind.METER,
        Kind.SIMPLE,
        Kind.AS_MEASURED,
        Kind.COARSE,
        Kind.SIGNATURE,
        Kind.NOT_CLOSED,
    }
)
# Of these the front page says how many there are and names the first.
_FRONT_COUNTED = (
    Kind.IN_DOUBT,
    Kind.FAILED,
    Kind.NO_PAPER,
    Kind.AWAITED,
    Kind.UNSETTLED,
    Kind.INCOMPLETE,
    Kind.INACCESSIBLE,
)
_FRONT_NAMED = 3
_FRONT_ROWS = 8  # findings written out on the front page before "and N more"

_CRITERIA = columns(
    "Limit:long", "Criterion:wide", "Source:longer", "Status:longer", "Decision rule:long", "Used by:slim"
)
_BUDGET = columns(
    "Contribution:wide", "Half width or standard:longer", "Distribution:long", "Sensitivity:long",
    "Standard uncertainty:longer",
)  # fmt: skip


def front_findings(findings: Sequence[Finding]) -> list[str]:
    """The exceptions that shake the record as a whole, in a line each; those of points in a line a kind."""
    front = [finding for finding in findings if finding.kind in _FRONT]
    told = [
        f"{finding.kind.value}: {finding.what}" + (f"; reason: {finding.reason}" if finding.reason else "")
        for finding in front[:_FRONT_ROWS]
    ]
    more = len(front) - len(told)
    if more > 0:
        told.append(f"and {more} more, see the exceptions")
    return [*told, *_front_counted(findings)]


def _front_counted(findings: Sequence[Finding]) -> Iterator[str]:
    for kind in _FRONT_COUNTED:
        found = [finding for finding in findings if finding.kind is kind]
        if found:
            named = "; ".join(f"{each.what} [{each.where}]" for each in found[:_FRONT_NAMED])
            more = len(found) - _FRONT_NAMED
            yield f"{kind.value}, {len(found)}: {named}" + (f" and {more} more" if more > 0 else "")


# --- criteria ----------------------------------------------------------------------------------


def criteria_table(survey: Survey, criteria: Mapping[str, Criterion]) -> Table:
    """Every limit that the survey's points and paths are held to, with where it comes from."""
    used: Counter[Limit] = Counter()
    for point_id in survey.order.ids:
        used.update(_limits(survey.points[point_id]))
    used.update(path.limit for path in survey.route.paths)
    rows = [
        _criterion(limit, count, criteria.get(limit.criterion), _least_stated(survey))
        for limit, count in used.items()
    ]
    return Table("Limits of this survey and where they come from", _CRITERIA, rows)


def _least_stated(survey: Survey) -> Accuracy | None:
    """The accuracy of the meter in use; None where any meter of the session states none."""
    stated = [meter.instrument.accuracy for meter in survey.meters]
    return None if None in stated else stated[-1]


def _limits(point: Point) -> list[Limit]:
    """The limit of a point, and that of its retest where it is another one."""
    return list(dict.fromkeys([point.limit, point.retest or point.limit]))


def _criterion(limit: Limit, count: int, criterion: Criterion | None, accuracy: Accuracy | None) -> Row:
    number = str(count)
    if not limit.judges:
        return Row(((limit_words(limit),), ("no limit, nothing is judged",), (), (), (), (number,)))
    title = criterion.title if criterion is not None else ""
    clause = criterion.clause if criterion is not None else ""
    return Row(
        (
            (limit_words(limit),),
            lines(title, limit.criterion) or ("stated in the route",),
            lines(limit.source, clause),
            (STATUSES[limit.status],),
            lines(
                rule_words(limit.rule),
                "the meter states no accuracy: judged by simple acceptance"
                if lacks_accuracy(limit, accuracy)
                else "",
            ),
            (number,),
        ),
        is_loud=limit.status is CriterionStatus.UNVERIFIED,
    )


# --- uncertainty -------------------------------------------------------------------------------


def stated_accuracy(survey: Survey) -> str:
    """What is stated for every meter of the session; empty where nothing is."""
    stated = [(each.instrument, each.instrument.accuracy) for each in survey.meters]
    if len(stated) == 1:
        return accuracy_words(stated[0][1]) if stated[0][1] is not None else ""
    told = [f"{meter_words(m)}: {accuracy_words(a) if a is not None else 'NOT STATED'}" for m, a in stated]
    return "; ".join(told) if any(accuracy is not None for _, accuracy in stated) else ""


def budget_table(survey: Survey) -> Table | None:
    """The budget of the value that comes nearest to its limit; None where there is none to make."""
    nearest = _nearest(survey)
    if nearest is None:
        return None
    point, result = nearest
    accuracy = accuracy_behind(point, result, survey.conditions)
    if accuracy is None:
        return None
    budget = accuracy.budget(result.value)
    unit = result.value.unit
    rows = [
        Row(
            (
                (each.name,),
                (two_figures(each.half_width, unit),),
                (each.spread.value,),
                (str(each.sensitivity),),
                (two_figures(each.standard, unit),),
            )
        )
        for each in budget.contributions
    ]
    totals = (("combined", budget.standard), (f"expanded, k = {budget.coverage}", budget.expanded))
    rows += [Row(((name,), (), (), (), (two_figures(value, unit),)), is_loud=True) for name, value in totals]
    return Table(f"Budget of {point.id}: {result.value}, the value nearest to its limit", _BUDGET, rows)


def _nearest(survey: Survey) -> tuple[Point, Result] | None:
    found: tuple[Decimal, Point, Result] | None = None
    for point_id in survey.order.ids:
        point, standing = survey.points[point_id], survey.standings[point_id]
        left = standing.as_left
        share = share_of(point, left, survey.route.celsius) if left is not None else None
        if left is None or share is None:
            continue
        away = abs(share - 1)
        if found is None or away < found[0]:
            found = (away, point, left)
    return (found[1], found[2]) if found is not None else None


def signature_lines(survey: Survey) -> list[tuple[str, str, str, str, str]]:
    """Of each role: who signs what, then name, stamp and date where it is signed and still holds."""
    lines = []
    for role, statement in STATEMENTS.items():
        held = holding_signature(survey, role)
        event = held.event if held is not None else None
        told = (event.by, event.reason, day_of(event.time)) if event is not None else ("", "", "")
        mark = f"signed in row {held.row}" if held is not None else ""
        lines.append((f"{role.value.capitalize()}: {statement}", *told, mark))
    return lines


def summary_words(session: ReadSession, findings: Sequence[Finding]) -> str:
    """The survey in one sentence, in another whether it is complete, and in a third what is unproven."""
    survey, unproven = session.survey, unproven_words(session)
    points = f"{survey.settled} of {counted(len(survey.points), 'point')} settled"
    readings = counted(len(survey.records), "reading")
    words = completeness(survey)
    whole = f"{words[0].upper()}{words[1:]}"
    said = f"{points}, {readings}, {counted(len(findings), 'exception')}. {whole}."
    return f"{said} {unproven}." if unproven else said
