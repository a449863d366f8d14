"""How the tables of the review are sorted and narrowed."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from fieldtui.core.account.basis import share_of, used_share
from fieldtui.core.account.bracket import points_in_doubt, readings_in_doubt
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record, Standing, held_limit
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import ReadSession, unproven_points, unproven_records
from fieldtui.ui.widgets.review.sheet import EVERY, Order, SheetRow, Which, which

_WORST_VERDICT = (
    Verdict.FAIL, Verdict.CONDITIONAL_FAIL, None, Verdict.CONDITIONAL_PASS, Verdict.PASS, Verdict.NOTED,
)  # fmt: skip
_WORST_STATE = (
    State.FAILED, State.OPEN, State.SKIPPED, State.INACCESSIBLE, State.WAIVED, State.RECORDED, State.PASSED,
)  # fmt: skip
_CHANGES = (
    ev.Voided, ev.RedoAsked, ev.Amended, ev.Renumbered, ev.Unfiled, ev.Erased, ev.ReadingsShifted,
    ev.SectionMirrored, ev.Released, ev.Waived, ev.Reworked, ev.DiscrepancyRaised, ev.PointInserted,
    ev.Reopened, ev.Recovered,
)  # fmt: skip
_CHECKS = (
    ev.NumberChecked, ev.StandardRead, ev.RunStarted, ev.Reconciled, ev.LeadChanged, ev.MeterTaken,
    ev.ClockStepped,
)  # fmt: skip
_NO_VALUE = (ev.AttemptFailed, ev.Skipped)


# --- readings --------------------------------------------------------------------------------


def _record(session: ReadSession, row: SheetRow) -> Record:
    return session.survey.records[row.at]


def record_share(survey: Survey, record: Record) -> Decimal | None:
    """The part of its limit that a reading's judged value uses; None where nothing is judged."""
    point = survey.points[record.point]
    limit = held_limit(point, retest=record.retest, celsius=survey.route.celsius)
    return used_share(limit, record.reading.ohms)


def _place(session: ReadSession, row: SheetRow) -> int | None:
    return session.survey.order.place.get(row.point)


def _record_margin(session: ReadSession, row: SheetRow) -> Decimal | None:
    share = record_share(session.survey, _record(session, row))
    return None if share is None else -share


def _record_verdict(session: ReadSession, row: SheetRow) -> int:
    record = _record(session, row)
    return _WORST_VERDICT.index(record.verdict if record.is_valid else None)


_ROUTE = ("route order", "from the start", "from the end")
_VALUE = ("value", "lowest first", "highest first")
_MARGIN = ("margin to the limit", "least first", "most first")
_TIME = ("time", "first taken first", "last taken first")
_VERDICT = ("verdict", "worst first", "best first")

READING_ORDERS = (
    Order(*_TIME, lambda session, row: row.at),
    Order(*_ROUTE, _place),
    Order(*_VALUE, lambda session, row: _record(session, row).reading.ohms),
    Order(*_MARGIN, _record_margin),
    Order(*_VERDICT, _record_verdict),
)


def _is_failed(record: Record) -> bool:
    return record.is_valid and record.verdict.is_failed


def _is_corrected(record: Record) -> bool:
    return record.is_valid and bool(record.changed_by)


def _in_doubt(session: ReadSession) -> Callable[[SheetRow], bool]:
    doubted = {doubt.record for doubt in readings_in_doubt(session.survey)}
    return lambda row: row.at in doubted


def _reading_unproven(session: ReadSession) -> Callable[[SheetRow], bool]:
    unproven = unproven_records(session)
    return lambda row: row.at in unproven


READING_WHICH = (
    EVERY,
    which("failed", lambda session, row: _is_failed(_record(session, row))),
    which("struck out", lambda session, row: not _record(session, row).is_valid),
    which("corrected", lambda session, row: _is_corrected(_record(session, row))),
    which("doubtful, confirmed", lambda session, row: bool(_record(session, row).reason)),
    which("retests", lambda session, row: _record(session, row).retest),
    Which("in doubt for the meter", _in_doubt),
    Which("unproven", _reading_unproven),
)


