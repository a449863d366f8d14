"""The last readings, newest at the bottom, as many as there is room for."""

from __future__ import annotations

from collections.abc import Container

from textual.content import Content

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import reading_row
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView

TITLE_ROOM = 24  # cells left in the row before a title is worth its beginning


class LastReadings(SurveyView):
    """Record, point, value, verdict in a word, memory number; void ones stay, marked."""

    def draw(self, survey: Survey) -> Content:
        width = max(1, self.size.width - 1)
        records = survey.last_records(max(1, self.size.height))
        doubts = {doubt.record for doubt in readings_in_doubt(survey)}
        rows = [self._row(survey, record, width, doubts) for record in records]
        rows = rows or [Content("   no reading yet")]
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)

    def _row(self, survey: Survey, record: Record, width: int, doubts: Container[int]) -> Content:
        """The reading; and what its point is called, where nothing has to give way for it."""
        row = reading_row(record, survey, doubts)
        if width - row.cell_length < TITLE_ROOM:
            return row
        return row + Content("  ") + shown(survey.points[record.point].title)
