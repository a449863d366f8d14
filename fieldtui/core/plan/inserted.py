"""An unplanned point, met during the walk: how its definition is written in the trail.

The definition is one line of JSON (RFC 8259) in the trail's note column, readable by eye:
``{"title": "Spare strap", "a": "bracket", "b": "spar", "limit": "<= 2.5 mohm"}``. Where the point is
judged otherwise than by its figures alone, it says so: criterion and status, decision rule and
guard factor, limit after rework, readings of a take, correction to 20 C and of which metal. Everything
that a verdict rests on is in it, for the trail is judged again long after the route has changed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Literal

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, parse_number, parse_unit
from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.named_texts import NotNamedTextsError, format_texts, parse_texts
from fieldtui.core.plan.route import (
    METHOD_READINGS,
    METHOD_RULES,
    RECORD_ONLY,
    Comparator,
    CriterionStatus,
    Limit,
    Metal,
    Method,
    Point,
    Rule,
)

_RECORD_ONLY = "record only"
_BOUND = re.compile(r"(?P<sign>[<>]=?)? *(?P<number>[0-9.]+) *(?P<unit>[A-Za-z]+)?", re.ASCII)


class NotADefinitionError(ValueError):
    """The text does not define a point; the message says why."""


def format_limit(limit: Limit) -> str:
    """A one-sided limit as text: ``<= 2.5 mohm``; ``record only`` where nothing is judged."""
    if limit.maximum is not None and limit.minimum is None:
        return f"{limit.upper.value} {limit.maximum.digits} {limit.maximum.unit.value}"
    if limit.minimum is not None and limit.maximum is None:
        return f"{limit.lower.value} {limit.minimum.digits} {limit.minimum.unit.value}"
    if limit.minimum is not None and limit.maximum is not None:
        return (
            f"{format_limit(replace(limit, maximum=None))} and {format_limit(replace(limit, minimum=None))}"
        )
    return _RECORD_ONLY


def parse_limit(text: str, default: Unit) -> Limit:
    """The limit behind ``<= 2.5 mohm``, ``>= 1 Mohm and <= 10 Mohm``, ``2.5`` or ``record only``.

    Raises:
        NotADefinitionError: with the reason in words.
    """
    if text.strip() in ("", _RECORD_ONLY):
        return RECORD_ONLY
    limit = Limit()
    for part in text.split(" and "):
        limit = _with_bound(limit, part.strip(), default)
    low, high = limit.minimum, limit.maximum
    if low is not None and high is not None and low.ohms > high.ohms:
        raise NotADefinitionError(f"nothing is both {text.strip()}")
    return limit


def _with_bound(limit: Limit, text: str, default: Unit) -> Limit:
    found = _BOUND.fullmatch(text)
    if found is None:
        raise NotADefinitionError("a limit looks like <= 2.5 mohm, or record only")
    try:
        unit = parse_unit(found["unit"]) if found["unit"] else default
        bound = Resistance(parse_number(found["number"]), unit)
    except NotAResistanceError as error:
        raise NotADefinitionError(str(error)) from error
    comparator = Comparator(found["sign"] or "<=")
    is_upper = comparator in (Comparator.LESS, Comparator.AT_MOST)
    if (limit.maximum if is_upper else limit.minimum) is not None:
        raise NotADefinitionError(f"a second {'upper' if is_upper else 'lower'} limit")
    if is_upper:
        return replace(limit, maximum=bound, upper=comparator)
    return replace(limit, minimum=bound, lower=comparator)


def like(here: Point, limit: Limit, rule: DecisionRule) -> Point:
    """``here`` as far as an unplanned point beside it with ``limit`` is judged like it.

    Where the limit is the same, everything that a verdict rests on is the same; any other limit
    has the route's decision ``rule`` and one reading. Both are judged at 20 C where ``here`` is.
    """
    if format_limit(limit) == format_limit(here.limit):
        return here
    ruled = replace(limit, rule=rule) if limit.judges else limit
    return replace(here, limit=ruled, retest=None, repeats=1, rule="max", method="single", current_ma=None)


def format_definition(point: Point) -> str:
    """``point`` as the one line of JSON that the trail carries."""
    fields = {
        "title": point.title,
        "section": point.section,
        "where": point.where,
        "a": point.a,
        "b": point.b,
        "unit": point.unit.value,
        **_limit_fields(point.limit),
        **(_limit_fields(point.retest, _RETEST) if point.retest is not None else {}),
        "method": point.method if point.method != "single" else "",
        "current_ma": format(point.current_ma, "f") if point.current_ma is not None else "",
        "repeats": str(point.repeats) if point.method == "single" and point.repeats != 1 else "",
        "rule": point.rule if point.method == "single" and point.rule != "max" else "",
        "at_20_c": _YES if point.correct_to_20 else "",
        "metal": metal_of(point) if point.correct_to_20 and metal_of(point) != "copper" else "",
    }
    return format_texts(fields)


def parse_definition(point: str, text: str) -> Point:
    """The unplanned point ``point`` behind a definition from the trail.

    Raises:
        NotADefinitionError: with the reason in words.
    """
    try:
        fields = parse_texts(text)
    except NotNamedTextsError as error:
        raise NotADefinitionError(str(error)) from error
    try:
        unit = parse_unit(fields.get("unit", ""))
    except NotAResistanceError as error:
        raise NotADefinitionError(str(error)) from error
    method, repeats, rule = _take(fields)
    return Point(
        id=point,
        section=fields.get("section", ""),
        title=fields.get("title", ""),
        unit=unit,
        limit=_limit(fields, unit),
        where=fields.get("where", ""),
        a=fields.get("a", ""),
        b=fields.get("b", ""),
        retest=_limit(fields, unit, _RETEST) if _RETEST in fields else None,
        repeats=repeats,
        rule=rule,
        method=method,
        current_ma=_current(fields, method),
        correct_to_20=fields.get("at_20_c", "") == _YES,
        metal=_metal(fields),
        unplanned=True,
    )


# --- what it is judged by ---------------------------------------------------------------------

_YES = "yes"
_LIMIT: Literal["limit"] = "limit"
_RETEST: Literal["retest"] = "retest"
_DIGIT = re.compile(r"[1-9]", re.ASCII)
_RULES: Mapping[str, Rule] = {"max": "max", "mean": "mean", "median": "median"}
_METALS: Mapping[str, Metal] = {"copper": "copper", "aluminium": "aluminium"}
_METHODS: Mapping[str, Method] = {method: method for method in METHOD_READINGS}


def _limit_fields(limit: Limit, name: Literal["limit", "retest"] = _LIMIT) -> dict[str, str]:
    """The limit by name; of what goes without saying nothing."""
    prefix = "" if name == _LIMIT else f"{name}_"
    is_own = limit.status is CriterionStatus.OWN
    is_simple = limit.rule.kind is RuleKind.SIMPLE
    return {
        name: format_limit(limit),
        f"{prefix}criterion": limit.criterion,
        f"{prefix}source": limit.source,
        f"{prefix}status": "" if is_own else limit.status.value,
        f"{prefix}decision": "" if is_simple else limit.rule.kind.value,
        f"{prefix}guard": "" if is_simple else format(limit.rule.factor, "f"),
    }


def _limit(fields: Mapping[str, str], unit: Unit, name: Literal["limit", "retest"] = _LIMIT) -> Limit:
    prefix = "" if name == _LIMIT else f"{name}_"
    limit = parse_limit(fields.get(name, ""), unit)
    try:
        status = CriterionStatus(fields.get(f"{prefix}status", CriterionStatus.OWN.value))
        kind = RuleKind(fields.get(f"{prefix}decision", RuleKind.SIMPLE.value))
        factor = parse_number(fields.get(f"{prefix}guard", "1"))
    except (ValueError, NotAResistanceError) as error:
        raise NotADefinitionError(f"the {name} cannot be understood: {error}") from error
    return replace(
        limit,
        criterion=fields.get(f"{prefix}criterion", ""),
        source=fields.get(f"{prefix}source", ""),
        status=status,
        rule=SIMPLE if kind is RuleKind.SIMPLE else DecisionRule(kind, Decimal(factor)),
    )


def _current(fields: Mapping[str, str], method: Method) -> Decimal | None:
    """The test current, mA, where voltages are keyed."""
    if "current_ma" not in fields:
        return None
    try:
        current = parse_number(fields["current_ma"])
    except NotAResistanceError as error:
        raise NotADefinitionError(f"the test current cannot be understood: {error}") from error
    if not current or method == "single":
        raise NotADefinitionError("a test current above nought belongs to a reversed method")
    return current


def _metal(fields: Mapping[str, str]) -> Metal:
    """What is corrected to 20 C; copper goes without saying."""
    metal = _METALS.get(fields.get("metal", "copper"))
    if metal is None:
        raise NotADefinitionError(f"the metal is one of {', '.join(_METALS)}")
    return metal


def _take(fields: Mapping[str, str]) -> tuple[Method, int, Rule]:
    """How the readings of one take are made and put together."""
    method = _METHODS.get(fields.get("method", "single"))
    rule = _RULES.get(fields.get("rule", "max"))
    repeats = fields.get("repeats", "1")
    if method is None or rule is None or _DIGIT.fullmatch(repeats) is None:
        raise NotADefinitionError("method, repeats or rule cannot be understood")
    if method == "single":
        return method, int(repeats), rule
    return method, METHOD_READINGS[method], METHOD_RULES[method]
