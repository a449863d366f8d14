"""Correct a value that was keyed wrongly; the first one stays in the record."""

from __future__ import annotations

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.standing import Record
from fieldtui.desk.entry import weigh_reading
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.phrases import keyed_unit


class AmendDialog(FormDialog):
    """Asks for the value that should have been keyed."""

    def __init__(self, record: Record, point: Point) -> None:
        def trouble(text: str) -> str | None:
            try:
                weigh_reading(text, point)
            except BadInputError as error:
                return error.what
            return None

        is_voltage = point.current_ma is not None
        asked = f"it says {record.reading}; it should say ({keyed_unit(point)})"
        super().__init__(
            f"Correct record {record.record}, {point.id}",
            [Question(asked, trouble, is_value=True, is_signed=is_voltage)],
        )
