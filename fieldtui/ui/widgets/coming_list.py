"""The points that come after this one, where there is room to look further ahead."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from textual.content import Content

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import UNSETTLED, wanted
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
    """The points ahead of the walk that want a reading, the next one first; and whether on a second pass.

    What is skipped comes once more at the end: on the second pass the prober goes back for it.
    """
    first, position = survey.coming, survey.position
    if first is None or position.here is None:
        return
    ids, place = survey.order.ids, survey.order.place
    told = {position.here}
    begins = not position.second_pass and not position.back and place[first.id] < place[position.here]
    is_second = begins and not survey.standings[first.id].asked_again
    yield first, is_second
    told.add(first.id)
    states = UNSETTLED if is_second else wanted(position)
    for point in islice(ids, place[first.id] + 1, None):
        if point not in told and survey.standings[point].state in states:
            told.add(point)
            yield survey.points[point], is_second
    for point in ids:
        if point not in told and survey.standings[point].state in UNSETTLED:
            yield survey.points[point], not position.second_pass
