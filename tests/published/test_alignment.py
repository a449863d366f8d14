"""The alignment recursion against published examples and against Biopython's PairwiseAligner."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest

from fieldtui.core.pairing.recursion import Best, align_score

Align = pytest.importorskip("Bio.Align", reason="the oracle, Biopython, is not installed")


def labels(match: float, mismatch: float) -> Callable[[str, str], float]:
    return lambda one, other: match if one == other else mismatch


@pytest.mark.parametrize(
    ("first", "second", "best"),
    [
        # Needleman-Wunsch, the usual worked example; value from memory.
        ("GCATGCG", "GATTACA", Best(0, 3)),
        # Global alignment at +1/-1/-1, a common teaching example; value from memory.
        ("COELACANTH", "PELICAN", Best(0, 2)),
        # One lost reading; by counting: three matches, one gap.
        (["J1", "J2", "J3", "J4"], ["J1", "J3", "J4"], Best(2, 1)),
    ],
)
def test_published_examples(first: str, second: str, best: Best) -> None:
    assert align_score(first, second, labels(1, -1), -1) == best


def test_the_protein_example_with_blosum50() -> None:
    # Durbin, Eddy, Krogh, Mitchison, Biological Sequence Analysis (1998), 2.3; value from memory.
    matrix = Align.substitution_matrices.load("BLOSUM50")
    found = align_score("HEAGAWGHEE", "PAWHEAE", lambda one, other: float(matrix[one][other]), -8)
    assert found.score == 1


def test_scores_and_numbers_of_optima_equal_the_reference_aligner() -> None:
    chance = Random(20)
    for _ in range(300):
        match, mismatch, gap = chance.randint(1, 3), -chance.randint(0, 3), -chance.randint(1, 3)
        aligner = Align.PairwiseAligner(
            mode="global", match_score=match, mismatch_score=mismatch, gap_score=gap
        )
        first, second = ("".join(chance.choices("ABCD", k=chance.randint(1, 9))) for _ in range(2))
        expected = aligner.align(first, second)
        found = align_score(first, second, labels(match, mismatch), gap)
        assert found == Best(expected.score, len(expected)), (first, second, match, mismatch, gap)


def test_long_lists_of_labels_score_the_same() -> None:
    chance = Random(21)
    aligner = Align.PairwiseAligner(mode="global", match_score=2, mismatch_score=-1, gap_score=-2)
    first, second = ("".join(chance.choices("ABCDEFGH", k=size)) for size in (120, 90))
    assert align_score(first, second, labels(2, -1), -2).score == aligner.score(first, second)
