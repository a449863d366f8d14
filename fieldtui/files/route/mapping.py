"""From a route file's tables to a :class:`Route`: defaults filled in, every reference resolved.

Only what a route must have to be walked and judged is required here, so that a session's
snapshot can always be read again; what a planner should know besides is in ``files.route.checks``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import (
    METHOD_READINGS,
    METHOD_RULES,
    RECORD_ONLY,
    Conductor,
    Expected,
    Limit,
    PathLimit,
    Point,
    Route,
    Rule,
    Section,
)
from fieldtui.core.plan.tables import Criterion
from fieldtui.files.limits import criterion_limit, limit_of, stated_rule
from fieldtui.files.route.schema import (
    PER_POINT,
    ConductorModel,
    DefaultsModel,
    ExpectedModel,
    HeaderModel,
    LimitModel,
    PathModel,
    PointModel,
    RouteModel,
    SectionModel,
)
from fieldtui.files.toml.fields import is_id
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.schema import Findings, note_repeated, read_as, read_quietly, read_with
from fieldtui.files.toml.strict import M, given_in, keys_of, with_given

# Found where they stand: a point's limit, criterion and decision rule look beyond the nearest table.
_NOT_INHERITED = frozenset({"limit", "criterion", "decision", "guard"})
_PLACED = tuple(key for key in keys_of(PointModel) if key not in PER_POINT)  # may come from [defaults]


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
    paths: tuple[tuple[Path, PathLimit], ...]
    has_unit: bool  # without one, figures cannot be compared
    route: Route | None  # None where anything is wrong
    # what the file names, in tables that could not be read too, so that one slip makes one problem
    point_ids: frozenset[str]
    used_sections: frozenset[str]
    overruled: tuple[Path, ...] = ()  # criteria beside a limit of the same table


def map_route(
    raw: Mapping[str, Any], name: str, criteria: Mapping[str, Criterion], findings: Findings
) -> PlacedRoute:
    """Read ``raw``, a route file's tables, with every problem noted in ``findings``."""
    read_as(RouteModel, raw, findings)
    if findings.are_full:  # what is listed must be put right first, and a closer look would list nothing
        return PlacedRoute((), (), (), False, None, frozenset(), frozenset())
    header = read_quietly(HeaderModel, {key: raw[key] for key in keys_of(HeaderModel) if key in raw})
    defaults = read_quietly(DefaultsModel, raw.get("defaults", {})) or DefaultsModel()
    sections = tuple(
        (path, Section(model.id, model.title)) for path, model in _parts(SectionModel, raw, "sections")
    )
    points = _points(raw)
    if not raw.get("points"):
        findings.add(("points",), "the route has no points", "add a [[points]] table for each measurement")
    unit = next((unit for unit in Unit if unit.value == raw.get("unit")), None)
    mapper = _Mapper(unit or Unit.MOHM, header, defaults, criteria, findings)
    placed = tuple(mapper.placed(model, path) for path, model in points)
    paths = tuple((path, mapper.path_limit(model, path)) for path, model in _parts(PathModel, raw, "paths"))
    for key in ("sections", "points", "paths"):  # in tables that could not be read, too
        note_repeated(_stated(raw, key, "id"), key.removesuffix("s"), findings)
    _note_unknown_points(_named(raw, "points", "id"), paths, findings)
    _note_unknown_sections(_named(raw, "sections", "id"), _stated(raw, "points", "section"), findings)
    overruled = _overruled(raw)
    for path, criterion in overruled.items():  # a misspelt one is told before the limit beside it is out
        if isinstance(criterion, str):
            criterion_limit(criterion, criteria, path, findings)
    route = None
    if header is not None and not findings.has_errors:
        route = replace(_route(name, header, sections, placed, paths), rule=mapper.rule)
    return PlacedRoute(
        sections=sections,
        points=placed,
        paths=paths,
        has_unit=unit is not None,
        route=route,
        point_ids=_named(raw, "points", "id"),
        used_sections=_named(raw, "points", "section"),
        overruled=tuple(overruled),
    )


def _overruled(raw: Mapping[str, Any]) -> dict[Path, object]:
    """Where a criterion stands beside a limit of the same table, and which."""
    holders: dict[Path, Any] = {("defaults",): raw.get("defaults")}
    holders |= {("points", index): table for index, table in _tables(raw, "points").items()}
    return {
        (*path, "criterion"): table["criterion"]
        for path, table in holders.items()
        if isinstance(table, dict) and "limit" in table and "criterion" in table
    }


