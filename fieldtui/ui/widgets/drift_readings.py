"""The last readings against their memory numbers, those since the last check that agreed marked."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import reading_row

HEADING = "The last readings; ? = since the last check that agreed"


class NumberedReadings(Widget):
    """As many of the last readings as there is room for, the newest at the bottom."""

    def __init__(self, survey: Survey) -> None:
        super().__init__()
        self._survey = survey

    def render(self) -> Content:
        records = self._survey.last_records(max(1, self.size.height))
        unchecked = self._survey.first_unchecked
        rows = [
            Content(" ? " if record.record >= unchecked else "   ") + reading_row(record, self._survey)
            for record in records
        ] or [Content("   no reading yet")]
        width = max(1, self.size.width)
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)
