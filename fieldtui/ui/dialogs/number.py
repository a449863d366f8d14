"""The number check: key what the prober reads off the meter, and settle it where it differs."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum

from textual import on
from textual.content import Content
from textual.widget import Widget

from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.widgets.choices import Choices, Row


def number_trouble(text: str) -> str | None:
    """Why ``text`` is no memory number, or None."""
    try:
        parse_memory_number(text)
    except BadInputError as error:
        return error.what
    return None


class NumberDialog(FormDialog):
    """Asks for the meter's last memory number without saying what is expected: it is read out blind."""

    def __init__(self) -> None:
        super().__init__(
            "Number check",
            [
                Question(
                    "The meter's last memory number, as the prober reads it out",
                    number_trouble,
                    is_number=True,
                )
            ],
        )


class MismatchAnswer(Enum):
    """What the crew says of two numbers that differ."""

    MISHEARD = "misheard"
    METER_RIGHT = "the meter is right"


class MismatchDialog(Dialog[MismatchAnswer]):
    """Both numbers, large as words, and the two ways on. Enter does nothing here."""

    TAKES_KEYS_AHEAD = False

    def __init__(self, called: int, expected: int | None) -> None:
        record_says = (
            "no reading of this memory run yet" if expected is None else f"last reading is {expected}"
        )
        heading = Content("\n").join(
            [
                Content.styled("THE NUMBERS DIFFER", "bold $text-error"),
                Content(f"Meter:   last reading is {called}"),
                Content(f"Record:  {record_says}"),
            ]
        )
        super().__init__(heading, "A digit picks. Esc: leave it open; a warning stays until it is settled.")

    def compose_body(self) -> Iterable[Widget]:
        rows = [
            Row(1, Content("misheard or keyed wrong: key the number again")),
            Row(2, Content("the meter is right: the next readings follow its number")),
        ]
        yield Choices(rows, enter_picks=False)

    @on(Choices.RowChosen)
    def _row_chosen(self, event: Choices.RowChosen) -> None:
        event.stop()
        self.dismiss((MismatchAnswer.MISHEARD, MismatchAnswer.METER_RIGHT)[event.index])
