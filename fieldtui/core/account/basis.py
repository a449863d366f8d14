"""What a verdict rests on: the limit as held, the value judged, its uncertainty, and how likely it conforms.

Sources: JCGM 106:2012 7.3 (conformance probability); ILAC-G8:09/2019 4.2 (guard band); the correction
to 20 C is that of ``temperature``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from fieldtui.core.measurement.decision import guard_band
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Conditions, Result, limit_for
from fieldtui.core.verdict.judging import conformance, expanded_uncertainty, lacks_accuracy
from fieldtui.core.verdict.temperature import Judged, judged_value, lacks_temperature, limit_at, metal_of


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
    conditions = conditions.of(result.last)
    accuracy = conditions.of(result.last).accuracy  # of the meter it was taken with
    expanded = band = probability = None
    if accuracy is not None:
        # A mean has more digits than the display ever showed: the step is that of its readings.
        step = max(record.reading.resolution for record in result.records)
        expanded = expanded_uncertainty(accuracy, result.value.ohms, step)
        band = guard_band(limit.rule, expanded) if limit.judges else None
        shown = replace(accuracy, resolution=accuracy.resolution or Resistance(step, Unit.OHM))
        probability = conformance(held, result.value, shown)
    return Basis(
        limit=limit,
        judged=judged,
        expanded=expanded,
        band=band,
        probability=probability,
        lacks_accuracy=lacks_accuracy(limit, accuracy),
        lacks_temperature=lacks_temperature(point, conditions.celsius),
    )


def used_share(limit: Limit, value: Decimal) -> Decimal | None:
    """The part of its limit that a value in ohm uses: 1 stands on the limit, more is beyond.

    Of a window the bound that is nearer counts. None where there is no limit to use.
    """
    if not limit.judges:
        return None
    shares = []
    if limit.maximum is not None and limit.maximum.ohms > 0:
        shares.append(value / limit.maximum.ohms)
    if limit.minimum is not None:
        shares.append(limit.minimum.ohms / value if value > 0 else Decimal("Infinity"))
    return max(shares, default=None)


def share_of(point: Point, result: Result, celsius: Decimal | None) -> Decimal | None:
    """The part of its limit that the judged value of ``result`` uses; None where nothing is judged."""
    limit = limit_for(point, retest=result.last.retest)
    return used_share(limit, judged_value(point, result.value, celsius).value.ohms)
