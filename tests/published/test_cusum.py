"""The bench's likelihood-ratio CUSUM, held against its textbook run lengths."""

from __future__ import annotations

import math
import random
from decimal import Decimal
from itertools import count, pairwise
from statistics import NormalDist, fmean

import pytest

from tests.bench.drift import Cell, Walk, log_ratio, page, peaks_of, set_threshold

REFERENCE, LIMIT = 0.5, 5.0  # k and h, in units of the readings' spread


def run_length(chance: random.Random, mean: float) -> int:
    score = 0.0
    for n in count(1):
        score = page(score, chance.gauss(mean, 1.0) - REFERENCE)
        if score >= LIMIT:
            return n
    raise AssertionError


def brook_evans(mean: float, cells: int = 120) -> float:
    """Mean run length of the one-sided CUSUM as a Markov chain (Brook & Evans, Biometrika 59, 1972).

    The scores below the limit are cut into cells; the run lengths solve ``(I - Q) L = 1``.
    """
    width = 2 * LIMIT / (2 * cells - 1)
    step = NormalDist(mean - REFERENCE, 1.0).cdf
    rows = []
    for i in range(cells):
        edges = [step((j - i) * width + width / 2) for j in range(cells)]
        chances = [edges[0], *(b - a for a, b in pairwise(edges))]
        rows.append([(i == j) - p for j, p in enumerate(chances)] + [1.0])
    return solve(rows)[0]


def solve(rows: list[list[float]]) -> list[float]:
    """Gauss-Jordan elimination; the rows carry the right side as their last column."""
    for i, pivot in enumerate(rows):
        scale = pivot[i]
        pivot[:] = [x / scale for x in pivot]
        for k, row in enumerate(rows):
            if k != i and row[i]:
                factor = row[i]
                row[:] = [a - factor * b for a, b in zip(row, pivot, strict=True)]
    return [row[-1] for row in rows]


def siegmund(mean: float) -> float:
    """Siegmund's approximation (Sequential Analysis, 1985): h is widened by 1.166."""
    drift, b = mean - REFERENCE, LIMIT + 1.166
    return (math.exp(-2 * drift * b) + 2 * drift * b - 1) / (2 * drift * drift)


def test_the_published_run_lengths_are_met_by_the_markov_chain() -> None:
    # Two-sided, k 0.5, h 5 (Montgomery, Introduction to Statistical Quality Control; value from memory):
    # 465 readings in control, 10.4 after a shift by one spread.
    assert brook_evans(0.0) / 2 == pytest.approx(465, rel=0.01)
    assert brook_evans(1.0) == pytest.approx(10.4, rel=0.01)
    # One-sided, NIST/SEMATECH e-Handbook 6.3.2.3 (value from memory).
    assert brook_evans(0.5) == pytest.approx(38.0, rel=0.01)
    assert brook_evans(2.0) == pytest.approx(4.01, rel=0.01)


@pytest.mark.parametrize("mean", [0.0, 0.25, 1.0])  # it is meant for small shifts
def test_siegmund_agrees_with_the_markov_chain(mean: float) -> None:
    assert siegmund(mean) == pytest.approx(brook_evans(mean), rel=0.03)


@pytest.mark.parametrize("mean, runs", [(0.0, 400), (1.0, 2000)])
def test_simulated_run_lengths_are_the_published_ones(mean: float, runs: int) -> None:
    chance = random.Random(20240501)
    lengths = [run_length(chance, mean) for _ in range(runs)]
    expected = brook_evans(mean)
    # In control the run length is nearly exponential: its own mean is its spread.
    assert fmean(lengths) == pytest.approx(expected, abs=3 * expected / math.sqrt(runs))


def test_the_ratio_of_a_walk_is_that_of_a_normal_shift() -> None:
    # ln N(z; δ, 1) / N(z; 0, 1) = δ z - δ²/2: with δ = 1 the CUSUM above, k = 0.5.
    spread, here = 0.2, -6.0
    walk = Walk(earlier=(), last=(here, here + spread, *([here] * 198)), today=())
    for z in (-2.0, 0.0, 0.3, 1.0, 2.5):
        ohms = Decimal(repr(math.exp(here + z * spread)))
        assert log_ratio(Cell(0.4, spread), walk, 0, ohms, 1) == pytest.approx(z - 0.5)


def test_with_strays_the_ratio_is_bounded_and_without_them_not() -> None:
    spread, here = 0.1, -6.0
    walk = Walk(earlier=(), last=(here, here + 0.5, *([here] * 198)), today=())
    ohms = Decimal(repr(math.exp(here + 0.5)))
    assert log_ratio(Cell(0.4, spread), walk, 0, ohms, 1) == pytest.approx(12.5)
    assert 3 < log_ratio(Cell(0.4, spread, strays=0.02), walk, 0, ohms, 1) < 7


def test_the_threshold_found_from_peaks_gives_the_wanted_run_length() -> None:
    """Peaks of excursions, the bench's short cut, against runs restarted at every alarm."""
    chance = random.Random(7)
    score, scores = 0.0, []
    for _ in range(200_000):
        score = page(score, chance.gauss(0.0, 1.0) - REFERENCE)
        scores.append(score)
    threshold = set_threshold(list(peaks_of(iter(scores), 0.0)), len(scores), 0.0, 2_000)
    alarms, score = 0, 0.0
    for _ in range(200_000):
        score = page(score, chance.gauss(0.0, 1.0) - REFERENCE)
        if score >= threshold:
            alarms, score = alarms + 1, 0.0
    assert 200_000 / alarms == pytest.approx(2_000, rel=0.3)  # three spreads of 100 alarms
