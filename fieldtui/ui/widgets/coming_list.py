"""The points that come after this one, where there is room to look further ahead."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from textual.content import Content

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import wanted
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import limit_in_words
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView


class ComingList(SurveyView):
    """Id, title and limit, in the order they will be walked if every reading is good."""

    def draw(self, survey: Survey) -> Content:
        width = max(1, self.size.width - 1)
        rows = [Content.styled("coming up", "bold underline")]
        for point in islice(coming_points(survey), max(0, self.size.height - 1)):
            rows.append(shown(point.id, "bold") + Content("  ") + shown(point.title))
            limit = Content("  ") + shown(limit_in_words(point.limit))
            rows[-1] = rows[-1].truncate(max(1, width - limit.cell_length), ellipsis=True, pad=True) + limit
        if len(rows) == 1:
            rows.append(Content("nothing more after this point"))
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)


def coming_points(survey: Survey) -> Iterator[Point]:
    """The points ahead of the walk that want a reading, the next one first."""
    first = survey.coming
    if first is None:
        return
    yield first
    states = wanted(survey.position)
    here = survey.here.id if survey.here is not None else ""
    for point in islice(survey.order.ids, survey.order.place[first.id] + 1, None):
        if point != here and survey.standings[point].state in states:
            yield survey.points[point]