# --- points ----------------------------------------------------------------------------------


def _standing(session: ReadSession, row: SheetRow) -> Standing:
    return session.survey.standings[row.point]


def _left_value(session: ReadSession, row: SheetRow) -> Decimal | None:
    left = _standing(session, row).as_left
    return None if left is None else left.value.ohms


def _point_margin(session: ReadSession, row: SheetRow) -> Decimal | None:
    left, survey = _standing(session, row).as_left, session.survey
    share = share_of(survey.points[row.point], left, survey.route.celsius) if left is not None else None
    return None if share is None else -share


def _left_record(session: ReadSession, row: SheetRow) -> int | None:
    left = _standing(session, row).as_left
    return None if left is None else left.last.record


def _state(session: ReadSession, row: SheetRow) -> int:
    return _WORST_STATE.index(_standing(session, row).state)


POINT_ORDERS = (
    Order(*_ROUTE, _place),
    Order(*_VALUE, _left_value),
    Order(*_MARGIN, _point_margin),
    Order(*_TIME, _left_record),
    Order(*_VERDICT, _state),
)


def _in(*states: State) -> Which:
    return which(
        " or ".join(state.value for state in states),
        lambda session, row: _standing(session, row).state in states,
    )


def _point_in_doubt(session: ReadSession) -> Callable[[SheetRow], bool]:
    doubted = points_in_doubt(session.survey)
    return lambda row: row.point in doubted


def _point_unproven(session: ReadSession) -> Callable[[SheetRow], bool]:
    unproven = unproven_points(session)
    return lambda row: row.point in unproven


def _is_unverified(session: ReadSession, row: SheetRow) -> bool:
    point = session.survey.points[row.point]
    return any(limit is not None and limit.is_unverified for limit in (point.limit, point.retest))


POINT_WHICH = (
    EVERY,
    _in(State.FAILED),
    _in(State.OPEN, State.SKIPPED),
    _in(State.INACCESSIBLE, State.WAIVED),
    Which("in doubt for the meter", _point_in_doubt),
    Which("unproven", _point_unproven),
    which("to be taken again", lambda session, row: _standing(session, row).asked_again),
    which("read more than once", lambda session, row: len(_standing(session, row).records) > 1),
    which("limit unverified", _is_unverified),
    which("judged at 20 °C", lambda session, row: session.survey.points[row.point].correct_to_20),
    which("unplanned", lambda session, row: session.survey.points[row.point].unplanned),
)


# --- trail and checks ------------------------------------------------------------------------


def _event(session: ReadSession, row: SheetRow) -> ev.Event:
    return session.events[row.at - 1]


TRAIL_ORDERS = (
    Order("time", "first row first", "last row first", lambda session, row: row.at),
    Order(*_ROUTE, _place),
    Order("kind", "a to z", "z to a", lambda session, row: _event(session, row).kind),
)

TRAIL_WHICH = (
    EVERY,
    which("changes", lambda session, row: isinstance(_event(session, row), _CHANGES)),
    which("checks of numbers and meter", lambda session, row: isinstance(_event(session, row), _CHECKS)),
    which("skips and tries", lambda session, row: isinstance(_event(session, row), _NO_VALUE)),
    which("remarks", lambda session, row: bool(_event(session, row).note)),
)

CHECK_ORDERS = (Order("time", "first row first", "last row first", lambda session, row: row.at),)
CHECK_WHICH = (
    EVERY,
    which("what stands out", lambda session, row: row.is_loud),
    which("number checks", lambda session, row: isinstance(_event(session, row), ev.NumberChecked)),
    which("checks of the meter", lambda session, row: "standard" in row.cells[2]),
)
