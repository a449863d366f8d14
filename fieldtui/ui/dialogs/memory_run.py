"""The meter's memory was read out and cleared: where does the next memory run begin?"""

from __future__ import annotations

from fieldtui.core.tables import Instrument
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.dialogs.number import number_trouble


class MemoryRunDialog(FormDialog):
    """Asks for the number the next reading will get; an empty memory's first number is offered."""

    def __init__(self, instrument: Instrument) -> None:
        super().__init__(
            "Start the next memory run: only once the memory is read out and cleared",
            [
                Question(
                    "number the next reading will get",
                    number_trouble,
                    str(instrument.first_number),
                    is_number=True,
                )
            ],
        )
