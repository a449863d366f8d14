"""Where the prober must go, for the recorder to read out, while that is not simply the next point.

It stands until the next reading is recorded; what else is said meanwhile has a line of its own.
"""

from __future__ import annotations

from textual.content import Content
from textual.geometry import Size

from fieldtui.core.survey.lead import Lead, SectionLeft, lead
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView

_LEAST_TITLE = 6  # cells of a title, below which it says nothing
_GAP = "  "


class WayLine(SurveyView):
    """``NOW GO TO BB-03  Fuel cap strap  second pass``. Takes no room while going on is right."""

    DEFAULT_CSS = """
    WayLine { height: auto; max-height: 2; display: none; text-style: bold; background: $panel; }
    """

    _lead: Lead | None = None

    def watch_survey(self, before: Survey | None, after: Survey | None) -> None:
        if after is None:
            return
        is_there = before is not None and before.position.here == after.position.here
        if is_there and before is not None and before.next_record == after.next_record:
            return  # nothing was recorded, and the way is what it was
        now = None if is_there else lead(before, after)
        if now != self._lead:
            self._lead = now
            self.display = now is not None
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._lines(width))

    def draw(self, survey: Survey) -> Content:
        return Content("\n").join(self._lines(max(1, self.size.width)))

    def _lines(self, width: int) -> list[Content]:
        if self._lead is None or self.survey is None:
            return []
        return way_lines(self._lead, self.survey, width)


def way_lines(lead: Lead, survey: Survey, width: int) -> list[Content]:
    """One line, or two where what was left behind finds no room in it."""
    if lead.point is None:
        return [Content(" NO POINT IS LEFT: tell the prober to stop").truncate(width, ellipsis=True)]
    point = survey.points[lead.point]
    head = Content(" NOW GO TO ") + shown(point.id, "reverse") + Content(_GAP)
    why = Content(_GAP) + shown(lead.why) if lead.why else Content("")
    room = max(_LEAST_TITLE, width - head.cell_length - why.cell_length)
    way = (head + shown(point.title).truncate(room, ellipsis=True) + why).truncate(width, ellipsis=True)
    if lead.left is None:
        where = Content(_GAP) + shown(point.where) if point.where else Content("")
        return [way + where if (way + where).cell_length <= width else way]
    left = Content(" ") + _left_words(lead.left)
    both = way + Content(_GAP) + left
    if both.cell_length <= width:
        return [both]
    return [way, left.truncate(width, ellipsis=True)]


def _left_words(left: SectionLeft) -> Content:
    """``SW left with 1 open: SW-04``; the numbers first, since the points may find no room."""
    counts = [
        f"{len(points)} {word}" for points, word in ((left.open, "open"), (left.skipped, "skipped")) if points
    ]
    section = left.section or "the section"
    return shown(f"{section} left with {', '.join(counts)}: {', '.join(left.points)}")
