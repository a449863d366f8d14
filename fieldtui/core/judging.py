"""Hold readings against a limit. Exact: Decimal in, no float anywhere."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Context, Decimal
from enum import Enum

from fieldtui.core.ohms import Resistance
from fieldtui.core.route import Comparator, Limit, Rule

# 15 digits on each side of the point in ohm, some readings added up, and room for the division.
EXACT = Context(prec=60)


class Verdict(Enum):
    """What is said of a reading. The value is the word in files and on screens."""

    PASS = "pass"
    FAIL = "fail"
    NOTED = "recorded"  # record only: no limit, so nothing to pass


def meets(value: Decimal, comparator: Comparator, bound: Decimal) -> bool:
    """Whether ``value comparator bound`` holds; all in the same unit."""
    match comparator:
        case Comparator.LESS:
            return value < bound
        case Comparator.AT_MOST:
            return value <= bound
        case Comparator.MORE:
            return value > bound
        case Comparator.AT_LEAST:
            return value >= bound


def judge_ohms(limit: Limit, ohms: Decimal) -> Verdict:
    """The verdict on a value in ohm, by simple acceptance (ILAC-G8:09/2019 4.2.1)."""
    if limit.record_only or (limit.maximum is None and limit.minimum is None):
        return Verdict.NOTED
    if limit.maximum is not None and not meets(ohms, limit.upper, limit.maximum.ohms):
        return Verdict.FAIL
    if limit.minimum is not None and not meets(ohms, limit.lower, limit.minimum.ohms):
        return Verdict.FAIL
    return Verdict.PASS


def judge(limit: Limit, readings: Sequence[Resistance], rule: Rule = "max") -> Verdict:
    """The verdict on one take: one reading, or several put together by ``rule``.

    With the rule ``max`` every reading of the take must meet the limit, so that a window or a
    minimum is held by the worst reading too.
    """
    if rule == "max":
        verdicts = [judge_ohms(limit, reading.ohms) for reading in readings]
        return Verdict.FAIL if Verdict.FAIL in verdicts else verdicts[0]
    return judge_ohms(limit, combine(readings, rule))


def combine(readings: Sequence[Resistance], rule: Rule) -> Decimal:
    """The value of a take in ohm: the largest, the mean or the median of its readings."""
    ohms = sorted(reading.ohms for reading in readings)
    count = len(ohms)
    match rule:
        case "max":
            return ohms[-1]
        case "mean":
            return _mean(ohms)
        case "median":
            middle = ohms[(count - 1) // 2 : count // 2 + 1]  # one, or the two on either side
            return _mean(middle)


def _mean(ohms: Sequence[Decimal]) -> Decimal:
    total = Decimal(0)
    for each in ohms:
        total = EXACT.add(total, each)
    return EXACT.divide(total, Decimal(len(ohms)))
