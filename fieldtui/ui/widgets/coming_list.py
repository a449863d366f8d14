"""The points that come after this one, where there is room to look further ahead."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from textual.content import Content

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import limit_in_words
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView


class ComingList(SurveyView):
    """Id, title and limit, in the order they will be walked if every reading is good."""

    def draw(self, survey: Survey) -> Content:
        width = max(1, self.size.width - 1)
        rows = [Content.styled("coming up", "bold underline")]
        room = max(0, self.size.height - 1)
        for point, is_second in islice(coming_points(survey), room):
            if is_second and _SECOND not in rows:
                rows.append(_SECOND)
            rows.append(shown(point.id, "bold") + Content("  ") + shown(point.title))
            limit = Content("  ") + shown(limit_in_words(point.limit, point.unit))
            rows[-1] = rows[-1].truncate(max(1, width - limit.cell_length), ellipsis=True, pad=True) + limit
        if len(rows) == 1:
            rows.append(Content("nothing more after this point"))
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows[: room + 1])


_SECOND = Content.styled("second pass", "bold")


def coming_points(survey: Survey) -> Iterator[tuple[Point, bool]]:
    """The points ahead of the walk, the next one first; and whether they come on a second pass yet to begin.

    What is skipped comes once more at the end: on the second pass the prober goes back for it.
    """
    for position in survey.ahead:
        if position.here is not None:
            yield survey.points[position.here], position.second_pass and not survey.position.second_pass
