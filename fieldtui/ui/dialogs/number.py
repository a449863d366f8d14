"""The number check: key what the prober reads off the meter, and settle it where it differs."""

from __future__ import annotations

from enum import Enum

from textual.content import Content

from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.widgets.choices import Row


def number_trouble(text: str) -> str | None:
    """Why ``text`` is no memory number, or None."""
    try:
        parse_memory_number(text)
    except BadInputError as error:
        return error.what
    return None


class NumberDialog(FormDialog):
    """Asks for the meter's last memory number without saying what is expected."""

    def __init__(self) -> None:
        asked = "The meter's last memory number, as the prober reads it out"
        super().__init__("Number check", [Question(asked, number_trouble, is_number=True)])


class MismatchAnswer(Enum):
    """What the crew says of two numbers that differ."""

    MISHEARD = "misheard"
    METER_RIGHT = "the meter is right"


_ROWS = (
    (Row(1, Content("misheard or keyed wrong: key the number again")), MismatchAnswer.MISHEARD),
    (Row(2, Content("the meter is right: the next readings follow its number")), MismatchAnswer.METER_RIGHT),
)


class MismatchDialog(PickDialog[MismatchAnswer]):
    """Both numbers and the two ways on. Enter does nothing here."""

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
        super().__init__(
            heading,
            _ROWS,
            hint="A digit picks. Esc: leave it open; a warning stays until it is settled.",
            enter_picks=False,
        )
