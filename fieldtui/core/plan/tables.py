"""What the crew's common tables hold: criteria, instruments, reasons, cautions. Values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fieldtui.core.measurement.decision import DecisionRule
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit


@dataclass(frozen=True, slots=True)
class Criterion:
    """An acceptance limit with its published source. ``limit.criterion`` equals ``id``."""

    id: str
    title: str
    limit: Limit
    clause: str = ""
    rule: DecisionRule | None = None  # None where the criterion leaves it to the route


@dataclass(frozen=True, slots=True)
class CheckStandard:
    """The reference resistor read before and after the walk."""

    value: Resistance
    tolerance: Resistance  # largest allowed difference from ``value``
    title: str = ""


@dataclass(frozen=True, slots=True)
class Instrument:
    """A meter. Its memory files readings under running numbers and knows nothing else."""

    id: str
    title: str
    serial: str = ""
    unit: Unit = Unit.MOHM
    memory_size: int = 0  # readings one filling holds; 0 for a meter that keeps none
    first_number: int = 1  # number of the first reading in an empty memory
    calibration_due: date | None = None
    auto_off_s: int = 0  # idle seconds until the meter switches itself off; 0 for never
    check_standard: CheckStandard | None = None
    standard_every: int = 0  # readings between two checks on it, on every route; 0 for no prompt
    accuracy: Accuracy | None = None  # as its maker or its certificate states it
    erased_number_stays_used: bool = True  # the number of an erased entry is not given out again
    spoiled_number_stays_used: bool = True  # a try that was filed without a value uses up a number
    settle_s: int = 0  # seconds from the probes' touch to a value that stands still; 0 where not known


@dataclass(frozen=True, slots=True)
class Reasons:
    """Reasons offered by each picker, by event kind; the first nine answer to a digit."""

    by_kind: Mapping[str, tuple[str, ...]]

    def of(self, kind: str) -> tuple[str, ...]:
        return self.by_kind.get(kind, ())


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety caution, shown in the brief and in the report."""

    id: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Tables:
    """The crew's common tables together."""

    criteria: Mapping[str, Criterion]
    instruments: Mapping[str, Instrument]
    reasons: Reasons
    cautions: tuple[Caution, ...]
