"""Left against right: points with a symmetric partner, as places and words; the templates draw them."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.survey.survey import Survey
from fieldtui.report.charts.along_route import Mark, short
from fieldtui.report.charts.data import Side, mark_words, pairs_of, ratio_words
from fieldtui.report.charts.scale import Scale, scale_for, shape_of
from fieldtui.report.unproven import ALL_PROVEN, Unproven

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
    has_doubt: bool  # a value of it is in doubt for the meter, and carries a ?
    has_unproven: bool  # a value of it is not proven by the trail, and carries a !


@dataclass(frozen=True, slots=True)
class _Shaky:
    """The points whose values cannot be relied on, and why."""

    doubted: Container[str]
    unproven: Container[str]

    def words(self, point: str) -> str:
        return mark_words(point in self.doubted, point in self.unproven)


def pair_charts(survey: Survey, unproven: Unproven = ALL_PROVEN) -> list[PairChart]:
    """Points with a symmetric partner, both read, each pair once; :data:`PANEL_PAIRS` to a chart."""
    pairs = list(pairs_of(survey))
    starts = range(0, len(pairs), PANEL_PAIRS)
    shaky = _Shaky(points_in_doubt(survey), unproven.points)
    return [_pair_chart(pairs[start : start + PANEL_PAIRS], start, len(pairs), shaky) for start in starts]


def _pair_chart(pairs: Sequence[tuple[Side, Side]], start: int, total: int, shaky: _Shaky) -> PairChart:
    scale = scale_for((result.value.ohms for pair in pairs for _, result in pair), _NEAR, _FAR)
    rows = tuple(_pair(*pair, _TOP + _ROW * n, scale, shaky) for n, pair in enumerate(pairs))
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
        has_doubt=any(point in shaky.doubted for pair in pairs for point, _ in pair),
        has_unproven=any(point in shaky.unproven for pair in pairs for point, _ in pair),
    )


def _pair(first: Side, second: Side, y: float, scale: Scale, shaky: _Shaky) -> Pair:
    marks = [
        Mark(
            scale.at(result.value.ohms),
            y,
            shape_of(result.verdict, is_in_doubt=point in shaky.doubted, is_unproven=point in shaky.unproven),
            f"{point}: {result.value}, {result.verdict.value}{shaky.words(point)}",
        )
        for point, result in (first, second)
    ]
    return Pair(
        y=y,
        names=(short(first[0]), short(second[0])),
        values=(
            f"{first[1].value}{shaky.words(first[0])}",
            f"{second[1].value}{shaky.words(second[0])}",
        ),
        marks=(marks[0], marks[1]),
        ratio=ratio_words(first[1].value.ohms, second[1].value.ohms),
    )
