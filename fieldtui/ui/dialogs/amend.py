"""Correct a value that was keyed wrongly; the first one stays in the record."""

from __future__ import annotations

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.standing import Record
from fieldtui.desk.entry import weigh_reading
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.phrases import keyed_unit
from fieldtui.ui.widgets.entry_line import EntryLine


class AmendDialog(FormDialog):
    """Asks for the value that should have been keyed.

    ``picked`` is the number by which the record was picked, at ``picked_at``, empty where it was not: what
    follows it at once is the rest of a value that somebody keys without looking.
    """

    def __init__(self, record: Record, point: Point, *, picked: str = "", picked_at: float = 0.0) -> None:
        def trouble(text: str) -> str | None:
            try:
                reading = weigh_reading(text, point)
            except BadInputError as error:
                return error.what
            is_same = reading == record.reading
            return f"it says {record.reading} already: Esc leaves it so" if is_same else None

        is_voltage = point.current_ma is not None
        asked = f"it says {record.reading}; it should say ({keyed_unit(point)})"
        super().__init__(
            f"Correct record {record.record}, {point.id}",
            [Question(asked, trouble, is_value=True, is_signed=is_voltage)],
        )
        self._picked = picked
        self._picked_at = picked_at
        self._rest_of = ""

    def key_pressed(self, event: Key) -> None:
        if event.key == "enter" and self._rest_of:
            keyed, self._rest_of = f"{self._rest_of}{self._lines[0].text}", ""
            self.start_again()
            self.say(f"Was {keyed} called? Then Esc: nothing is corrected. Else key the right value whole.")
            return
        if self._picked and event.is_printable:
            is_soon = event.time - self._picked_at < EntryLine.ONE_NUMBER_S
            self._rest_of = self._picked if is_soon or event.character in (".", ",") else ""
            self._picked = ""
        super().key_pressed(event)
