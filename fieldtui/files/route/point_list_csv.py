"""A route's points as a list for spreadsheets, under our own names, so that it can be read in again."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule, RuleKind
from fieldtui.core.plan.inserted import format_limit
from fieldtui.core.plan.route import Point, Route
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.text import neutral
from fieldtui.files.route.schema import HeaderModel

COLUMNS = (
    "id", "section", "section_title", "title", "where", "a", "b", "unit", "limit", "criterion", "decision",
    "guard", "retest", "expected_low", "expected_high", "awg", "mm2", "length_mm", "metal", "repeats", "rule",
    "method", "current_ma", "correct_to_20", "family", "condition", "prepare", "restore", "caution", "pair",
    "x", "y", "z",
)  # fmt: skip


def format_point_list(route: Route, criteria: Mapping[str, Criterion]) -> bytes:
    """The points as UTF-8 CSV in walking order, what they have of the route's defaults filled in.

    Limits over several points in series are no part of it. ``criteria`` is the table that the route
    was read with.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    rows = [_cells(route, point, criteria) for point in route.points]
    used = [column for column in COLUMNS if any(row.get(column) for row in rows)]
    writer.writerow(used)
    writer.writerows([neutral(row.get(column, "")) for column in used] for row in rows)
    return text.getvalue().encode()


def left_out(route: Route, criteria: Mapping[str, Criterion]) -> tuple[str, ...]:
    """What of a route is not in its list of points, and would be missing when the list is read in again.

    ``criteria`` is the table that the route was read with.
    """
    found = [
        f"{name} ({value})"
        for name, value in (
            ("title", route.title),
            ("asset", route.asset),
            ("revision", route.revision),
            ("source", route.source),
            ("unit of the route", route.unit.value),
        )
        if value
    ]
    if route.check_every != HeaderModel.check_every:
        found.append(f"check_every = {route.check_every}")
    if route.standard_every != HeaderModel.standard_every:
        found.append(f"standard_every = {route.standard_every}")
    if route.rule != SIMPLE:
        found.append(f"the decision rule of unplanned points ({route.rule.words})")
    found += [f"path {path.id}: {path.title}, {path.limit}" for path in route.paths]
    walked = list(dict.fromkeys(point.section for point in route.points))
    listed = [section.id for section in route.sections]
    found += [f"section {name}, which has no points" for name in listed if name not in walked]
    if [name for name in listed if name in walked] != walked:
        found.append("the order of the sections, where it is not that of the walk")
    found += [
        f"the decision rule after rework of {point.id} ({point.retest.rule.words or 'simple acceptance'})"
        for point in route.points
        if point.retest is not None and point.retest.judges and point.retest.rule != _usual(point, criteria)
    ]
    return tuple(found)


def _usual(point: Point, criteria: Mapping[str, Criterion]) -> DecisionRule:
    """The rule of a limit after rework that states none itself."""
    criterion = criteria.get(point.retest.criterion) if point.retest is not None else None
    if criterion is not None and criterion.rule is not None:
        return criterion.rule
    return point.limit.rule if point.limit.judges else SIMPLE


def _cells(route: Route, point: Point, criteria: Mapping[str, Criterion]) -> dict[str, str]:
    conductor, expected, limit = point.conductor, point.expected, point.limit
    cells = {
        "id": point.id,
        "section": point.section,
        "section_title": route.section_title(point.section),
        "title": point.title,
        "unit": point.unit.value,
        "limit": "" if limit.criterion else format_limit(limit),
        "criterion": limit.criterion,
        "pair": point.pair,
        "correct_to_20": "yes" if point.correct_to_20 else "",
    }
    for name in ("where", "a", "b", "family", "condition", "prepare", "restore", "caution"):
        cells[name] = getattr(point, name)
    criterion = criteria.get(limit.criterion)
    usual = criterion.rule if criterion is not None and criterion.rule is not None else SIMPLE
    if limit.judges and limit.rule != usual:
        cells["decision"] = limit.rule.kind.value
        cells["guard"] = "" if limit.rule.kind is RuleKind.SIMPLE else format(limit.rule.factor, "f")
    if point.retest is not None:
        cells["retest"] = point.retest.criterion or format_limit(point.retest)
    if expected is not None:
        cells["expected_low"] = expected.low.to(point.unit).digits
        cells["expected_high"] = expected.high.to(point.unit).digits
    if conductor is not None:
        cells |= {"awg": conductor.awg, "length_mm": format(conductor.length_mm, "f")}
        cells["mm2"] = "" if conductor.mm2 is None else format(conductor.mm2, "f")
        cells["metal"] = conductor.metal if conductor.metal != "copper" else ""
    if point.method != "single":
        cells["method"] = point.method
        cells["current_ma"] = "" if point.current_ma is None else format(point.current_ma, "f")
    elif point.repeats > 1:
        cells |= {"repeats": str(point.repeats), "rule": point.rule}
    if point.at is not None:
        cells |= {axis: format(place, "f") for axis, place in zip("xyz", point.at, strict=True)}
    return cells
