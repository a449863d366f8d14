"""What a verdict rests on: the limit as held, the value judged, its uncertainty, and how likely it conforms.

Sources: JCGM 106:2012 7.3 (conformance probability); ILAC-G8:09/2019 4.2 (guard band); the correction
to 20 C is that of ``temperature``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.measurement.decision import guard_band
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Conditions, Result, limit_for
from fieldtui.core.verdict.judging import accuracy_of, combine, conformance, lacks_accuracy
from fieldtui.core.verdict.temperature import Judged, judged_value, lacks_temperature, limit_at


@dataclass(frozen=True, slots=True)
class Basis:
    """What the verdict on one result rests on; uncertainties in ohm, None where the meter states none."""

    limit: Limit  # as stated, for a value at 20 C where the point is judged so
    judged: Judged
    expanded: Decimal | None  # U of the value as measured
    band: Decimal | None  # width of the guard band
    probability: float | None  # that the true value meets the limit
    lacks_accuracy: bool  # the rule asks for an uncertainty that nobody stated
    lacks_temperature: bool  # to be judged at 20 C, and judged as measured


def basis_of(point: Point, result: Result, conditions: Conditions) -> Basis:
    """What the verdict on ``result`` at ``point`` rests on."""
    limit = limit_for(point, retest=result.last.retest)
    judged = judged_value(point, result.value, conditions.celsius)
    # A reading is never changed: its limit is carried to the temperature it was taken at.
    held = limit_at(limit, judged.celsius, metal_of(point)) if judged.celsius is not None else limit
    accuracy = accuracy_behind(point, result, conditions)
    expanded = band = probability = None
    if accuracy is not None:
        expanded = accuracy.expanded(result.value)
        band = guard_band(limit.rule, expanded) if limit.judges else None
        probability = conformance(held, result.value, accuracy)
    return Basis(
        limit=limit,
        judged=judged,
        expanded=expanded,
        band=band,
        probability=probability,
        lacks_accuracy=any(lacks_accuracy(limit, each) for each in conditions.of_each(result.records)),
        lacks_temperature=lacks_temperature(point, conditions.celsius),
    )


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
    """The part of its limit that the judged value of ``result`` uses; None where nothing is judged."""
    limit = limit_for(point, retest=result.last.retest)
    return used_share(limit, judged_value(point, result.value, celsius).value.ohms)
