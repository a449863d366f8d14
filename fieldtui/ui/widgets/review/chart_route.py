"""Value against limit along the route, in character cells: in ohm, or in percent of each point's limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from rich.cells import cell_len
from textual.content import Content

from fieldtui.core.account.basis import used_share
from fieldtui.core.survey.survey import Survey
from fieldtui.report.charts.along_route import short
from fieldtui.report.charts.data import Held, Slot, slots_of
from fieldtui.report.charts.scale import PercentScale, Scale, scale_for
from fieldtui.report.unproven import ALL_PROVEN, Unproven
from fieldtui.ui.widgets.review.canvas import Canvas
from fieldtui.ui.widgets.review.chart_marks import AXIS, FIRST, MARKS, legend, put_line, put_scale, row_of

_WIDEST = 8  # cells of a point's slot; more only pulls few points apart


_ONE = Decimal(1)
_TOP = Decimal("1.5")  # of a limit; what uses more of it stands at the top


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A point with its values and limits on one scale, whatever that is."""

    slot: Slot
    found: Decimal | None
    left: Decimal | None
    bounds: tuple[Decimal, ...]


def draw_route(
    survey: Survey,
    marked: int,
    width: int,
    height: int,
    *,
    is_share: bool = False,
    unproven: Unproven = ALL_PROVEN,
) -> list[Content]:
    """The points around the marked one, as many as there is room for; ``height`` lines.

    With ``is_share`` every value is a part of its own limit, so that all limits are one line.
    """
    ids = survey.order.ids
    if not ids:
        return [Content("The route has no point.")]
    field = max(width - AXIS, 1)
    room = min(field, len(ids))
    first = max(0, min(marked - room // 2, len(ids) - room))
    slots = list(slots_of(survey, ids[first : first + room], unproven))
    span = min(field, room * _WIDEST)
    edges = [AXIS + place * span // room for place in range(room + 1)]  # where each slot begins
    rows = max(height - 4, 2)  # a legend and the sections above, the pointer and the names below
    drawn = [_in_shares(each) if is_share else _in_ohms(each) for each in slots]
    ohms = (ohms for each in slots for ohms in each.values)
    scale = PercentScale(_TOP, float(rows), 1.0) if is_share else scale_for(ohms, float(rows), 1.0)
    canvas = Canvas(width, rows + 3)
    put_scale(canvas, scale, 1, rows)
    _put_sections(canvas, survey, slots, edges)
    for place, each in enumerate(drawn):
        wide = edges[place + 1] - edges[place]
        _put_slot(canvas, each, edges[place], wide, scale, is_marked=first + place == marked)
    at = marked - first
    _put_names(canvas, slots, edges, rows + 2, at)
    canvas.put(AXIS - 1, rows + 1, "└" + "─" * span)
    canvas.put(edges[at] + (edges[at + 1] - edges[at] - 1) // 2, rows + 1, "▲", "bold")
    shapes = {each.shape for each in slots}
    some = "" if len(slots) == len(ids) else f"points {first + 1} to {first + len(slots)} of {len(ids)}"
    return [legend(shapes, "▔─▁ limit", "x o as found", *([some] if some else [])), *canvas.lines()]


def _in_ohms(slot: Slot) -> _Drawn:
    found, left = (None if each is None else each.ohms for each in (slot.found, slot.left))
    return _Drawn(slot, found, left, slot.bounds)


def _in_shares(slot: Slot) -> _Drawn:
    found, left = (
        None if each is None else used_share(slot.limit, each.ohms) for each in (slot.found, slot.left)
    )
    return _Drawn(slot, found, left, (_ONE,) if slot.bounds else ())


def _put_slot(
    canvas: Canvas, drawn: _Drawn, x: int, width: int, scale: Scale | PercentScale, *, is_marked: bool
) -> None:
    slot = drawn.slot
    wide = width - 1 if width > 2 else width  # a gap between the limits of neighbours
    for bound in drawn.bounds:
        put_line(canvas, x, wide, scale, bound)
    middle = x + (width - 1) // 2
    if slot.left is None or drawn.left is None:  # record only has a value, and no share of a limit
        _put(canvas, middle, round(scale.near), *MARKS[slot.shape], is_marked)
        return
    left = row_of(scale, drawn.left)
    if slot.found is not None and drawn.found is not None:
        found = row_of(scale, drawn.found)
        for row in range(min(left, found) + 1, max(left, found)):
            if canvas.is_free(middle, row):
                canvas.put(middle, row, "┊")
        if found != left:
            _put(canvas, middle, found, *_first_mark(slot.found), is_marked)
    _put(canvas, middle, left, *MARKS[slot.shape], is_marked)


def _first_mark(held: Held) -> tuple[str, str]:
    shape = held.shape
    return FIRST.get(shape, "o"), MARKS[shape][1]


def _put(canvas: Canvas, x: int, y: int, mark: str, style: str, is_marked: bool) -> None:
    canvas.put(x, y, mark, f"{style} reverse" if is_marked else style)


def _put_sections(canvas: Canvas, survey: Survey, slots: Sequence[Slot], edges: Sequence[int]) -> None:
    """Where each section begins, with as much of its title as there is room for."""
    sections = [each.section for each in slots]
    starts = [at for at, section in enumerate(sections) if at == 0 or section != sections[at - 1]]
    for start, after in zip(starts, [*starts[1:], len(slots)], strict=True):
        x = edges[start]
        room = edges[after] - x - 2
        canvas.put(x, 0, "│")
        room = min(room, canvas.width - x - 1)
        if room > 2:
            title = survey.route.section_title(sections[start])
            canvas.put(x + 1, 0, short(title, room), "bold")


def _put_names(canvas: Canvas, slots: Sequence[Slot], edges: Sequence[int], y: int, marked: int) -> None:
    """The marked point's name under it, and others where there is room."""
    free_from = AXIS
    name = short(slots[marked].point)
    wide = cell_len(name)
    begin = max(AXIS, min(edges[marked], canvas.width - wide))
    for at, each in zip(edges, slots, strict=False):  # the last edge is the end
        text = short(each.point)
        end = at + cell_len(text)
        clear = end < begin or at > begin + wide
        if at >= free_from and clear and end <= canvas.width:
            canvas.put(at, y, text)
            free_from = end + 1
    canvas.put(begin, y, name, "bold reverse")
