"""Hold readings against a limit, by its decision rule. The readings' digits never meet a float.

Sources: ILAC-G8:09/2019 4.2 (simple acceptance, guard band, the four-state statement); for the
three-reading mean, the cancelling of a drift that is linear in time (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from enum import Enum

from fieldtui.core.measurement.decision import RuleKind, conformance_probability, guard_band
from fieldtui.core.measurement.ohms import EXACT, Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.measurement.voltage import reversed_ohms
from fieldtui.core.plan.route import Comparator, Limit, Rule


class Verdict(Enum):
    """What is said of a reading. The value is the word in files and on screens.

    A conditional pass leaves its point passed and a conditional fail leaves it failed; the word
    tells the reviewer that the uncertainty reaches across the limit.
    """

    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"  # meets the limit, but not by the guard band
    CONDITIONAL_FAIL = "conditional fail"  # misses the limit, but not by the guard band
    FAIL = "fail"
    NOTED = "recorded"  # record only: no limit, so nothing to pass

    # A member is the only one of its kind; by its name, as enum does it, takes five times as long.
    __hash__ = object.__hash__

    @property
    def is_failed(self) -> bool:
        """Whether it leaves its point failed."""
        return self in (Verdict.CONDITIONAL_FAIL, Verdict.FAIL)


_WORST_FIRST = (Verdict.FAIL, Verdict.CONDITIONAL_FAIL, Verdict.CONDITIONAL_PASS, Verdict.PASS, Verdict.NOTED)
_NO_BAND = Decimal(0)


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


def is_within(limit: Limit, ohms: Decimal, band: Decimal = _NO_BAND) -> bool:
    """Whether a value meets the limit drawn in by ``band``, or let out where it is negative; in ohm."""
    top, bottom = limit.maximum, limit.minimum
    return (top is None or meets(ohms, limit.upper, EXACT.subtract(top.ohms, band))) and (
        bottom is None or meets(ohms, limit.lower, EXACT.add(bottom.ohms, band))
    )


def judge_ohms(limit: Limit, ohms: Decimal, expanded: Decimal | None = None) -> Verdict:
    """The verdict on a value in ohm by the limit's decision rule.

    Args:
        limit: its comparators hold at the acceptance limit and at the outer one as well.
        ohms: the value.
        expanded: its expanded uncertainty U in ohm. None where the meter states no accuracy: then
            every rule is simple acceptance, and :func:`lacks_accuracy` says that it should not be.
    """
    if not limit.judges:
        return Verdict.NOTED
    conforms = is_within(limit, ohms)
    if expanded is None or limit.rule.kind is RuleKind.SIMPLE:
        return Verdict.PASS if conforms else Verdict.FAIL
    band = guard_band(limit.rule, expanded)
    if is_within(limit, ohms, band):
        return Verdict.PASS
    if limit.rule.kind is RuleKind.GUARDED:
        return Verdict.FAIL
    if conforms:
        return Verdict.CONDITIONAL_PASS
    return Verdict.CONDITIONAL_FAIL if is_within(limit, ohms, -band) else Verdict.FAIL


def judge(
    limit: Limit,
    readings: Sequence[Resistance],
    rule: Rule = "max",
    accuracy: Accuracy | None = None,
    *,
    each: Sequence[Accuracy | None] = (),
) -> Verdict:
    """The verdict on one take: one reading, or several put together by ``rule``.

    With the rule ``max`` every reading of the take must meet the limit, so that a window or a
    minimum is held by the worst reading too.

    Args:
        limit: what the take is held against.
        readings: in the order taken.
        rule: how they come to a value.
        accuracy: the meter's, None where not stated.
        each: instead, where they were taken with more than one meter: that of each reading's.
    """
    stated = each or [accuracy] * len(readings)
    if limit.rule.kind is RuleKind.SIMPLE or not limit.judges:
        stated = [None] * len(readings)  # U changes nothing
    if rule == "max":
        return worst(
            judge_ohms(limit, reading.ohms, expanded_of(reading.ohms, [reading], [its]))
            for reading, its in zip(readings, stated, strict=True)
        )
    ohms = combine(readings, rule)
    return judge_ohms(limit, ohms, expanded_of(ohms, readings, stated))


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of some verdicts."""
    return min(verdicts, key=_WORST_FIRST.index)


