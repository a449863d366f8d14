"""What the charts of the review have in common: shapes, and the scale at the left."""

from __future__ import annotations

from decimal import Decimal

from textual.content import Content

from fieldtui.report.charts.scale import PercentScale, Scale, Shape
from fieldtui.ui.widgets.review.canvas import Canvas

AXIS = 9  # cells of the scale at the left, its line included

# A shape says what a colour only repeats.
MARKS = {
    Shape.PASSED: ("●", "$text-success"),
    Shape.CONDITIONAL: ("◆", "$text-warning"),
    Shape.FAILED: ("✗", "bold $text-error"),
    Shape.RECORDED: ("■", "$foreground"),
    Shape.DOUBT: ("?", "bold $text-warning"),
    Shape.UNPROVEN: ("!", "bold $text-error"),
    Shape.NOTHING: ("+", "$text-warning"),
}
_WORDS = {
    Shape.PASSED: "pass",
    Shape.CONDITIONAL: "cond. pass",
    Shape.FAILED: "fail",
    Shape.RECORDED: "recorded",
    Shape.DOUBT: "IN DOUBT",
    Shape.UNPROVEN: "UNPROVEN",
    Shape.NOTHING: "no value",
}
# As-found values that were read again: small.
FIRST = {Shape.FAILED: "x", Shape.DOUBT: "?", Shape.UNPROVEN: "!"}
_PARTS = ("▔", "─", "▁")  # a line in the upper, middle and lower third of a cell


def legend(shapes: set[Shape], *more: str) -> Content:
    """``● pass   ✗ fail   ─ limit``: the shapes in use, in words."""
    parts = [
        Content.styled(f"{MARKS[each][0]} ", MARKS[each][1]) + Content(words)
        for each, words in _WORDS.items()
        if each in shapes
    ]
    return Content("  ").join([*parts, *map(Content, more)])


def row_of(scale: Scale | PercentScale, ohms: Decimal) -> int:
    """The row of cells that a value stands in; the scale's ends are rows."""
    return round(scale.at(ohms))


def put_line(
    canvas: Canvas, x: int, width: int, scale: Scale | PercentScale, ohms: Decimal, style: str = "bold"
) -> None:
    """A limit across some cells, drawn to a third of a row."""
    exact = scale.at(ohms)
    row = round(exact)
    part = _PARTS[max(0, min(2, int((exact - row + 0.5) * 3)))]
    for each in range(x, x + width):
        canvas.put(each, row, part, style)


def put_scale(canvas: Canvas, scale: Scale | PercentScale, top: int, bottom: int) -> None:
    """The axis at the left with its values and units; ``top`` and ``bottom`` are rows of the field."""
    for row in range(top, bottom + 1):
        canvas.put(AXIS - 1, row, "│")
    taken: set[int] = set()
    # The ends first: where rows are few, lines between them give way.
    for line in sorted(scale.lines, key=lambda line: line not in (scale.lines[0], scale.lines[-1])):
        row = round(line.at)
        if row not in taken:
            taken.add(row)
            canvas.put_right(AXIS - 2, row, line.text)
            canvas.put(AXIS - 1, row, "┤")
