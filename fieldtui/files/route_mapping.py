"""From a route file's tables to a :class:`Route`: defaults filled in, every reference resolved.

Only what a route must have to be walked and judged is required here, so that a session's
snapshot can always be read again; what a planner should know besides is in ``route_checks``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fieldtui.core.ohms import Resistance, Unit
from fieldtui.core.route import RECORD_ONLY, Conductor, Expected, Limit, Point, Route, Section
from fieldtui.core.tables import Criterion
from fieldtui.files.limits import criterion_limit, limit_of
from fieldtui.files.route_schema import (
    PER_POINT,
    ConductorModel,
    DefaultsModel,
    ExpectedModel,
    HeaderModel,
    PointModel,
    RouteModel,
    SectionModel,
)
from fieldtui.files.schema import Findings, M, note_repeated, read_as, read_quietly
from fieldtui.files.toml_scan import Path


@dataclass(frozen=True, slots=True)
class PlacedPoint:
    """A point and where it stands. A broken limit is stood in for by none, so that checks can go on."""

    point: Point
    path: Path
    limit_path: Path
    places: Mapping[str, Path]  # retest, expected, conductor: the point's own, or the defaults'


@dataclass(frozen=True, slots=True)
class PlacedRoute:
    """What could be read of a route file, whole or not."""

    sections: tuple[tuple[Path, Section], ...]
    points: tuple[PlacedPoint, ...]
    has_unit: bool  # without one, figures cannot be compared
    route: Route | None  # None where anything is wrong
    # what the file names, in tables that could not be read too, so that one slip makes one problem
    point_ids: frozenset[str]
    used_sections: frozenset[str]


def map_route(
    raw: Mapping[str, Any], name: str, criteria: Mapping[str, Criterion], findings: Findings
) -> PlacedRoute:
    """Read ``raw``, a route file's tables, with every problem noted in ``findings``."""
    read_as(RouteModel, raw, findings)
    header = read_quietly(HeaderModel, {key: raw[key] for key in HeaderModel.model_fields if key in raw})
    defaults = read_quietly(DefaultsModel, raw.get("defaults", {})) or DefaultsModel()
    sections = tuple(
        (path, Section(model.id, model.title)) for path, model in _parts(SectionModel, raw, "sections")
    )
    points = _parts(PointModel, raw, "points")
    if not raw.get("points"):
        findings.add(("points",), "the route has no points", "add a [[points]] table for each measurement")
    unit = next((unit for unit in Unit if unit.value == raw.get("unit")), None)
    mapper = _Mapper(unit or Unit.MOHM, defaults, criteria, findings)
    placed = tuple(mapper.placed(model, path) for path, model in points)
    note_repeated([(path, section.id) for path, section in sections], "section", findings)
    note_repeated([(path, model.id) for path, model in points], "point", findings)
    _note_unknown_sections(_named(raw, "sections", "id"), points, findings)
    route = None
    if header is not None and not findings.has_errors:
        route = _route(name, header, sections, placed)
    return PlacedRoute(
        sections=sections,
        points=placed,
        has_unit=unit is not None,
        route=route,
        point_ids=_named(raw, "points", "id"),
        used_sections=_named(raw, "points", "section"),
    )


def _route(
    name: str,
    header: HeaderModel,
    sections: Sequence[tuple[Path, Section]],
    placed: Sequence[PlacedPoint],
) -> Route:
    return Route(
        name=name,
        title=header.title,
        asset=header.asset,
        revision=header.revision,
        source=header.source,
        unit=header.unit,
        check_every=header.check_every,
        sections=tuple(section for _, section in sections),
        points=tuple(one.point for one in placed),
    )


