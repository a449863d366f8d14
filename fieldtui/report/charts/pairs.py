"""Left against right: points with a symmetric partner, as places and words; the templates draw them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldtui.core.survey.survey import Survey
from fieldtui.report.charts.along_route import Mark, short
from fieldtui.report.charts.data import Side, pairs_of, ratio_words
from fieldtui.report.charts.scale import Scale, scale_for, shape_of

PANEL_PAIRS = 30
_TOP, _ROW = 46.0, 16.0
_NEAR, _FAR = 190.0, 600.0  # of the field in which values are drawn


@dataclass(frozen=True, slots=True)
class Pair:
    """A point and its partner on the other side, on one line."""

    y: float
    names: tuple[str, str]
    values: tuple[str, str]
    marks: tuple[Mark, Mark]
    ratio: str  # of the second to the first


@dataclass(frozen=True, slots=True)
class PairChart:
    """Pairs one below the other, value to the right."""

    title: str
    description: str
    scale: Scale
    pairs: tuple[Pair, ...]
    foot: float
    height: float


def pair_charts(survey: Survey) -> list[PairChart]:
    """Points with a symmetric partner, both read, each pair once; :data:`PANEL_PAIRS` to a chart."""
    pairs = list(pairs_of(survey))
    starts = range(0, len(pairs), PANEL_PAIRS)
    return [_pair_chart(pairs[start : start + PANEL_PAIRS], start, len(pairs)) for start in starts]


def _pair_chart(pairs: Sequence[tuple[Side, Side]], start: int, total: int) -> PairChart:
    scale = scale_for((result.value.ohms for pair in pairs for _, result in pair), _NEAR, _FAR)
    rows = tuple(_pair(first, second, _TOP + _ROW * n, scale) for n, (first, second) in enumerate(pairs))
    told = "; ".join(
        f"{pair.names[0]} {pair.values[0]}, {pair.names[1]} {pair.values[1]}, ratio {pair.ratio}"
        for pair in rows
    )
    foot = _TOP + _ROW * len(rows)
    return PairChart(
        title=f"Left against right, pairs {start + 1} to {start + len(pairs)} of {total}",
        description=f"{told}.",
        scale=scale,
        pairs=rows,
        foot=foot,
        height=foot + 24,
    )


def _pair(first: Side, second: Side, y: float, scale: Scale) -> Pair:
    marks = [
        Mark(
            scale.at(result.value.ohms),
            y,
            shape_of(result.verdict),
            f"{point}: {result.value}, {result.verdict.value}",
        )
        for point, result in (first, second)
    ]
    return Pair(
        y=y,
        names=(short(first[0]), short(second[0])),
        values=(str(first[1].value), str(second[1].value)),
        marks=(marks[0], marks[1]),
        ratio=ratio_words(first[1].value.ohms, second[1].value.ohms),
    )
