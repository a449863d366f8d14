"""What a planner should know about a route besides whether it can be read."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.conductors import ohms_at_20, resistance_at_20
from fieldtui.core.plan.resolving import RATIO, STEPS, finest
from fieldtui.core.plan.route import CriterionStatus, Limit
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.verdict.judging import meets
from fieldtui.files.limits import is_looser, is_outside
from fieldtui.files.route.mapping import PlacedPoint, PlacedRoute
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.schema import Findings


def check_sense(placed: PlacedRoute, findings: Findings) -> None:
    """Note what cannot work in the field, and what was probably not meant."""
    _check_sections(placed, findings)
    _check_pairs(placed, findings)
    if not findings.has_errors:  # a misspelled key may be the one that gives several readings
        _check_rules(placed, findings)
    for path in placed.overruled:
        findings.add(path, "a criterion beside a limit, which alone would judge", "take one of the two out")
    for one in placed.points:
        if placed.has_unit:
            _check_expected(one, findings)
            _check_retest(one, findings)
            _check_conductor(one, findings)
        _check_status(one.point.limit, one.limit_path, findings)
        if one.point.retest is not None:
            _check_status(one.point.retest, one.places["retest"], findings)
    for path, along in placed.paths:
        _check_status(along.limit, (*path, "limit"), findings)


def check_meters(placed: PlacedRoute, instruments: Mapping[str, Instrument], findings: Findings) -> None:
    """Note limits that no meter of the crew can tell, as far as the meters state their accuracy."""
    if not placed.has_unit:
        return
    limits = [(one.point.limit, one.limit_path) for one in placed.points]
    limits += [(one.point.retest, one.places["retest"]) for one in placed.points if one.point.retest]
    for limit, path in dict.fromkeys(limits):
        best = finest(limit, instruments.values())
        if best is None or best.is_fine:
            continue
        unit = best.at.unit
        step = f"one step is {_as(best.step, unit)} and " if best.step is not None else ""
        coverage = best.instrument.accuracy.coverage if best.instrument.accuracy else ""
        findings.warn(
            path,
            f"no meter of instruments.toml is fine enough for {limit}: of {best.instrument.id}, the best, "
            f"{step}U (k = {coverage}) is {_as(best.expanded, unit)} at {best.at}",
            f"a step of at most 1/{STEPS} and U of at most 1/{RATIO} of the limit are wanted: "
            "a finer meter, or look at the unit",
        )


def _as(ohms: Decimal, unit: Unit) -> str:
    """Two figures are all that an uncertainty is worth (GUM 7.2.6)."""
    value = ohms.scaleb(-unit.exponent)
    return f"{value:.2g}" if Decimal("0.001") <= value < 100 else f"{value:.1e}"


def _check_sections(placed: PlacedRoute, findings: Findings) -> None:
    for path, section in placed.sections:
        if placed.points and section.id not in placed.used_sections:
            findings.warn(path, f'section "{section.id}" has no points', "take it out, or add its points")
    left: set[str] = set()
    current = ""
    for one in placed.points:
        if one.point.section == current:
            continue
        left.add(current)
        current = one.point.section
        if current in left:
            findings.warn(
                (*one.path, "section"),
                f'the walk comes back to section "{current}" after another one',
                "put the points of a section together, unless the walk really goes so",
            )


def _check_rules(placed: PlacedRoute, findings: Findings) -> None:
    """Note rules that put readings together where there is one reading only."""
    single = [one for one in placed.points if one.point.repeats == 1 and one.point.rule != "max"]
    rules = {one.places["rule"]: one.point.rule for one in single}
    if len(single) < len(placed.points):
        rules.pop(("defaults", "rule"), None)  # it is for the points that have several
    for path, rule in rules.items():
        what = f'rule = "{rule}" puts several readings together, and one is taken'
        findings.warn(path, what, "give repeats, from 2 on, or take rule out")


def _check_pairs(placed: PlacedRoute, findings: Findings) -> None:
    by_id = {one.point.id: one.point for one in placed.points}
    for one in placed.points:
        point, place = one.point, (*one.path, "pair")
        if not point.pair:
            continue
        partner = by_id.get(point.pair)
        if point.pair not in placed.point_ids:
            remedy = (
                findings.nearest(point.pair, placed.point_ids - {point.id}) or "name a point of this route"
            )
            findings.add(place, f'pair "{point.pair}" is not a point of the route', remedy)
        elif partner is None or point.id not in placed.point_ids:  # an id's own problem is already noted
            continue
        elif partner.id == point.id:
            findings.add(place, "the point is paired with itself", "name its partner on the other side")
        elif partner.pair != point.id:
            said = (
                f'"{partner.id}" is paired with "{partner.pair}"'
                if partner.pair
                else f'"{partner.id}" names no pair'
            )
            findings.add(place, f"the pair is not mutual: {said}", f'give "{partner.id}" pair = "{point.id}"')


def _check_expected(one: PlacedPoint, findings: Findings) -> None:
    band, limit = one.point.expected, one.point.limit
    if band is not None and is_outside(limit, band.low, band.high):
        findings.warn(
            one.places["expected"],
            f"the expected band {band.low} to {band.high} lies outside the limit {limit}",
            "check the units of both",
        )


def _check_retest(one: PlacedPoint, findings: Findings) -> None:
    retest, limit = one.point.retest, one.point.limit
    if retest is None:
        return
    if is_looser(retest, limit):
        findings.warn(
            one.places["retest"],
            f"the retest limit {retest} is looser than the limit {limit}",
            "after rework a bond is usually held to the same limit or a tighter one",
        )
    elif _is_compared_otherwise(retest, limit):
        findings.warn(
            one.places["retest"],
            f"the retest limit {retest} is compared otherwise than the limit {limit}",
            "a value equal to the figure passes one and fails the other: give both the same cmp, "
            "or none to the retest, which then takes the limit's",
        )


def _is_compared_otherwise(one: Limit, other: Limit) -> bool:
    """Whether a bound that both limits have includes its figure in one of them only."""
    has_both_maxima = one.maximum is not None and other.maximum is not None
    has_both_minima = one.minimum is not None and other.minimum is not None
    is_other_upper = has_both_maxima and one.upper is not other.upper
    return is_other_upper or (has_both_minima and one.lower is not other.lower)


def _check_conductor(one: PlacedPoint, findings: Findings) -> None:
    conductor = one.point.conductor
    if conductor is None:
        return
    own, ohms = resistance_at_20(conductor), ohms_at_20(conductor)
    for limit, noun in ((one.point.limit, "limit"), (one.point.retest, "retest limit")):
        if limit is None or limit.maximum is None:
            continue
        if not meets(ohms, limit.upper, limit.maximum.ohms):
            findings.add(
                one.places["conductor"],
                f"the conductor alone has {own} at 20 °C and can never meet the {noun} {limit}",
                "check its size and length, or the limit and its unit",
            )


def _check_status(limit: Limit, path: Path, findings: Findings) -> None:
    if limit.status is CriterionStatus.UNVERIFIED:
        findings.warn(
            path,
            f'criterion "{limit.criterion}" is unverified: nobody here has seen its text',
            f"check it against {limit.source or 'its source'} before a verdict rests on it",
        )
