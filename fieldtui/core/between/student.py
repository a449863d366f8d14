"""Student's t distribution, with the standard library alone.

The tail is the regularized incomplete beta function (NIST DLMF 8.17), summed as its continued
fraction (8.17.22); the quantile is found by halving. Relative error below 1e-10 for 1 to 10,000
degrees of freedom, checked in the tests.
"""

from __future__ import annotations

import math
from functools import lru_cache

_TINY = 1e-300  # keeps a denominator of the fraction from being zero
_EPSILON = 1e-16
_MOST_TERMS = 100_000
_HALVINGS = 200


def student_tail(t: float, degrees: float) -> float:
    """The probability of a value above ``t``; ``degrees`` of freedom, more than 0."""
    if t < 0:
        return 1 - student_tail(-t, degrees)
    square = t * t
    if math.isinf(square):
        return 0.0
    whole = degrees + square
    return 0.5 * _beta_share(degrees / 2, 0.5, degrees / whole, square / whole)


@lru_cache(maxsize=4096)  # a fleet asks for the same few degrees of freedom ten thousand times
def student_quantile(probability: float, degrees: float) -> float:
    """The value below which ``probability`` lies; strictly between 0 and 1."""
    if not 0 < probability < 1 or degrees <= 0:
        raise ValueError(f"no quantile at {probability} with {degrees} degrees of freedom")
    if probability < 0.5:
        return -_upper_point(probability, degrees)
    return _upper_point(1 - probability, degrees)


def _upper_point(tail: float, degrees: float) -> float:
    """The value above which ``tail`` (at most one half) lies."""
    low, high = 0.0, 1.0
    while student_tail(high, degrees) > tail:
        low, high = high, 2 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if student_tail(middle, degrees) > tail:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _beta_share(a: float, b: float, x: float, rest: float) -> float:
    """I_x(a, b). ``rest`` is 1 - x, given beside it so that neither loses digits."""
    if x <= 0 or rest <= 0:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):  # the fraction converges fast below this, DLMF 8.17(v)
        return 1 - _beta_share(b, a, rest, x)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    return math.exp(log_front) / a * _fraction(a, b, x)


def _fraction(a: float, b: float, x: float) -> float:
    """DLMF 8.17.22 by the modified method of Lentz."""
    c = 1.0
    d = 1 / _off_zero(1 - (a + b) * x / (a + 1))
    value = d
    for m in range(1, _MOST_TERMS):
        twice = a + 2 * m
        for term in (
            m * (b - m) * x / ((twice - 1) * twice),
            -(a + m) * (a + b + m) * x / (twice * (twice + 1)),
        ):
            d = 1 / _off_zero(1 + term * d)
            c = _off_zero(1 + term / c)
            value *= c * d
        if abs(c * d - 1) < _EPSILON:
            break
    return value


def _off_zero(number: float) -> float:
    return number if abs(number) > _TINY else _TINY
