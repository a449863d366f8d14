"""The plan: a route of points in sections, each with its limit. Values only, no files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import Enum
from types import MappingProxyType
from typing import Literal

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.voltage import default_volt_unit


class Comparator(Enum):
    """How a value stands to a bound. Published limits mix strict and non-strict ones."""

    LESS = "<"
    AT_MOST = "<="
    MORE = ">"
    AT_LEAST = ">="


class CriterionStatus(Enum):
    """How sure we are of a published limit."""

    QUOTED = "quoted"  # the text was seen in a public copy
    SECOND_HAND = "second-hand"  # seen as cited by somebody else
    UNVERIFIED = "unverified"  # from memory; never judges without saying so
    OWN = "own"  # the crew's own figure, e.g. from approved maintenance data


@dataclass(frozen=True, slots=True)
class Limit:
    """What a reading is held against.

    ``maximum`` and ``minimum`` may both be set (a window). ``upper`` is ``<`` or ``<=`` and
    belongs to ``maximum``; ``lower`` is ``>`` or ``>=`` and belongs to ``minimum``.
    With ``record_only`` nothing is judged. ``rule`` says how the reading's uncertainty counts.
    """

    maximum: Resistance | None = None
    minimum: Resistance | None = None
    upper: Comparator = Comparator.AT_MOST
    lower: Comparator = Comparator.AT_LEAST
    record_only: bool = False
    criterion: str = ""  # id in the criteria table, empty where the route states the figure itself
    source: str = ""
    status: CriterionStatus = CriterionStatus.OWN
    rule: DecisionRule = SIMPLE

    @property
    def judges(self) -> bool:
        """False for a limit that only has values recorded."""
        return not self.record_only and not (self.maximum is None and self.minimum is None)

    @property
    def is_unverified(self) -> bool:
        """Whether it judges by a figure from memory: whoever shows its verdict has to say so."""
        return self.judges and self.status is CriterionStatus.UNVERIFIED

    def __str__(self) -> str:
        return self.words()

    def words(self, unit: Unit | None = None) -> str:
        """All that has to be known of it: figures, decision rule, and whether it is from memory.

        ``<= 0.003 Ω = 3 mΩ, guard band 1 U``; ``unit`` is the one of the values beside it.
        """
        doubt = "UNVERIFIED" if self.is_unverified else ""
        return ", ".join(filter(None, (self.figures_in(unit), self.rule_words, doubt)))

    @property
    def rule_words(self) -> str:
        """How the uncertainty counts, to stand beside the figures; empty for simple acceptance."""
        return self.rule.words if self.judges else ""

    @property
    def figures(self) -> str:
        """The bounds with their comparators, and nothing of where they come from."""
        return self.figures_in(None)

    def figures_in(self, unit: Unit | None) -> str:
        """The bounds, each also in ``unit`` where it is stated in another."""
        if not self.judges:
            return "record only"
        bounds = ((self.lower, self.minimum), (self.upper, self.maximum))
        return " and ".join(
            f"{comparator.value} {bound.in_both(unit)}" for comparator, bound in bounds if bound is not None
        )


RECORD_ONLY = Limit(record_only=True)


@dataclass(frozen=True, slots=True)
class Expected:
    """The band in which a sound bond of this kind reads, both ends inclusive."""

    low: Resistance
    high: Resistance


Metal = Literal["copper", "aluminium"]


@dataclass(frozen=True, slots=True)
class Conductor:
    """The jumper or conductor between A and B."""

    length_mm: Decimal
    awg: str = ""  # "12", "4/0"; empty where mm2 is given
    mm2: Decimal | None = None
    metal: Metal = "copper"


# How the readings of one take are put together; "drift-free" belongs to the three-reading method.
Rule = Literal["max", "mean", "median", "drift-free"]
Method = Literal["single", "reversed", "three-reading"]
METHOD_READINGS: Mapping[Method, int] = MappingProxyType({"single": 1, "reversed": 2, "three-reading": 3})
METHOD_RULES: Mapping[Method, Rule] = MappingProxyType(
    {"single": "max", "reversed": "mean", "three-reading": "drift-free"}
)


@dataclass(frozen=True, slots=True)
class Point:
    """One A-to-B measurement."""

    id: str
    section: str
    title: str
    unit: Unit
    limit: Limit
    where: str = ""
    a: str = ""
    b: str = ""
    retest: Limit | None = None
    expected: Expected | None = None
    conductor: Conductor | None = None
    repeats: int = 1
    rule: Rule = "max"
    method: Method = "single"  # or the current one way, the other, and perhaps the first again
    current_ma: Decimal | None = None  # test current, mA, where voltages are keyed; reversed methods only
    correct_to_20: bool = False  # judged as it would read at 20 C
    metal: Metal = "copper"  # of what is so judged, where no conductor says it
    pair: str = ""
    family: str = ""
    condition: str = ""
    prepare: str = ""
    restore: str = ""
    caution: str = ""
    at: tuple[Decimal, Decimal, Decimal] | None = None
    unplanned: bool = False  # inserted during the walk

    @property
    def keyed_in(self) -> str:
        """The unit of a value keyed without one: ``mΩ``, or ``±mV`` where voltages are keyed."""
        return self.unit.symbol if self.current_ma is None else f"±{default_volt_unit(self.unit).symbol}"


@dataclass(frozen=True, slots=True)
class Section:
    """Part of a route with a legal stopping place at its end."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class PathLimit:
    """A chain of points in series whose values together have a limit of their own."""

    id: str
    title: str
    points: tuple[str, ...]
    limit: Limit


@dataclass(frozen=True, slots=True)
class Route:
    """An ordered plan. ``name`` is the file's stem and ties sessions of one route together.

    ``celsius`` is the temperature of what is measured, where some point is judged at 20 C: a
    session's fact, None in a plan.
    """

    name: str
    title: str
    asset: str
    revision: str
    source: str
    unit: Unit
    check_every: int
    sections: tuple[Section, ...]
    points: tuple[Point, ...]
    paths: tuple[PathLimit, ...] = ()
    standard_every: int = 0  # readings between two checks of the meter on its standard; 0 for no prompt
    celsius: Decimal | None = None
    rule: DecisionRule = SIMPLE  # of a limit that states none itself, such as an unplanned point's
    by_id: Mapping[str, Point] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_id", MappingProxyType({point.id: point for point in self.points}))

    @property
    def wants_temperature(self) -> bool:
        """Whether some point is judged as it would read at 20 C."""
        return any(point.correct_to_20 for point in self.points)

    def at_temperature(self, celsius: Decimal | None) -> Route:
        """The route as walked at ``celsius``; the same where no point asks for it."""
        return replace(self, celsius=celsius) if self.wants_temperature else self

    def section_title(self, section_id: str) -> str:
        return next((s.title for s in self.sections if s.id == section_id), section_id)
