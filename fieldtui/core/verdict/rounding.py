"""How many digits a value is told with, so that what is read stands to its limit as the value does.

A mean and a value carried to 20 C have more digits than anybody reads. Rounded, 2.4625 would be
2.462 and pass ``<= 2.462``, which it does not. The limit itself is never rounded.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal

from fieldtui.core.measurement.ohms import EXACT
from fieldtui.core.plan.route import Limit
from fieldtui.core.verdict.judging import is_within

# Exact values have at most as many digits: after these there is nothing left to round.
FINEST = EXACT.prec


def round_beside(limit: Limit, ohms: Decimal, step: Decimal) -> Decimal:
    """``ohms`` rounded half even to ``step``, or finer where that would be on another side of ``limit``.

    A value so near to its limit that no digits tell the two apart comes back as it is.
    """
    is_met = is_within(limit, ohms)
    for finer in range(FINEST):
        rounded = round_to(ohms, step.scaleb(-finer))
        if not limit.judges or is_within(limit, rounded) is is_met:
            return rounded
    return ohms


def round_to(ohms: Decimal, step: Decimal) -> Decimal:
    """``ohms`` rounded half even to a power of ten; as it is where it has no more digits than fit."""
    if ohms.adjusted() - step.adjusted() >= FINEST:
        return ohms
    return ohms.quantize(step, rounding=ROUND_HALF_EVEN, context=EXACT)
