"""One point over the surveys, in character cells."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, timedelta
from decimal import Decimal

from textual.content import Content

from fieldtui.core.between.trend import Sample
from fieldtui.report.charts.scale import Shape, scale_for, shape_of
from fieldtui.ui.widgets.review.canvas import Canvas
from fieldtui.ui.widgets.review.chart_marks import AXIS, MARKS, legend, put_line, put_scale, row_of

_DATE = 10  # cells of a day as it is written


def draw_history(
    samples: Sequence[Sample], width: int, height: int, *, is_unproven: bool = False
) -> list[Content]:
    """The values of one point by the day they were taken, oldest first, each with its limit.

    ``is_unproven``: what the session in review says of the point is not proven, and so not among them.
    """
    if not samples:
        return [Content(f"No survey has a {'proven ' if is_unproven else ''}value of this point.")]
    rows = max(height - 4, 2)
    bounds = [_bounds(sample) for sample in samples]
    ohms = [sample.reading.value.ohms for sample in samples]
    scale = scale_for((*ohms, *(each for some in bounds for each in some)), float(rows - 1), 0.0)
    canvas = Canvas(width, rows + 2)
    put_scale(canvas, scale, 0, rows - 1)
    places = _places(samples, AXIS + 1, max(AXIS + 2, width - _DATE // 2 - 1))
    for at, x in enumerate(places):  # a limit holds from its survey to the next
        until = places[at + 1] if at + 1 < len(places) else canvas.width
        for bound in bounds[at]:
            put_line(canvas, x, max(until - x, 1), scale, bound)
    for (x1, first), (x2, second) in zip(_dots(places, ohms), _dots(places, ohms)[1:], strict=False):
        _join(canvas, x1, row_of(scale, first), x2, row_of(scale, second))
    for x, sample, value in zip(places, samples, ohms, strict=True):
        is_last = sample is samples[-1]
        mark, style = MARKS[_shape(sample)]
        canvas.put(x, row_of(scale, value), mark, f"{style} reverse" if is_last else style)
    canvas.put(AXIS - 1, rows, "└" + "─" * (width - AXIS))
    _put_dates(canvas, samples, places, rows)
    shapes = {_shape(sample) for sample in samples}
    surveys = f"{len(samples)} surveys" if len(samples) > 1 else "no earlier survey of it lies here"
    left_out = ["! this survey's is UNPROVEN: left out"] if is_unproven else []
    return [legend(shapes, "▔─▁ limit", *left_out, "values as measured", surveys), *canvas.lines()]


def _shape(sample: Sample) -> Shape:
    return shape_of(sample.reading.verdict, is_in_doubt=sample.reading.is_in_doubt)


def _bounds(sample: Sample) -> tuple[Decimal, ...]:
    limit = sample.seen.limit
    if not limit.judges:
        return ()
    return tuple(each.ohms for each in (limit.maximum, limit.minimum) if each is not None)


def _places(samples: Sequence[Sample], left: int, right: int) -> list[int]:
    """Columns by date; surveys of one day stand side by side."""
    first, last = samples[0].reading.when, samples[-1].reading.when
    span = (last - first) / timedelta(seconds=1)
    places: list[int] = []
    for sample in samples:
        part = (sample.reading.when - first) / timedelta(seconds=1) / span if span > 0 else 0.0
        x = left + round(part * (right - left))
        places.append(max(x, places[-1] + 1) if places else x)
    return places


def _dots(places: Sequence[int], ohms: Sequence[Decimal]) -> list[tuple[int, Decimal]]:
    return list(zip(places, ohms, strict=True))


def _join(canvas: Canvas, x1: int, y1: int, x2: int, y2: int) -> None:
    """A dotted line between two marks, where nothing else stands."""
    for x in range(x1 + 2, x2 - 1, 2):
        y = round(y1 + (y2 - y1) * (x - x1) / (x2 - x1))
        if canvas.is_free(x, y):
            canvas.put(x, y, "·")


def _put_dates(canvas: Canvas, samples: Sequence[Sample], places: Sequence[int], row: int) -> None:
    """Days below the axis; the last first, since it is the one in review."""
    taken: list[tuple[int, int]] = []
    for x, sample in reversed(list(zip(places, samples, strict=True))):
        canvas.put(x, row, "┴")
        at = max(0, min(x - _DATE // 2, canvas.width - _DATE))
        if all(at + _DATE < begin or at > end for begin, end in taken):
            canvas.put(at, row + 1, sample.reading.when.astimezone(UTC).date().isoformat())
            taken.append((at, at + _DATE))
