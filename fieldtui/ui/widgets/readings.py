"""The last readings, newest at the bottom, as many as there is room for."""

from __future__ import annotations

from textual.content import Content

from fieldtui.core.survey import Survey
from fieldtui.ui.phrases import reading_row
from fieldtui.ui.widgets.survey_view import SurveyView


class LastReadings(SurveyView):
    """Record, point, value, verdict in a word, memory number; void ones stay, marked."""

    def draw(self, survey: Survey) -> Content:
        width = max(1, self.size.width - 1)
        records = survey.last_records(max(1, self.size.height))
        rows = [reading_row(record) for record in records] or [Content("   no reading yet")]
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)
