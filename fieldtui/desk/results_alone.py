"""A results.csv that lies alone, without its trail: whether its rows can be what was written.

Nothing proves such a file. But each row holds what its verdict is worked out from, and a cell edited by
hand, or by a spreadsheet, mostly shows in that.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import (
    NotAResistanceError,
    Resistance,
    Unit,
    parse_number,
    parse_unit,
)
from fieldtui.core.plan.conductors import ALPHA_20
from fieldtui.core.plan.inserted import NotADefinitionError, parse_limit
from fieldtui.core.plan.route import Limit
from fieldtui.core.text import counted
from fieldtui.core.verdict.judging import judge_ohms
from fieldtui.core.verdict.temperature import factor_at

_NAMED = 3  # points written out
_RULES = {kind.value: kind for kind in RuleKind}
Row = Mapping[str, str | None]


def why_it_contradicts_itself(text: str) -> str:
    """Points whose verdict is not what their own cells give, in words; empty where there is none.

    A row that cannot be understood, or that lacks what the verdict rests on, is passed over.
    """
    try:
        found = [
            _plain(row.get("point")) for row in csv.DictReader(io.StringIO(text, newline="")) if _is_off(row)
        ]
    except csv.Error:
        return ""
    if not found:
        return ""
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    return (
        f"{counted(len(found), 'row')} of its results.csv cannot be as written, value and verdict do not go "
        f"together: {', '.join(found[:_NAMED])}{more}; put its trail.csv beside it"
    )


def _is_off(row: Row) -> bool:
    try:
        unit = parse_unit(row.get("unit") or "")
        told = _value(row, "as_left", unit)
        judged = _value(row, "judged", unit)
        if told is None or judged is None:
            return False  # record only, or an older file
        return not _is_carried(row, told, judged) or (row.get("verdict") or "") not in _verdicts(row, judged)
    except (NotAResistanceError, NotADefinitionError):
        return False


def _value(row: Row, column: str, unit: Unit) -> Resistance | None:
    cell = row.get(column) or ""
    return Resistance(parse_number(cell), unit) if cell else None


def _is_carried(row: Row, told: Resistance, judged: Resistance) -> bool:
    """Whether the value judged is the one as left: rounded, or carried to 20 C for either metal."""
    factors = [Decimal(1)]
    if celsius := row.get("celsius"):
        sign = -1 if celsius.startswith("-") else 1
        at = sign * parse_number(celsius.removeprefix("-"))
        factors = [factor_at(at, metal) for metal in ALPHA_20]
    steps = told.resolution + judged.resolution
    return any(abs(judged.ohms * factor - told.ohms) <= steps * max(factor, Decimal(1)) for factor in factors)


def _verdicts(row: Row, judged: Resistance) -> Iterator[str]:
    """The verdicts that the cells give: one, or in an older file, which rounds, those on either side."""
    limit = _limit(row, judged.unit)
    if limit is None:
        yield row.get("verdict") or ""  # nothing can be said of it
        return
    if "judged_u" in row:
        expanded = _value(row, "judged_u", judged.unit)
        yield judge_ohms(limit, judged.ohms, expanded.ohms if expanded is not None else None).value
    else:
        half = judged.resolution / 2
        for ohms in (judged.ohms - half, judged.ohms, judged.ohms + half):
            yield judge_ohms(limit, ohms).value


def _limit(row: Row, unit: Unit) -> Limit | None:
    """With its rule; None where the rule is not stated, or cannot be applied for want of U."""
    kind = _RULES.get(row.get("decision") or "")
    if kind is None or (kind is not RuleKind.SIMPLE and "judged_u" not in row):
        return None
    figures = _plain(row.get("limit")).partition(" (")[0]
    factor = parse_number(row.get("guard") or "1")
    return replace(parse_limit(figures, unit), rule=DecisionRule(kind, factor))


def _plain(cell: str | None) -> str:
    """Without the apostrophe of a cell that a spreadsheet would run."""
    return (cell or "").removeprefix("'")
