"""An unplanned point, met during the walk: how its definition is written in the trail.

The definition is one line of JSON (RFC 8259) in the trail's note column, readable by eye:
``{"title": "Spare strap", "a": "bracket", "b": "spar", "limit": "<= 2.5 mohm"}``.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace

from fieldtui.core.ohms import NotAResistanceError, Resistance, Unit, parse_number, parse_unit
from fieldtui.core.route import RECORD_ONLY, Comparator, Limit, Point
from fieldtui.core.text import refusal

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


def format_definition(point: Point) -> str:
    """``point`` as the one line of JSON that the trail carries."""
    fields = {
        "title": point.title,
        "section": point.section,
        "where": point.where,
        "a": point.a,
        "b": point.b,
        "unit": point.unit.value,
        "limit": format_limit(point.limit),
    }
    return json.dumps({name: text for name, text in fields.items() if text}, ensure_ascii=False)


def parse_definition(point: str, text: str) -> Point:
    """The unplanned point ``point`` behind a definition from the trail.

    Raises:
        NotADefinitionError: with the reason in words.
    """
    try:
        fields = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NotADefinitionError("the definition is not one line of JSON") from error
    if not isinstance(fields, dict) or not all(isinstance(value, str) for value in fields.values()):
        raise NotADefinitionError("the definition must be texts by name")
    if why := next(filter(None, map(refusal, fields.values())), None):
        raise NotADefinitionError(why)  # JSON can spell a control character in plain letters
    try:
        unit = parse_unit(fields.get("unit", ""))
    except NotAResistanceError as error:
        raise NotADefinitionError(str(error)) from error
    return Point(
        id=point,
        section=fields.get("section", ""),
        title=fields.get("title", ""),
        unit=unit,
        limit=parse_limit(fields.get("limit", ""), unit),
        where=fields.get("where", ""),
        a=fields.get("a", ""),
        b=fields.get("b", ""),
        unplanned=True,
    )
