"""What a verdict rests on: the limit as held, the value judged, its uncertainty, and how likely it conforms.

Sources: JCGM 106:2012 7.3 (conformance probability); ILAC-G8:09/2019 4.2 (guard band); the correction
to 20 C is that of ``temperature``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.measurement.decision import guard_band
from fieldtui.core.measurement.ohms import EXACT, Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Conditions, Result, held_limit, limit_for
from fieldtui.core.verdict.judging import accuracy_of, combine, conformance, is_within, lacks_accuracy
from fieldtui.core.verdict.temperature import Judged, factor_at, judged_value, lacks_temperature

_FAR = 100  # times the limit, from which on a figure says nothing


@dataclass(frozen=True, slots=True)
class Basis:
    """What the verdict on one result rests on; uncertainties in ohm, None where the meter states none."""

    limit: Limit  # as stated, for a value at 20 C where the point is judged so
    judged: Judged
    ohms: Decimal  # what is judged, exactly: of a mean and at 20 C ``judged`` is rounded
    expanded: Decimal | None  # U of the value as measured
    judged_expanded: Decimal | None  # U of the value judged: at 20 C that is another
    band: Decimal | None  # width of the guard band
    probability: float | None  # that the true value meets the limit
    lacks_accuracy: bool  # the rule asks for an uncertainty that nobody stated
    lacks_temperature: bool  # to be judged at 20 C, and judged as measured


def basis_of(point: Point, result: Result, conditions: Conditions) -> Basis:
    """What the verdict on ``result`` at ``point`` rests on."""
    limit = limit_for(point, retest=result.last.retest)
    judged = judged_of(point, result, conditions.celsius)
    # A reading is never changed: its limit is carried to the temperature it was taken at.
    held = held_limit(point, retest=result.last.retest, celsius=conditions.celsius)
    accuracy = accuracy_behind(point, result, conditions)
    factor = factor_at(judged.celsius, metal_of(point)) if judged.celsius is not None else Decimal(1)
    exact = Resistance(exact_ohms(point, result), Unit.OHM)
    expanded = at_judged = band = probability = None
    if accuracy is not None:
        expanded = accuracy.expanded(exact)
        at_judged = EXACT.divide(expanded, factor)
        band = guard_band(limit.rule, expanded) if limit.judges else None
        probability = conformance(held, exact, accuracy)
    return Basis(
        limit=limit,
        judged=judged,
        ohms=EXACT.divide(exact.ohms, factor),
        expanded=expanded,
        judged_expanded=at_judged,
        band=band,
        probability=probability,
        lacks_accuracy=any(lacks_accuracy(limit, each) for each in conditions.of_each(result.records)),
        lacks_temperature=lacks_temperature(point, conditions.celsius),
    )


def judged_of(point: Point, result: Result, celsius: Decimal | None) -> Judged:
    """The value of ``result`` that is judged, with digits enough to stand to its limit as it does exactly."""
    limit = limit_for(point, retest=result.last.retest)
    return judged_value(point, result.value, celsius, limit=limit, ohms=exact_ohms(point, result))


def exact_ohms(point: Point, result: Result) -> Decimal:
    """The value in ohm that ``result`` is judged by; ``result.value`` of a mean is rounded to be shown."""
    if point.rule == "max":
        return result.value.ohms
    return combine([record.reading for record in result.records], point.rule)


def accuracy_behind(point: Point, result: Result, conditions: Conditions) -> Accuracy | None:
    """The accuracy that the value of ``result`` was judged with, the display's step in it; None for none.

    By the rule ``max`` it is that of the reading which the value is; else of the meter that is least
    sure of the value, where there was more than one.
    """
    records = result.records
    if point.rule == "max":
        records = tuple(record for record in records if record.reading == result.value)
    readings = [record.reading for record in records]
    return accuracy_of(result.value.ohms, readings, conditions.of_each(records))


def used_share(limit: Limit, value: Decimal) -> Decimal | None:
    """The part of its limit that a value in ohm uses: 1 stands on the limit, more is beyond.

    Of a window that is the distance from its middle in half widths: nought in the middle, 1 at either bound.
    None where there is no limit to use.
    """
    if not limit.judges:
        return None
    if limit.maximum is not None and limit.minimum is not None:
        low, high = limit.minimum.ohms, limit.maximum.ohms
        away = abs(2 * value - low - high)
        if high > low:
            return away / (high - low)
        return Decimal("Infinity") if away else Decimal(1)
    if limit.maximum is not None and limit.maximum.ohms > 0:
        return value / limit.maximum.ohms
    if limit.minimum is not None:
        return limit.minimum.ohms / value if value > 0 else Decimal("Infinity")
    return None


def share_of(point: Point, result: Result, celsius: Decimal | None) -> Decimal | None:
    """The part of its limit that the value of ``result`` uses; None where nothing is judged.

    Exact, and not of the value as it is shown: of a mean and of one carried to 20 C that is rounded. Of
    several readings which all must meet the limit it is that of the worst.
    """
    limit = held_limit(point, retest=result.last.retest, celsius=celsius)
    return _worst_share(limit, _judged_ohms(point, result))


def share_words(point: Point, result: Result, celsius: Decimal | None) -> str:
    """``97 %``: how much of its limit a value uses, never 100; empty where nothing is judged."""
    limit = held_limit(point, retest=result.last.retest, celsius=celsius)
    return used_words(limit, *_judged_ohms(point, result))


def is_met(point: Point, result: Result, celsius: Decimal | None) -> bool:
    """Whether the value of ``result`` meets its limit as stated, whatever the decision rule makes of it."""
    limit = held_limit(point, retest=result.last.retest, celsius=celsius)
    return all(is_within(limit, ohms) for ohms in _judged_ohms(point, result))


def used_words(limit: Limit, *values: Decimal) -> str:
    """How much of ``limit`` the worst of some values in ohm uses, in percent; empty where it judges nothing.

    Rounding never takes a share across the limit or on to it: 100.4 is not 100. What stands on the limit
    itself is ``≤100 %`` where the limit takes it in, else ``≥100 %``; beyond a hundredfold the figure
    says nothing.
    """
    share = _worst_share(limit, values)
    if share is None:
        return ""
    if share >= _FAR:
        return "far above"
    percent = share * 100
    if share == 1:
        return "≤100 %" if all(is_within(limit, ohms) for ohms in values) else "≥100 %"
    for places in (0, 1):
        if Decimal(said := f"{percent:.{places}f}") != 100:
            return f"{said} %"
    return ">100 %" if share > 1 else "<100 %"


def _judged_ohms(point: Point, result: Result) -> tuple[Decimal, ...]:
    """What is held against the limit: each reading by the rule ``max``, else what they come to."""
    if point.rule == "max":
        return tuple(record.reading.ohms for record in result.records)
    return (exact_ohms(point, result),)


def _worst_share(limit: Limit, values: Sequence[Decimal]) -> Decimal | None:
    shares = [share for ohms in values if (share := used_share(limit, ohms)) is not None]
    return max(shares, default=None)