def conformance(limit: Limit, reading: Resistance, accuracy: Accuracy | None) -> float | None:
    """Probability that the true value meets ``limit``; None where nothing is judged or stated.

    Source: JCGM 106:2012 7.3, a normal density and no prior knowledge.
    """
    if accuracy is None or not limit.judges:
        return None
    lower, upper = (None if bound is None else bound.ohms for bound in (limit.minimum, limit.maximum))
    return conformance_probability(reading.ohms, accuracy.budget(reading).standard, lower, upper)


def lacks_accuracy(limit: Limit, accuracy: Accuracy | None) -> bool:
    """Whether the limit's rule asks for an uncertainty that the meter does not state.

    Such a limit judges by simple acceptance; whoever shows its verdicts has to say so.
    """
    return limit.judges and limit.rule.kind is not RuleKind.SIMPLE and accuracy is None


def combine(readings: Sequence[Resistance], rule: Rule) -> Decimal:
    """The value of a take in ohm: the largest, the mean, the median, or the drift-free mean.

    ``drift-free`` is (r1 + 2 r2 + r3) / 4 of three readings in the order taken, the current
    reversed for the second: thermal voltages cancel, and so does their drift. Of any other
    number of readings it is the plain mean. Voltages with their sign: :func:`voltage.reversed_ohms`.
    """
    if rule in ("mean", "drift-free") and (ohms_of_voltages := reversed_ohms(readings)) is not None:
        return ohms_of_voltages
    taken = [reading.ohms for reading in readings]
    if rule == "drift-free" and len(taken) == 3:
        return _mean([taken[0], taken[1], taken[1], taken[2]])
    ohms = sorted(taken)
    count = len(ohms)
    match rule:
        case "max":
            return ohms[-1]
        case "mean" | "drift-free":
            return _mean(ohms)
        case "median":
            middle = ohms[(count - 1) // 2 : count // 2 + 1]  # one, or the two on either side
            return _mean(middle)


def accuracy_of(
    ohms: Decimal, readings: Sequence[Resistance], stated: Sequence[Accuracy | None]
) -> Accuracy | None:
    """The accuracy that a value in ohm has, made of ``readings`` by meters of accuracies ``stated``.

    Readings of one meter share its error, so a mean of several is no more certain than one. Of
    several meters the one counts that is least sure of the value; None where one states nothing.
    The display's step is in it: that of the readings, where the meter does not state one.
    """
    shown: dict[Accuracy, Decimal] = {}
    for reading, accuracy in zip(readings, stated, strict=True):
        if accuracy is None:
            return None
        shown[accuracy] = max(reading.resolution, shown.get(accuracy, reading.resolution))
    found = [
        replace(accuracy, resolution=accuracy.resolution or Resistance(step, Unit.OHM))
        for accuracy, step in shown.items()
    ]
    value = Resistance(ohms, Unit.OHM)
    return found[0] if len(found) == 1 else max(found, key=lambda each: each.expanded(value))


def expanded_of(
    ohms: Decimal, readings: Sequence[Resistance], stated: Sequence[Accuracy | None]
) -> Decimal | None:
    """U in ohm of such a value; None where a meter states no accuracy."""
    accuracy = accuracy_of(ohms, readings, stated)
    return accuracy.expanded(Resistance(ohms, Unit.OHM)) if accuracy is not None else None


def _mean(ohms: Sequence[Decimal]) -> Decimal:
    total = Decimal(0)
    for each in ohms:
        total = EXACT.add(total, each)
    return EXACT.divide(total, Decimal(len(ohms)))
