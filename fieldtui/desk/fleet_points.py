"""Rows of the fleet's queries as points that trends are made of, and back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from fieldtui.core.between.history import Reading, Seen, reading_of, seen_at, value_at_20
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.inserted import NotADefinitionError, parse_limit
from fieldtui.core.plan.route import CriterionStatus, Point
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record, Result
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.sources import Source
from fieldtui.desk.workspace import slug
from fieldtui.files.fleet.engine import SettledRow
from fieldtui.files.trail.rows import RowError, format_time, parse_reading, parse_time

_NAME = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})_([a-z0-9-]+)_([a-z0-9-]+)_[0-9]{2,4}", re.ASCII)
UNVERIFIED_WORD = "UNVERIFIED"  # after the criterion in a limit's cell of results.csv
_VERDICTS = {verdict.value: verdict for verdict in Verdict}


class CannotFollowError(ValueError):
    """The queries' answer on a session cannot be used; the message says why."""


def seen_in_trail(facts: Session, rows: Sequence[SettledRow]) -> list[Seen]:
    """What a survey left at its points, in walking order.

    Raises:
        CannotFollowError: a row says what no trail of this route says.
    """
    by_point = {row.point: row for row in rows}
    points = facts.route.by_id
    if not by_point.keys() <= points.keys():
        raise CannotFollowError("it has readings of points that are not on its route")
    return [
        _seen(points[name], by_point[name], _reading_of(facts, points[name], _result(by_point[name])))
        for name in points
        if name in by_point
    ]


def _reading_of(facts: Session, point: Point, result: Result) -> Reading:
    at_20 = value_at_20(point, result, facts.route.celsius)
    return reading_of(result, None, facts.instrument.accuracy, at_20)


def _seen(point: Point, row: SettledRow, reading: Reading) -> Seen:
    state = State.FAILED if reading.verdict.is_failed else State.PASSED
    reading = replace(reading, has_failed=bool(row.has_failed))
    return seen_at(point, state, reading, retest=bool(row.is_retest))


def _result(row: SettledRow) -> Result:
    reading, verdict, when = _value(row), _verdict(row), _time(row)
    record = Record(
        record=row.record,
        row=0,
        time=when,
        by="",
        point=row.point,
        reading=reading,
        said=verdict,
        verdict=verdict,
        take=1,
        retest=bool(row.is_retest),
    )
    return Result((record,), reading, verdict)


def seen_in_results(row: SettledRow) -> Seen:
    """One row of a results.csv that stands alone.

    Raises:
        CannotFollowError: a cell of it cannot be understood.
    """
    value = _value(row)
    reading = reading_of(_result(row), None, None)
    figures, _, told = (row.limit_text or "").partition(" (")
    try:
        limit = parse_limit(figures, value.unit)
    except NotADefinitionError as error:
        raise CannotFollowError(f"a limit in its results.csv cannot be understood: {error}") from None
    if told.removesuffix(")").rpartition(", ")[2] == UNVERIFIED_WORD:
        limit = replace(limit, status=CriterionStatus.UNVERIFIED)
    return _seen(Point(row.point, section="", title="", unit=value.unit, limit=limit), row, reading)


def _value(row: SettledRow) -> Resistance:
    try:
        return parse_reading(row.value or "", row.unit or "")
    except RowError as error:
        raise CannotFollowError(f"a value in it cannot be understood: {error.what}") from None


def _verdict(row: SettledRow) -> Verdict:
    verdict = _VERDICTS.get(row.verdict or "")
    if verdict is None:
        raise CannotFollowError("a verdict in it cannot be understood")
    return verdict


def _time(row: SettledRow) -> datetime:
    try:
        return parse_time(row.time or "")
    except RowError as error:
        raise CannotFollowError(f"a time in it cannot be understood: {error.what}") from None


def settled_rows(session: str, points: Iterable[Seen]) -> Iterator[SettledRow]:
    """What was read singly, for the table that the counts are made from."""
    for seen in points:
        reading = seen.reading
        if reading is not None:
            yield SettledRow(
                session=session,
                point=seen.point,
                record=0,
                time=format_time(reading.when),
                value=reading.value.digits,
                unit=reading.value.unit.value,
                verdict=reading.verdict.value,
                is_retest=int(reading.is_retest),
                has_failed=int(reading.has_failed),
            )


def result_only_source(folder: Path, known: Iterable[tuple[str, str]]) -> Source | None:
    """Where a results.csv alone comes from, by its folder's name; ``known`` are assets with their routes."""
    found = _NAME.fullmatch(folder.name)
    if found is None:
        return None
    day, asset, route = found.groups()
    try:
        started = datetime.fromisoformat(day).replace(tzinfo=UTC)
    except ValueError:
        return None
    same = [names for names in known if (slug(names[0], 24), slug(names[1])) == (asset, route)]
    asset, route = same[0] if len(same) == 1 else (asset, route)
    return Source(
        id=folder.name,
        folder=folder,
        started=started,
        route=route,
        title=route,
        asset=asset,
        revision="",
        meter="",
        has_accuracy=False,
        is_closed=False,
        is_intact=False,  # there is no chain that could be
        is_practice=False,
        follows="",
        first_link="",
        part=(),
        elsewhere={},
        has_trail=False,
    )
