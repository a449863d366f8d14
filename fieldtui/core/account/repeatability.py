"""How far readings of one point lie apart when it is read several times: a type A evaluation.

Source: JCGM 100:2008 (GUM) 4.2 and 4.2.4, the pooled estimate of variance; it is the residual standard
deviation of a one-way analysis of variance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.survey.survey import Survey


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Standard deviation of one reading within its take, pooled over all takes of several readings."""

    deviation: Decimal  # in the unit of the values, or of their share of the take's mean
    freedom: int  # degrees of freedom
    takes: int


def pooled(groups: Iterable[Sequence[Decimal]]) -> Repeatability | None:
    """The pooled standard deviation of groups of values; None where no group has two."""
    squares, freedom, takes = Decimal(0), 0, 0
    for group in groups:
        if len(group) < 2:
            continue
        mean = sum(group, Decimal(0)) / len(group)
        squares += sum(((value - mean) ** 2 for value in group), Decimal(0))
        freedom += len(group) - 1
        takes += 1
    return Repeatability((squares / freedom).sqrt(), freedom, takes) if freedom else None


def repeatability(survey: Survey) -> Repeatability | None:
    """That of a session's readings, as a share of the value: points differ in size, not in how they repeat.

    Void readings do not count, nor takes whose current was reversed: those are to differ.
    """
    takes: dict[tuple[str, int], list[Decimal]] = {}
    for record in survey.records.values():
        point = survey.points[record.point]
        if record.is_valid and point.repeats > 1 and point.method == "single":
            takes.setdefault((record.point, record.take), []).append(record.reading.ohms)
    shares = []
    for values in takes.values():
        mean = sum(values, Decimal(0)) / len(values)
        if mean:
            shares.append([value / mean for value in values])
    return pooled(shares)
