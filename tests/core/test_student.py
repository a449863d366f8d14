"""Student's t against its closed forms; against a reference library in ``tests/published``."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.between.student import student_quantile, student_tail

PROBABILITIES = (1e-6, 0.001, 0.025, 0.3, 0.5, 0.6, 0.95, 0.975, 0.9995)


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_one_degree_of_freedom_is_the_cauchy_law(probability: float) -> None:
    expected = math.tan(math.pi * (probability - 0.5))
    assert student_quantile(probability, 1) == pytest.approx(expected, rel=1e-10, abs=1e-12)


def test_a_value_next_to_zero_keeps_its_digits() -> None:
    assert student_tail(1e-8, 1) == pytest.approx(0.5 - 1e-8 / math.pi, rel=1e-15)


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_two_degrees_of_freedom_have_a_root(probability: float) -> None:
    spread = 4 * probability * (1 - probability)
    expected = 2 * (probability - 0.5) * math.sqrt(2 / spread)
    assert student_quantile(probability, 2) == pytest.approx(expected, rel=1e-10, abs=1e-12)


def test_an_endless_value_leaves_nothing_above() -> None:
    assert student_tail(math.inf, 3) == 0
    assert student_tail(-math.inf, 3) == 1


@pytest.mark.parametrize(("probability", "degrees"), [(0, 3), (1, 3), (0.5, 0), (-0.1, 2)])
def test_there_is_no_quantile_outside(probability: float, degrees: float) -> None:
    with pytest.raises(ValueError, match="no quantile"):
        student_quantile(probability, degrees)


@given(st.floats(0.001, 0.999), st.integers(1, 500))
def test_quantile_and_tail_undo_each_other(probability: float, degrees: int) -> None:
    assert 1 - student_tail(student_quantile(probability, degrees), degrees) == pytest.approx(
        probability, rel=1e-9
    )
