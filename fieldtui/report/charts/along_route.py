"""Value against limit along the route, as places and words; the templates draw it."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from unicodedata import combining, east_asian_width

from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted, visible
from fieldtui.report.charts.data import Held, Slot, mark_words, slots_of
from fieldtui.report.charts.scale import LEGEND, Line, Scale, Shape, scale_for
from fieldtui.report.unproven import ALL_PROVEN, UNPROVEN, Unproven

WIDTH = 720.0  # chart units; a page is about as many CSS pixels wide
LEFT, RIGHT = 62.0, 708.0  # of the field in which values are drawn
PANEL_POINTS = 60  # points side by side; more become marks that cannot be told apart
_TOP, _FOOT = 40.0, 240.0
_WIDEST_SLOT = 40.0
_NAME = 12  # characters of an id or title that a chart has room for
_LETTER = 6.0  # width of a letter, chart units


@dataclass(frozen=True, slots=True)
class Mark:
    """One value. ``text`` says it in words; ``is_first`` is an as-found value that was read again."""

    x: float
    y: float
    shape: Shape
    text: str
    is_first: bool = False


@dataclass(frozen=True, slots=True)
class Bound:
    """A limit: a bar across one point's slot."""

    x1: float
    x2: float
    y: float
    is_maximum: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """What a shape means, and where that is said; no shape for the bar of a limit."""

    x: float
    shape: Shape | None
    text: str


@dataclass(frozen=True, slots=True)
class RouteChart:
    """Some points of the route in walking order, value upwards."""

    title: str
    description: str
    scale: Scale
    marks: tuple[Mark, ...]
    bounds: tuple[Bound, ...]
    names: tuple[Line, ...]  # of points, below
    sections: tuple[Line, ...]  # where each begins
    legend: tuple[Entry, ...]
    right: float  # where the field ends: few points do not fill the page
    foot: float = _FOOT
    height: float = _FOOT + 70


def route_charts(survey: Survey, unproven: Unproven = ALL_PROVEN) -> list[RouteChart]:
    """Every point of the route, :data:`PANEL_POINTS` to a chart."""
    ids = survey.order.ids
    starts = range(0, len(ids), PANEL_POINTS)
    return [_route_chart(survey, ids[start : start + PANEL_POINTS], start, unproven) for start in starts]


def _route_chart(survey: Survey, ids: Sequence[str], start: int, unproven: Unproven) -> RouteChart:
    slot = min(_WIDEST_SLOT, (RIGHT - LEFT) / len(ids))
    drawn = list(slots_of(survey, ids, unproven))
    scale = scale_for((ohms for each in drawn for ohms in each.values), _FOOT, _TOP)
    marks: list[Mark] = []
    bounds: list[Bound] = []
    names: list[Line] = []
    for place, each in enumerate(drawn):
        left = round(LEFT + place * slot, 1)
        middle = round(left + slot / 2, 1)
        marks += _marks(each, middle, scale)
        bounds += _bounds(each, left + slot * 0.1, left + slot * 0.9, scale)
        names.append(Line(middle, short(each.point)))
    return RouteChart(
        title=f"Value against limit, points {start + 1} to {start + len(ids)} of {len(survey.order.ids)}",
        description=_route_words(drawn),
        scale=scale,
        marks=tuple(marks),
        bounds=tuple(bounds),
        names=tuple(names),
        sections=tuple(_sections(survey, ids, slot)),
        legend=tuple(_legend({mark.shape for mark in marks})),
        right=round(LEFT + slot * len(ids), 1),
    )


def _marks(slot: Slot, x: float, scale: Scale) -> Iterator[Mark]:
    if slot.left is None:
        said = f"{slot.point}: {slot.state.value}, no value{mark_words(False, slot.is_unproven)}"
        yield Mark(x, scale.near, slot.shape, said)
        return
    if slot.found is not None:
        yield _mark(slot, slot.found, x, scale, is_first=True)
    yield _mark(slot, slot.left, x, scale)


def _mark(slot: Slot, held: Held, x: float, scale: Scale, *, is_first: bool = False) -> Mark:
    when = "as found " if is_first else ""
    text = f"{slot.point}: {when}{held.text}, {held.verdict_words}"
    return Mark(x, scale.at(held.ohms), held.shape, text, is_first)


def _bounds(slot: Slot, x1: float, x2: float, scale: Scale) -> Iterator[Bound]:
    maximum = slot.limit.maximum
    for ohms in slot.bounds:
        is_maximum = maximum is not None and ohms == maximum.ohms
        yield Bound(round(x1, 1), round(x2, 1), scale.at(ohms), is_maximum)


def _sections(survey: Survey, ids: Sequence[str], slot: float) -> Iterator[Line]:
    """Where a section begins, with as much of its title as there is room for."""
    titles = {section.id: section.title for section in survey.route.sections}
    sections = [survey.points[point_id].section for point_id in ids]
    starts = [place for place, section in enumerate(sections) if place == 0 or section != sections[place - 1]]
    for place, after in zip(starts, [*starts[1:], len(ids)], strict=True):
        title = titles.get(sections[place], sections[place])
        room = int((after - place) * slot / _LETTER)
        yield Line(round(LEFT + place * slot, 1), short(title, room) if room > 1 else "")


def _legend(used: set[Shape]) -> Iterator[Entry]:
    """The shapes in use from left to right."""
    x = LEFT
    wanted = [(shape, words) for shape, words in LEGEND.items() if shape in used]
    for shape, words in [*wanted, (None, "limit"), (None, "small mark: as found")]:
        yield Entry(x, shape, words)
        x += 30 + len(words) * _LETTER * 0.9


def _route_words(slots: Sequence[Slot]) -> str:
    """The chart in words, for who cannot see it: counts by state, and every point that failed."""
    counts = Counter(slot.state for slot in slots)
    words = ", ".join(f"{counts[state]} {state.value}" for state in State if counts[state])
    failed = [
        f"{slot.point} reads {slot.left.text} against {slot.limit}"
        for slot in slots
        if slot.state is State.FAILED and slot.left is not None
    ]
    told = f" Failed: {'; '.join(failed)}." if failed else ""
    doubted = [slot.point for slot in slots if slot.left is not None and slot.left.is_in_doubt]
    told += f" IN DOUBT for the meter: {', '.join(doubted)}." if doubted else ""
    not_proven = [slot.point for slot in slots if slot.is_unproven]
    told += f" {UNPROVEN}: {', '.join(not_proven)}." if not_proven else ""
    return f"{counted(len(slots), 'point')}: {words}.{told} All values stand in the table of points."


def short(text: str, room: int = _NAME) -> str:
    """As much of a name as a chart has room for, cut after it was made visible and marked as cut.

    ``room`` is in letters; wide characters count as two, marks on a letter as none.
    """
    shown = visible(text)
    ends = [*accumulate(map(_letters, shown))]
    if not ends or ends[-1] <= room:
        return shown
    return shown[: bisect_right(ends, room - 1)] + "…"


def _letters(character: str) -> int:
    """How many letters wide a character is (Unicode Standard Annex 11: W and F are wide)."""
    return 0 if combining(character) else 2 if east_asian_width(character) in "WF" else 1
