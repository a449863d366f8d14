"""The number check: key what the prober reads off the meter."""

from __future__ import annotations

from collections.abc import Callable

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.memory import number_refusal
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


def next_number_trouble(instrument: Instrument) -> Callable[[str], str | None]:
    """A check that this meter can file its next reading under the number."""
    return lambda text: number_trouble(text) or number_refusal(instrument, parse_memory_number(text))


class NumberDialog(FormDialog):
    """Asks for the meter's last memory number without saying what is expected."""

    def __init__(self) -> None:
        asked = "The meter's last memory number, as the prober reads it out"
        super().__init__("Number check", [Question(asked, number_trouble, is_number=True)])