def _named(raw: Mapping[str, Any], key: str, field: str) -> frozenset[str]:
    """Every text under ``field`` in the tables of the list ``key``, readable tables or not."""
    items = raw.get(key)
    tables = [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []
    return frozenset(value for table in tables if isinstance(value := table.get(field), str))


def _parts(model: type[M], raw: Mapping[str, Any], key: str) -> list[tuple[Path, M]]:
    items = raw.get(key)
    if not isinstance(items, list):
        return []
    read = ((index, read_quietly(model, item)) for index, item in enumerate(items))
    return [((key, index), found) for index, found in read if found is not None]


def _note_unknown_sections(
    known: frozenset[str], points: Sequence[tuple[Path, PointModel]], findings: Findings
) -> None:
    for path, model in points:
        if model.section not in known:
            remedy = findings.nearest(model.section, known) or "add a [[sections]] table for it"
            findings.add((*path, "section"), f'section "{model.section}" is not in the route', remedy)


class _Mapper:
    """Turns the points of one route into the core's, with its unit, defaults and criteria."""

    def __init__(
        self, unit: Unit, defaults: DefaultsModel, criteria: Mapping[str, Criterion], findings: Findings
    ) -> None:
        self._unit = unit
        self._defaults = defaults
        self._criteria = criteria
        self._findings = findings

    def placed(self, own: PointModel, path: Path) -> PlacedPoint:
        inherited = {
            key: getattr(self._defaults, key)
            for key in self._defaults.model_fields_set - own.model_fields_set - {"limit", "criterion"}
        }
        model = own.model_copy(update=inherited)
        places: dict[str, Path] = {
            key: ("defaults", key) if key in inherited else (*path, key)
            for key in type(model).model_fields
            if key not in PER_POINT
        }
        unit = model.unit or self._unit
        limit, limit_path = self._limit(own, path, unit)
        point = Point(
            id=model.id,
            section=model.section,
            title=model.title,
            unit=unit,
            limit=limit,
            where=model.where,
            a=model.a,
            b=model.b,
            retest=self._retest(model, limit, unit, places["retest"]),
            expected=self._expected(model.expected, unit, places["expected"]),
            conductor=self._conductor(model.conductor, places["conductor"]),
            repeats=model.repeats,
            rule=model.rule,
            pair=model.pair or "",
            family=model.family,
            condition=model.condition,
            prepare=model.prepare,
            restore=model.restore,
            caution=model.caution,
            at=model.at,
        )
        return PlacedPoint(point, path, limit_path, places)

    def _limit(self, own: PointModel, path: Path, unit: Unit) -> tuple[Limit, Path]:
        """The limit in force: the point's own before the defaults', figures before a criterion."""
        holders: tuple[tuple[PointModel | DefaultsModel, Path], ...] = (
            (own, path),
            (self._defaults, ("defaults",)),
        )
        for model, start in holders:
            if model.limit is not None:
                place = (*start, "limit")
                found = limit_of(model.limit, unit, self._criteria, place, self._findings)
                return found or RECORD_ONLY, place
            if model.criterion is not None:
                place = (*start, "criterion")
                found = criterion_limit(model.criterion, self._criteria, place, self._findings)
                return found or RECORD_ONLY, place
        refused = (
            place for start in (path, ("defaults",)) for place in ((*start, "limit"), (*start, "criterion"))
        )
        if not any(map(self._findings.is_refused, refused)):
            remedy = "give limit or criterion, here or in [defaults]"
            self._findings.add((*path, "limit"), "the point has no limit", remedy)
        return RECORD_ONLY, (*path, "limit")

    def _retest(self, model: PointModel, limit: Limit, unit: Unit, path: Path) -> Limit | None:
        if model.retest is None:
            return None
        return limit_of(model.retest, unit, self._criteria, path, self._findings, like=limit)

    def _expected(self, model: ExpectedModel | None, unit: Unit, path: Path) -> Expected | None:
        if model is None:
            return None
        if model.low > model.high:
            what = f"the band is upside down: low {model.low} to high {model.high}"
            self._findings.add(path, what, "swap low and high")
            return None
        return Expected(Resistance(model.low, unit), Resistance(model.high, unit))

    def _conductor(self, model: ConductorModel | None, path: Path) -> Conductor | None:
        if model is None:
            return None
        if (model.awg is None) == (model.mm2 is None):
            self._findings.add(path, "the conductor needs one size, awg or mm2", "give one of the two")
            return None
        return Conductor(model.length_mm, model.awg or "", model.mm2, model.metal)
