"""The number check: key what the prober reads off the meter."""

from __future__ import annotations

from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.form import FormDialog, Question


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
