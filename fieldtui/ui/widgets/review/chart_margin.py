"""How much of its limit each point uses, as bars of character cells."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from fieldtui.report.charts.data import Tenth
from fieldtui.ui.widgets.review.canvas import Canvas

_AXIS = 6
_FIGURE = 3  # cells of the widest figure below a bar
_LIMIT = 10  # the bar that begins at the limit
_EIGHTHS = " ▁▂▃▄▅▆▇█"
_FAILED = "▒"


def draw_margin(tenths: Sequence[Tenth], marked: int, width: int, height: int) -> list[Content]:
    """A bar for each tenth of the limit, failed points on top; ``height`` lines."""
    if not tenths:
        return [Content("No point was judged against a limit.")]
    bar = max(2, (width - _AXIS) // len(tenths))
    rows = max(height - 5, 2)  # legend and counts above; axis, figures and words below
    tallest = max(tenth.count for tenth in tenths)
    above = max(len(_label(tenth, bar - 1)) for tenth in tenths)  # rows that the counts above a bar take
    canvas = Canvas(width, rows + 4)
    for row in range(1, rows + 1):
        canvas.put(_AXIS - 1, row, "│")
    canvas.put_right(_AXIS - 2, 1, str(tallest))
    canvas.put(_AXIS - 1, 1, "┤")
    canvas.put_right(_AXIS - 2, rows, "0")
    limit = _AXIS + _LIMIT * bar
    for row in range(rows + 1):
        canvas.put(limit, row, "┊", "bold")
    canvas.put(limit + 1, 0, "limit", "bold")
    for place, tenth in enumerate(tenths):
        x = _AXIS + place * bar
        _put_bar(canvas, tenth, x + 1, bar - 1, max(rows - above + 1, 2), rows, tallest)
        if bar > _FIGURE or place % 2 == 0:  # else they would run into each other
            canvas.put(x, rows + 2, str(place * 10))
        if place == marked:
            canvas.put(x + bar // 2, rows + 1, "▲", "bold")
    canvas.put(_AXIS - 1, rows + 1, "└")
    for x in range(_AXIS, _AXIS + bar * len(tenths)):
        if canvas.is_free(x, rows + 1):
            canvas.put(x, rows + 1, "─")
    canvas.put(_AXIS, rows + 3, "percent of the limit used; the last bar: all above")
    failed = sum(len(tenth.failed) for tenth in tenths)
    keys = [Content.styled("█ ", "$text-success") + Content("points not failed")]
    if failed:
        keys.append(Content.styled(f"{_FAILED} ", "bold $text-error") + Content("points failed"))
    if doubted := sum(len(tenth.doubted) for tenth in tenths):
        keys.append(Content.styled(f"? {doubted} IN DOUBT", "bold $text-warning"))
    if unproven := sum(len(tenth.unproven) for tenth in tenths):
        keys.append(Content.styled(f"! {unproven} UNPROVEN", "bold $text-error"))
    return [Content("   ").join(keys), *canvas.lines()]


def _label(tenth: Tenth, width: int) -> list[str]:
    """The count of a bar and what there is to it, in one line, or below each other where that is too wide."""
    if not tenth.count:
        return []
    words = [str(tenth.count)]
    words += [f"✗{len(tenth.failed)}"] if tenth.failed and tenth.passed else []
    words += [f"?{len(tenth.doubted)}"] if tenth.doubted else []
    words += [f"!{len(tenth.unproven)}"] if tenth.unproven else []
    line = " ".join(words)
    if len(line) <= width:
        return [line]
    # A shape alone where even its number has no room: how many is said of the marked bar.
    return [words[0], *(word if len(word) <= width else word[0] for word in words[1:])]


def _put_bar(canvas: Canvas, tenth: Tenth, x: int, width: int, high: int, foot: int, tallest: int) -> None:
    """The bar, ``high`` rows at most, with its count above. However small, no count is drawn as nothing."""
    if not tenth.count:
        return
    whole = max(1, round(tenth.count / tallest * (high - 1) * 8))  # in eighths of a row, room for the count
    passed = round(whole * len(tenth.passed) / tenth.count)
    if tenth.passed and tenth.failed:
        passed = max(8, min(passed, whole - 8))
    for step in range(-(-whole // 8)):
        row = foot - step
        filled = min(8, whole - step * 8)
        is_failed = bool(tenth.failed) and step * 8 >= passed
        text, style = (_FAILED, "bold $text-error") if is_failed else (_EIGHTHS[filled], "$text-success")
        canvas.put(x, row, text * width, style)
    label = _label(tenth, width)
    top = foot - -(-whole // 8) - len(label) + 1
    for at, words in enumerate(label):
        canvas.put(x, top + at, words, "bold")
