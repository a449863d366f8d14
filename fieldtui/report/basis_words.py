"""What a verdict rests on, in words: which value was judged, its uncertainty, how likely it conforms."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from fieldtui.core.account.basis import Basis
from fieldtui.core.measurement.decision import DecisionRule
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.route import CriterionStatus, Point

_ALMOST = 0.0005  # a probability nearer to 0 or 1 is not told to a tenth of a percent

STATUSES = {
    CriterionStatus.QUOTED: "quoted: the text was seen in a public copy",
    CriterionStatus.SECOND_HAND: "second-hand: seen as cited by somebody else",
    CriterionStatus.UNVERIFIED: "UNVERIFIED: from memory, to be looked up in its source",
    CriterionStatus.OWN: "own: stated for this job",
}


def two_figures(ohms: Decimal, unit: Unit) -> str:
    """An uncertainty in ohm with two significant digits, rounded half even (GUM 7.2.6)."""
    if not ohms:
        return f"0 {unit.symbol}"
    return str(Resistance(two_digits(ohms), Unit.OHM).to(unit))


def two_digits(value: Decimal) -> Decimal:
    """``value``, which is not nought, with two significant digits, rounded half even."""
    return value.quantize(Decimal(1).scaleb(value.adjusted() - 1))


def rule_words(rule: DecisionRule) -> str:
    """The decision rule: ``guard band 1 U``, or simple acceptance, which is not said beside a limit."""
    return rule.words or "simple acceptance"


def probability_words(probability: float) -> str:
    """``97.7 %``; never 0 or 100, which no reading proves."""
    if probability > 1 - _ALMOST:
        return "above 99.9 %"
    if probability < _ALMOST:
        return "below 0.1 %"
    return f"{probability * 100:.1f} %"


def judged_words(point: Point, basis: Basis) -> str:
    """Which value was held against the limit."""
    judged = basis.judged
    if judged.celsius is not None:
        return f"{judged.value}, corrected to 20 °C from {judged.celsius} °C ({metal_of(point)})"
    if basis.lacks_temperature:
        return f"{judged.value} as measured: to be judged at 20 °C, but no temperature was taken"
    return f"{judged.value} as measured"


def basis_lines(point: Point, basis: Basis) -> Iterator[tuple[str, str]]:
    """Label and text of all that the verdict rests on."""
    unit = basis.judged.measured.unit
    yield "measured", str(basis.judged.measured)
    if not basis.limit.judges:
        yield "judged", "nothing: record only"
    else:
        yield "judged", judged_words(point, basis)
        rule = rule_words(basis.limit.rule)
        lacking = "; the meter states no accuracy: judged by simple acceptance"
        yield "rule", rule + (lacking if basis.lacks_accuracy else "")
    if basis.expanded is None:
        yield "U", "not known: the meter states no accuracy"
    else:
        yield "U", f"{two_figures(basis.expanded, unit)} (expanded)"
    if basis.band:
        yield "guard band", two_figures(basis.band, unit)
    if basis.probability is not None:
        yield "conforms", f"with a probability of {probability_words(basis.probability)}"