def _route(
    name: str,
    header: HeaderModel,
    sections: Sequence[tuple[Path, Section]],
    placed: Sequence[PlacedPoint],
    paths: Sequence[tuple[Path, PathLimit]],
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
        paths=tuple(one for _, one in paths),
        standard_every=header.standard_every,
    )


def _named(raw: Mapping[str, Any], key: str, field: str) -> frozenset[str]:
    """Every text under ``field`` in the tables of the list ``key``, readable tables or not."""
    return frozenset(
        value for table in _tables(raw, key).values() if isinstance(value := table.get(field), str)
    )


def _stated(raw: Mapping[str, Any], key: str, field: str) -> list[tuple[Path, str]]:
    """The ids under ``field`` in the tables of the list ``key``, each with its table's path."""
    found = [((key, index), table.get(field)) for index, table in _tables(raw, key).items()]
    return [(path, value) for path, value in found if isinstance(value, str) and is_id(value)]


def _tables(raw: Mapping[str, Any], key: str) -> dict[int, dict[str, Any]]:
    items = raw.get(key)
    numbered = enumerate(items) if isinstance(items, list) else ()
    return {index: item for index, item in numbered if isinstance(item, dict)}


def _points(raw: Mapping[str, Any]) -> list[tuple[Path, PointModel]]:
    """Every point; what one must have and lacks is stood in for, so that the rest of it is looked at too.

    What is lacking is noted already, so the stand-ins never get into a route.
    """
    found: list[tuple[Path, PointModel]] = []
    section = "-"
    for index, table in _tables(raw, "points").items():
        stand_ins = {"id": f"unnamed.{index}", "section": section, "title": "-"}
        model = read_with(PointModel, table, stand_ins)
        found.append((("points", index), model))
        section = model.section
    return found


def _parts(model: type[M], raw: Mapping[str, Any], key: str) -> list[tuple[Path, M]]:
    items = raw.get(key)
    if not isinstance(items, list):
        return []
    read = ((index, read_quietly(model, item)) for index, item in enumerate(items))
    return [((key, index), found) for index, found in read if found is not None]


def _note_unknown_sections(
    known: frozenset[str], sections: Sequence[tuple[Path, str]], findings: Findings
) -> None:
    for path, section in sections:
        if section not in known:
            remedy = findings.nearest(section, known) or "add a [[sections]] table for it"
            findings.add((*path, "section"), f'section "{section}" is not in the route', remedy)


def _note_unknown_points(
    known: frozenset[str], paths: Sequence[tuple[Path, PathLimit]], findings: Findings
) -> None:
    for path, one in paths:
        for index, point in enumerate(one.points):
            if point not in known:
                what = f'point "{point}" is not in the route'
                findings.add((*path, "points", index), what, findings.nearest(point, known))
            elif point in one.points[:index]:
                what = f'point "{point}" stands twice in the path'
                findings.add((*path, "points", index), what, "a current passes it once: take one out")
        if not one.points:
            findings.add((*path, "points"), "the path has no points", "name the points in series")


