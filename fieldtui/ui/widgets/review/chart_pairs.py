"""Left against right: each pair of symmetric partners on a line of character cells."""

from __future__ import annotations

from collections.abc import Container, Sequence

from rich.cells import cell_len
from textual.content import Content

from fieldtui.core.text import visible
from fieldtui.report.charts.along_route import short
from fieldtui.report.charts.data import Side, ratio_words
from fieldtui.report.charts.scale import Scale, scale_for
from fieldtui.ui.widgets.review.canvas import Canvas

_RATIO = 7  # cells at the right
Pair = tuple[Side, Side]


def draw_pairs(
    pairs: Sequence[Pair],
    marked: int,
    width: int,
    height: int,
    doubted: Container[str] = frozenset(),
    unproven: Container[str] = frozenset(),
) -> list[Content]:
    """The pairs around the marked one; ``height`` lines.

    ``doubted`` are points in doubt for the meter, ``unproven`` such as the trail proves nothing of.
    """
    if not pairs:
        return [Content("The route names no symmetric partners, or not both of any pair were read.")]
    room = max(1, height - 3)  # a legend above, the axis and its values below
    first = max(0, min(marked - room // 2, len(pairs) - room))
    drawn = pairs[first : first + room]
    names = [" ".join(_name(side, doubted, unproven) for side in pair) for pair in drawn]
    left = max(map(_cells, names)) + 2
    scale = scale_for(
        (result.value.ohms for pair in pairs for _, result in pair),
        float(left + 1),
        float(max(left + 8, width - _RATIO - 2)),
    )
    canvas = Canvas(width, len(drawn) + 2)
    for row, (pair, name) in enumerate(zip(drawn, names, strict=True)):
        canvas.put(0, row, name, "bold reverse" if first + row == marked else "")
        canvas.put(left - 1, row, "│")
        _put_pair(canvas, row, pair, scale)
    _put_axis(canvas, scale, left, len(drawn))
    shown = [point for pair in drawn for point, _ in pair]
    doubt = "  ? IN DOUBT" if any(point in doubted for point in shown) else ""
    doubt += "  ! UNPROVEN" if any(point in unproven for point in shown) else ""
    keys = f"○ first  ● second  ✗ failed{doubt}  at the right: second to first"
    some = "" if len(drawn) == len(pairs) else f"  pairs {first + 1} to {first + len(drawn)} of {len(pairs)}"
    return [Content(keys + some), *canvas.lines()]


def _name(side: Side, doubted: Container[str], unproven: Container[str]) -> str:
    point, result = side
    if point in unproven:
        return "!" + short(point)
    if point in doubted:
        return "?" + short(point)
    return ("✗" if result.verdict.is_failed else " ") + short(point)


def _cells(text: str) -> int:
    return cell_len(visible(text))


def _put_pair(canvas: Canvas, row: int, pair: Pair, scale: Scale) -> None:
    (_, one), (_, other) = pair
    x1, x2 = round(scale.at(one.value.ohms)), round(scale.at(other.value.ohms))
    for x in range(min(x1, x2) + 1, max(x1, x2)):
        canvas.put(x, row, "─")
    if x1 == x2:
        canvas.put(x1, row, "◉", "bold")
    else:
        canvas.put(x1, row, "○", "bold")
        canvas.put(x2, row, "●", "bold")
    canvas.put_right(canvas.width, row, ratio_words(one.value.ohms, other.value.ohms))


def _put_axis(canvas: Canvas, scale: Scale, left: int, row: int) -> None:
    canvas.put(left - 1, row, "└")
    for x in range(left, round(scale.far) + 1):
        canvas.put(x, row, "─")
    free_from = 0
    for line in scale.lines:
        x = round(line.at)
        canvas.put(x, row, "┴")
        at = min(x - len(line.text) // 2, canvas.width - len(line.text))
        if at >= free_from:
            canvas.put(at, row + 1, line.text)
            free_from = at + len(line.text) + 1
