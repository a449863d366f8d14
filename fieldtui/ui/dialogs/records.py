"""Pick one of the readings taken: by its record number, or with the arrows."""

from __future__ import annotations

from collections.abc import Sequence

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.phrases import reading_row
from fieldtui.ui.widgets.choices import Row

_NUMBER_WIDTH = 6  # the list draws the record number itself


class RecordDialog(PickDialog[int]):
    """Newest first and marked; Enter takes it. The answer is a record number."""

    def __init__(self, heading: str, records: Sequence[Record], survey: Survey | None = None) -> None:
        in_doubt = readings_in_doubt(survey) if survey is not None else ()
        doubts = {each.record for each in in_doubt}
        super().__init__(
            heading,
            [
                (Row(record.record, reading_row(record, survey, doubts)[_NUMBER_WIDTH:]), record.record)
                for record in reversed(records)
            ],
            hint="Enter: the marked one. Digits: its record number. Esc or -: leave it.",
        )

    def _takes_marked(self, event: Pressed) -> bool:
        return False  # the newest is marked, whichever readings there are
