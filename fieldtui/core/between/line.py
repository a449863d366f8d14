"""A straight line through points: least squares, and the median of the slopes.

Sources: NIST/SEMATECH e-Handbook 4.1.4.1 and 4.5.1.2 (least squares and prediction); Theil 1950 and
Sen 1968 for the median of slopes, which one odd value cannot pull away. Floats, because this is
statistics; the digits of a reading never pass through here and back.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares line with what is needed to judge it; ``x`` and ``y`` in the caller's units."""

    slope: float
    intercept: float
    residual_sd: float  # with count - 2 degrees of freedom; 0 for two points
    count: int
    mean_x: float
    spread_x: float  # sum of squares of x about its mean

    def at(self, x: float) -> float:
        return self.intercept + self.slope * x

    def slope_sd(self, scatter: float) -> float:
        """Standard deviation of the slope where readings scatter by ``scatter`` about the line."""
        return scatter / math.sqrt(self.spread_x)

    def prediction_sd(self, x: float, scatter: float) -> float:
        """Standard deviation of one new reading at ``x`` about the line's value there."""
        return scatter * math.sqrt(1 + 1 / self.count + (x - self.mean_x) ** 2 / self.spread_x)


@dataclass(frozen=True, slots=True)
class MedianLine:
    """The median of the slopes between every two points, through the medians of x and y."""

    slope: float
    intercept: float


def fit_line(xs: Sequence[float], ys: Sequence[float]) -> Line | None:
    """The least-squares line; None where there are not two different x."""
    count = len(xs)
    if len(set(xs)) < 2:  # asked of the values: a mean of equal values may miss them by a bit
        return None
    mean_x, mean_y = math.fsum(xs) / count, math.fsum(ys) / count
    spread_x = math.fsum((x - mean_x) ** 2 for x in xs)
    if spread_x == 0:  # so close together that their squares vanish
        return None
    together = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True))
    slope = together / spread_x
    intercept = mean_y - slope * mean_x
    squares = math.fsum(((y - mean_y) - slope * (x - mean_x)) ** 2 for x, y in zip(xs, ys, strict=True))
    residual_sd = math.sqrt(squares / (count - 2)) if count > 2 else 0.0
    return Line(slope, intercept, residual_sd, count, mean_x, spread_x)


def fit_median_line(xs: Sequence[float], ys: Sequence[float]) -> MedianLine | None:
    """The line of Theil and Sen; None where there are not two different x."""
    points = sorted(zip(xs, ys, strict=True))
    slopes = [
        (after_y - y) / (after_x - x)
        for index, (x, y) in enumerate(points)
        for after_x, after_y in points[index + 1 :]
        if after_x > x
    ]
    if not slopes:
        return None
    slope = median(slopes)
    return MedianLine(slope, median(ys) - slope * median(xs))
