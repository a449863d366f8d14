"""Pick one of the readings taken: by its record number, or with the arrows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual import on
from textual.widget import Widget

from fieldtui.core.standing import Record
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.phrases import reading_row
from fieldtui.ui.widgets.choices import Choices, Row


class RecordDialog(Dialog[int]):
    """Newest first and marked; Enter takes it. The answer is a record number."""

    def __init__(self, heading: str, records: Sequence[Record]) -> None:
        super().__init__(heading, "Enter: the marked one. Digits: its record number. Esc: leave it.")
        self._records = list(reversed(records))

    def compose_body(self) -> Iterable[Widget]:
        yield Choices([Row(record.record, reading_row(record)[6:]) for record in self._records])

    @on(Choices.RowChosen)
    def _row_chosen(self, event: Choices.RowChosen) -> None:
        event.stop()
        self.dismiss(self._records[event.index].record)
