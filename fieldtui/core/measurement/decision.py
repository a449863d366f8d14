"""Decision rules: how uncertainty enters a verdict.

Sources: ILAC-G8:09/2019 4.2 (simple acceptance, guard band, non-binary statement); JCGM 106:2012
clause 7 and 8.3 (conformance probability). Probabilities are floats; the digits that are compared
with a limit stay Decimal.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from statistics import NormalDist

from fieldtui.core.measurement.ohms import EXACT


class RuleKind(Enum):
    """The value is the word in files."""

    SIMPLE = "simple"  # the limit itself, uncertainty not considered
    GUARDED = "guarded"  # pass only below the limit less the guard band
    FOUR_STATES = "four-state"  # pass, conditional pass, conditional fail, fail


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """``factor`` is r in the guard band w = r U."""

    kind: RuleKind = RuleKind.SIMPLE
    factor: Decimal = Decimal(1)

    @property
    def words(self) -> str:
        """What is said beside a limit: ``guard band 1 U``; empty for simple acceptance, the usual rule.

        With it, the limit and U anybody can work out the verdict (terms of ILAC-G8:09/2019 4.2).
        """
        match self.kind:
            case RuleKind.SIMPLE:
                return ""
            case RuleKind.GUARDED:
                return f"guard band {self.factor:f} U"
            case RuleKind.FOUR_STATES:
                return f"four states, guard band {self.factor:f} U"


SIMPLE = DecisionRule()


def guard_band(rule: DecisionRule, expanded: Decimal) -> Decimal:
    """The width w of the guard band, in the unit of ``expanded``; zero for simple acceptance."""
    return Decimal(0) if rule.kind is RuleKind.SIMPLE else EXACT.multiply(rule.factor, expanded)


def conformance_probability(
    value: Decimal, standard: Decimal, lower: Decimal | None, upper: Decimal | None
) -> float:
    """Probability that the true value lies within the limits, given what was read.

    Args:
        value: what was read.
        standard: its standard uncertainty, same unit; zero for a value taken as exact.
        lower, upper: the limits, same unit; None where there is none.

    Source: JCGM 106:2012 7.3 with a normal density and no prior knowledge.
    """
    if standard == 0:
        inside = (lower is None or value >= lower) and (upper is None or value <= upper)
        return 1.0 if inside else 0.0
    standing = NormalDist(float(value), float(standard))
    below = standing.cdf(float(upper)) if upper is not None else 1.0
    return below - (standing.cdf(float(lower)) if lower is not None else 0.0)


def false_accept_risk(guard_factor: float) -> float:
    """Largest risk of accepting what does not conform, at the acceptance limit, for w = r U, U = 2 u.

    Source: ILAC-G8:09/2019 table 1 (specific risk, value exactly at the acceptance limit).
    """
    return NormalDist().cdf(-2 * guard_factor)