class _Mapper:
    """Turns the points of one route into the core's, with its unit, defaults and criteria."""

    def __init__(
        self,
        unit: Unit,
        header: HeaderModel | None,
        defaults: DefaultsModel,
        criteria: Mapping[str, Criterion],
        findings: Findings,
    ) -> None:
        self._unit = unit
        self._correct_to_20 = header is not None and header.correct_to_20
        self._rules = [
            stated_rule(model, path, findings)
            for model, path in ((defaults, ("defaults",)), (header, ()))
            if model is not None
        ]
        self._defaults = defaults
        self._criteria = criteria
        self._findings = findings

    @property
    def rule(self) -> DecisionRule:
        """The rule of a limit that states none and whose criterion states none."""
        return next((rule for rule in self._rules if rule is not None), SIMPLE)

    def placed(self, own: PointModel, path: Path) -> PlacedPoint:
        inherited = {
            key: getattr(self._defaults, key)
            for key in given_in(self._defaults) - given_in(own) - _NOT_INHERITED
        }
        model = with_given(own, inherited)
        places: dict[str, Path] = {
            key: ("defaults", key) if key in inherited else (*path, key) for key in _PLACED
        }
        unit = model.unit or self._unit
        limit, limit_path = self._limit(own, path, unit)
        repeats, rule = self._readings(model, places)
        corrects = model.correct_to_20
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
            repeats=repeats,
            rule=rule,
            method=model.method,
            current_ma=self._current(model, places),
            correct_to_20=self._correct_to_20 if corrects is None else corrects,
            pair=model.pair or "",
            family=model.family,
            condition=model.condition,
            prepare=model.prepare,
            restore=model.restore,
            caution=model.caution,
            at=model.at,
        )
        return PlacedPoint(point, path, limit_path, places)

    def path_limit(self, model: PathModel, path: Path) -> PathLimit:
        place = (*path, "limit")
        limit = limit_of(model.limit, self._unit, self._criteria, place, self._findings) or RECORD_ONLY
        limit = self._with_rule(limit, stated_rule(model.limit, place, self._findings))
        return PathLimit(model.id, model.title, model.points, limit)

    def _readings(self, model: PointModel, places: Mapping[str, Path]) -> tuple[int, Rule]:
        """How many readings a take has and how they are put together; the method decides first."""
        if model.method == "single":
            return model.repeats, model.rule
        for key in ("repeats", "rule"):
            is_overruled = places[key][0] == "defaults" != places["method"][0]
            if key in given_in(model) and not is_overruled:
                what = f'method = "{model.method}" says by itself how readings are taken'
                self._findings.add(places[key], what, f"take {key} out, or take method out")
        return METHOD_READINGS[model.method], METHOD_RULES[model.method]

    def _current(self, model: PointModel, places: Mapping[str, Path]) -> Decimal | None:
        """The test current, mA; one of the defaults means nothing to a point that is read once."""
        if model.current_ma is None or model.method != "single":
            return model.current_ma
        is_default = places["current_ma"][0] == "defaults" and places["method"][0] != "defaults"
        if not is_default:
            remedy = 'add method = "reversed" or "three-reading", or take current_ma out'
            self._findings.add(places["current_ma"], "voltages are read with the current reversed", remedy)
        return None

    def _with_rule(self, limit: Limit, *nearest: DecisionRule | None) -> Limit:
        """The limit with the decision rule in force: the nearest one that is stated."""
        if not limit.judges:
            return limit
        criterion = self._criteria.get(limit.criterion)
        stated = (*nearest, criterion.rule if criterion is not None else None)
        return replace(limit, rule=next((rule for rule in stated if rule is not None), self.rule))

    def _limit(self, own: PointModel, path: Path, unit: Unit) -> tuple[Limit, Path]:
        found, place, model = self._figures(own, path, unit)
        nearest = [stated_rule(own, path, self._findings)]
        if model is not None:
            nearest.insert(0, stated_rule(model, place, self._findings))
        return self._with_rule(found, *nearest), place

    def _figures(self, own: PointModel, path: Path, unit: Unit) -> tuple[Limit, Path, LimitModel | None]:
        """The limit in force: the point's own before the defaults', figures before a criterion."""
        holders: tuple[tuple[PointModel | DefaultsModel, Path], ...] = (
            (own, path),
            (self._defaults, ("defaults",)),
        )
        for model, start in holders:
            if model.limit is not None:
                place = (*start, "limit")
                found = limit_of(model.limit, unit, self._criteria, place, self._findings)
                return found or RECORD_ONLY, place, model.limit
            if model.criterion is not None:
                place = (*start, "criterion")
                found = criterion_limit(model.criterion, self._criteria, place, self._findings)
                return found or RECORD_ONLY, place, None
        refused = (
            place for start in (path, ("defaults",)) for place in ((*start, "limit"), (*start, "criterion"))
        )
        if not any(map(self._findings.is_refused, refused)):
            remedy = "give limit or criterion, here or in [defaults]"
            self._findings.add((*path, "limit"), "the point has no limit", remedy)
        return RECORD_ONLY, (*path, "limit"), None

    def _retest(self, model: PointModel, limit: Limit, unit: Unit, path: Path) -> Limit | None:
        if model.retest is None:
            return None
        found = limit_of(model.retest, unit, self._criteria, path, self._findings, like=limit)
        own = stated_rule(model.retest, path, self._findings)
        criterion = self._criteria.get(found.criterion) if found is not None else None
        of_criterion = criterion.rule if criterion is not None else None
        inherited = limit.rule if limit.judges else self.rule  # one that only records has no rule
        return found and replace(found, rule=own or of_criterion or inherited)

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
