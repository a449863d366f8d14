"""The hidden states behind the drift watch, how they change, and how they show in a reading.

The prober is ``d`` points ahead of the record (``d < 0``: behind), or walks the section from its
far end. States stand in one row: ``-reach … reach``, then the reversed section. How far the
learned spreads hold today (:data:`SPREAD_FACTORS`) and how many readings are strays today
(:data:`STRAY_SHARES`) is a second, unchanging hypothesis, so a belief is one row of states for each
pair of factor and share, all of it summing to one.

Method: Rabiner, "A tutorial on hidden Markov models", Proc. IEEE 77 (1989).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from fieldtui.core.drift.expectations import DEFAULT_STRAYS, Expectation, population

Row = tuple[float, ...]
Belief = tuple[Row, ...]

SPREAD_FACTORS = (0.5, 0.7, 1.0, 1.4, 2.0)  # today's spread against the learned one
_FACTOR_SPREAD = 0.35  # ln units; common practice, no source
# Shares of strays that today may have, no source: hardly one, or so many that no single reading is
# to be believed. What earlier surveys show says which is likelier; the readings soon know better.
STRAY_SHARES = (0.001, 0.02)


@dataclass(frozen=True, slots=True)
class Rates:
    """How often things go wrong; all are chances, all settable.

    No rate for passing over a point was found in print. ``slip`` stands between the published
    0.29 % of single-entry keying errors (Garza et al. 2025) and the 3.7 % of values that differ
    between a handheld instrument and its record (Mays & Mathias 2019). The others are common
    practice, no source.
    """

    slip: float = 0.01  # per reading: prober and record part, or part further, or meet again
    wider: float = 0.1  # each further point of a slip is this much less likely
    reverse: float = 0.003  # per section: walked from its far end
    stray: float = DEFAULT_STRAYS  # per reading, expected: a failed bond, a bad contact; says nothing
    reach: int = 6  # points ahead or behind that are told apart

    def __post_init__(self) -> None:
        chances = (self.slip, self.wider, self.reverse, self.stray)
        if not all(0 < chance < 1 for chance in chances) or self.reach < 1:
            raise ValueError("rates are chances between 0 and 1, and reach is at least 1")


@dataclass(frozen=True, slots=True)
class Model:
    """Everything about the drift watch that stays the same from reading to reading.

    ``table[i]`` is ``(mean, 1 / 2 spread², height)`` of planned place ``i - reach``; the ``reach``
    places before and after the plan are "some reading".
    """

    plan: tuple[Expectation, ...]
    rates: Rates
    hypotheses: tuple[tuple[float, float], ...]  # spread factor and share of strays, by row of a belief
    weights: Row  # how likely each is before the first reading
    table: tuple[tuple[float, float, float], ...]
    mirror: tuple[int, ...]  # the place a reversed section would put the probes at
    points: tuple[int, ...]  # which point each place is of, counted along the plan from 0
    firsts: tuple[int, ...]  # the first place of each point
    stays: Row  # chance that an offset does not change, by state
    middle: float  # of all expected ln readings
    width: float
    is_telling: bool  # something better than limits tells the points apart

    @property
    def in_step(self) -> int:
        return self.rates.reach

    @property
    def reversed(self) -> int:
        return 2 * self.rates.reach + 1

    def further(self, place: int, points: int) -> int | None:
        """The place so many points further (below zero: back); None where that is off the plan."""
        if len(self.firsts) == len(self.plan):
            there = place + points
            return there if 0 <= there < len(self.plan) else None
        point = self.points[place] + points
        return self.firsts[point] if 0 <= point < len(self.firsts) else None

    def begin(self) -> Belief:
        """Before the first reading: in step, the learned spreads most likely right."""
        return tuple(
            tuple(w if s == self.in_step else 0.0 for s in range(self.reversed + 1)) for w in self.weights
        )

    def moved(self, row: Row, *, enters: bool) -> list[float]:
        """``row`` one reading later, before that reading is looked at. Time grows with ``reach``.

        ``enters`` is set on the first reading of a section: only there does a reversed walk
        begin or end.
        """
        rates, last = self.rates, self.reversed
        back = row[last]
        offsets = list(row[:last])
        if enters:
            offsets[self.in_step] += back
            back = rates.reverse * offsets[self.in_step]
            offsets[self.in_step] -= back
        out = [p * stay for p, stay in zip(offsets, self.stays, strict=True)]
        share = rates.slip * (1 - rates.wider) / 2
        up = down = 0.0
        for s in range(1, last):
            up = offsets[s - 1] + rates.wider * up
            out[s] += share * up
            down = offsets[last - s] + rates.wider * down
            out[last - 1 - s] += share * down
        return [*out, back]

    def likelihoods(self, place: int, log_ohms: float | None) -> list[list[float]]:
        """How likely the reading is, by hypothesis and state. None (a reading of zero) says nothing."""
        if log_ohms is None:
            return [[1.0] * (self.reversed + 1) for _ in self.hypotheses]
        # A wide Cauchy density: the same for every state, and never zero, so a stray decides nothing.
        z = (log_ohms - self.middle) / self.width
        far = 1 / (math.pi * self.width * (1 + z * z))
        reach = self.rates.reach
        seen = (*self.table[place : place + 2 * reach + 1], self.table[self.mirror[place] + reach])
        held = [((log_ohms - mean) ** 2 * sharp, height) for mean, sharp, height in seen]
        near = {
            f: [height / f * math.exp(-square / f**2) for square, height in held]
            for f in {factor: None for factor, _ in self.hypotheses}
        }
        return [[stray * far + (1 - stray) * density for density in near[f]] for f, stray in self.hypotheses]

    def stay(self, state: int, *, enters: bool) -> float:
        """Chance that ``state`` goes on through this reading."""
        if state == self.reversed:
            return self.rates.reverse if enters else 1.0
        begun = self.rates.reverse if enters and state == self.in_step else 0.0
        return self.stays[state] * (1 - begun)


def build_model(
    plan: Sequence[Expectation], rates: Rates, factors: Sequence[float] = SPREAD_FACTORS
) -> Model:
    """The model of one walk along ``plan``."""
    middle, spread = population(plan)
    nowhere = [(middle, spread)] * rates.reach
    seen = [*nowhere, *((e.mean, e.spread) for e in plan), *nowhere]
    table = tuple((mean, 1 / (2 * spread**2), 1 / (spread * math.sqrt(2 * math.pi))) for mean, spread in seen)
    hypotheses = {
        (factor, stray): likely * share
        for factor, likely in _factor_weights(factors)
        for stray, share in _stray_weights(rates.stray)
    }
    firsts = [at for at, e in enumerate(plan) if not at or plan[at - 1].point != e.point]
    return Model(
        plan=tuple(plan),
        rates=rates,
        hypotheses=tuple(hypotheses),
        weights=tuple(hypotheses.values()),
        table=table,
        mirror=_mirror(plan),
        points=tuple(bisect_right(firsts, place) - 1 for place in range(len(plan))),
        firsts=tuple(firsts),
        stays=_stays(rates),
        middle=middle,
        width=max(spread, 1.0),
        is_telling=any(e.source.is_telling for e in plan),
    )


def _factor_weights(factors: Sequence[float]) -> list[tuple[float, float]]:
    weights = [math.exp(-((math.log(factor) / _FACTOR_SPREAD) ** 2) / 2) for factor in factors]
    return [(factor, weight / sum(weights)) for factor, weight in zip(factors, weights, strict=True)]


def _stray_weights(expected: float) -> list[tuple[float, float]]:
    """The shares of strays that are thought of, weighed so that their mean is the one expected."""
    few, many = STRAY_SHARES
    if not few < expected < many:
        return [(expected, 1.0)]
    weight = (expected - few) / (many - few)
    return [(few, 1 - weight), (many, weight)]


def _stays(rates: Rates) -> Row:
    """A slip that would lead beyond ``reach`` is counted as staying, so that nothing is lost."""
    count = 2 * rates.reach + 1

    def leaves(s: int) -> float:
        steps = (rates.wider ** (abs(s - t) - 1) for t in range(count) if t != s)
        return rates.slip * (1 - rates.wider) / 2 * sum(steps)

    return tuple(1 - leaves(s) for s in range(count))


def _mirror(plan: Sequence[Expectation]) -> tuple[int, ...]:
    """For each place, the one as far from the other end of its unbroken stretch of a section."""
    mirror: list[int] = []
    start = 0
    for i in range(1, len(plan) + 1):
        if i == len(plan) or plan[i].section != plan[start].section:
            mirror.extend(range(i - 1, start - 1, -1))
            start = i
    return tuple(mirror)
