"""A limit as a file states it, turned into the core's, with every contradiction named."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Protocol

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.verdict.judging import meets
from fieldtui.files.route.schema import LimitModel
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.schema import Findings

_STRICT = {Comparator.LESS: Comparator.MORE, Comparator.AT_MOST: Comparator.AT_LEAST}
_NO_BOUND = Limit()


class StatesRule(Protocol):
    """A table that may say how uncertainty counts."""

    @property
    def decision(self) -> RuleKind | None: ...

    @property
    def guard(self) -> Decimal | None: ...


def limit_of(
    model: LimitModel,
    unit: Unit,
    criteria: Mapping[str, Criterion],
    path: Path,
    findings: Findings,
    like: Limit = _NO_BOUND,
) -> Limit | None:
    """The limit that ``model`` states, or None with the reason in ``findings``.

    Args:
        model: the limit as read.
        unit: the unit of its figures where it names none.
        criteria: what a criterion id may refer to.
        path: where the limit stands.
        like: the limit whose comparators count where this one gives none.
    """
    has_figures = model.max is not None or model.min is not None
    of_criterion = None
    if model.criterion is not None:  # a misspelt one is told whatever else is wrong
        of_criterion = criterion_limit(model.criterion, criteria, (*path, "criterion"), findings)
    if (model.criterion is not None) + model.record_only + has_figures > 1:
        findings.add(
            path, "a limit of more than one kind", "give figures, or criterion, or record_only = true"
        )
        return None
    if (model.criterion is not None or model.record_only) and (model.cmp or model.unit):
        findings.add(path, "cmp and unit belong to max and min", "take them out")
        return None
    if model.criterion is not None:
        return of_criterion
    if model.record_only:
        return RECORD_ONLY
    if not has_figures:
        findings.add(path, "the limit has no figure", "give max or min, or criterion, or record_only = true")
        return None
    return _figures(model, model.unit or unit, path, findings, like)


def criterion_limit(
    criterion: str, criteria: Mapping[str, Criterion], path: Path, findings: Findings
) -> Limit | None:
    """The limit of a criterion named at ``path``, or None where the table has none such."""
    found = criteria.get(criterion)
    if found is not None:
        return found.limit
    remedy = (
        findings.nearest(criterion, criteria) if criteria else "the table of criteria is empty or missing"
    )
    findings.add(path, f'criterion "{criterion}" is not in the table of criteria', remedy)
    return None


def stated_rule(model: StatesRule, path: Path, findings: Findings) -> DecisionRule | None:
    """The decision rule that a table at ``path`` states, None where it states none."""
    if model.decision is None:
        if model.guard is not None:
            findings.add((*path, "guard"), "guard without decision", 'add decision = "guarded" beside it')
        return None
    if model.guard is None:
        return DecisionRule(model.decision)
    if model.decision is RuleKind.SIMPLE:
        findings.add((*path, "guard"), "simple acceptance has no guard band", "take guard out")
    return DecisionRule(model.decision, model.guard)


def is_outside(limit: Limit, low: Resistance, high: Resistance) -> bool:
    """Whether no value from ``low`` to ``high`` can meet ``limit``."""
    too_high = limit.maximum is not None and not meets(low.ohms, limit.upper, limit.maximum.ohms)
    too_low = limit.minimum is not None and not meets(high.ohms, limit.lower, limit.minimum.ohms)
    return too_high or too_low


def is_looser(limit: Limit, than: Limit) -> bool:
    """Whether ``limit`` lets a value pass that ``than`` does not."""
    if than.maximum is not None:
        if limit.maximum is None or limit.maximum.ohms > than.maximum.ohms:
            return True
        if limit.maximum.ohms == than.maximum.ohms and limit.upper is not than.upper is Comparator.LESS:
            return True
    if than.minimum is not None:
        if limit.minimum is None or limit.minimum.ohms < than.minimum.ohms:
            return True
        if limit.minimum.ohms == than.minimum.ohms and limit.lower is not than.lower is Comparator.MORE:
            return True
    return False


def _figures(model: LimitModel, unit: Unit, path: Path, findings: Findings, like: Limit) -> Limit | None:
    upper, lower = like.upper, like.lower
    if model.max is not None and model.min is not None and model.min >= model.max:
        findings.add(
            path, f"the window is upside down: min {model.min} to max {model.max}", "swap min and max"
        )
        return None
    if model.cmp is not None:
        if model.max is not None and model.cmp not in _STRICT:
            findings.add((*path, "cmp"), f'"{model.cmp.value}" cannot go with max', 'use "<" or "<="')
            return None
        if model.max is None and model.cmp in _STRICT:
            findings.add((*path, "cmp"), f'"{model.cmp.value}" cannot go with min', 'use ">" or ">="')
            return None
        upper = model.cmp if model.max is not None else upper
        lower = _STRICT.get(model.cmp, model.cmp)  # a window is strict at both ends, or at none
    return Limit(
        maximum=None if model.max is None else Resistance(model.max, unit),
        minimum=None if model.min is None else Resistance(model.min, unit),
        upper=upper if model.max is not None else Comparator.AT_MOST,
        lower=lower if model.min is not None else Comparator.AT_LEAST,
    )
