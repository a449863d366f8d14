"""The meter on its check standard: what it reads, and whether its memory took that in.

What is not within the tolerance is asked for a second time before it goes on record, as a doubtful reading
is: it puts readings in doubt, and a slip of the finger or of the ear must not.
"""

from __future__ import annotations

from collections.abc import Callable

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.tables import CheckStandard
from fieldtui.core.survey.brief import standard_finding
from fieldtui.desk.entry import parse_memory_number, weigh_value
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.dialogs.number import number_trouble
from fieldtui.ui.held_keys import Pressed


class StandardDialog(FormDialog):
    """Asks for the reading and, where ``next_number`` is given, for the number it was filed under.

    The answer is the value and the number, empty where the meter filed nothing.
    """

    def __init__(
        self,
        standard: CheckStandard,
        heading: str,
        *,
        next_number: int | None = None,
        is_unforeseen: bool = False,
    ) -> None:
        """With ``is_unforeseen`` no key counts that was pressed before it could be seen."""
        name = standard.title or "check standard"
        asked = [
            Question(
                f"{name}, {standard.value} within {standard.tolerance}: read as",
                _value(standard),
                is_value=True,
            )
        ]
        if next_number is not None:
            label = f"memory number, where the meter filed it ({next_number} is next); empty: not filed"
            asked.append(Question(label, _number(next_number), is_number=True))
        super().__init__(heading, asked)
        self._standard = standard
        self._is_unforeseen = is_unforeseen
        self._keyed_once: Resistance | None = None  # not within the tolerance

    def wants_seen(self, event: Pressed) -> bool:
        return self._is_unforeseen or super().wants_seen(event)

    def answer(self, answer: list[str] | None) -> None:
        if answer is not None:
            reading = weigh_value(answer[0], self._standard.value.unit)
            if (wrong := standard_finding(self._standard, reading)) and reading != self._keyed_once:
                self._keyed_once = reading
                self.start_again()
                again = "Key again what it shows, and store it no second time: the same goes on record."
                self.say(f"NOT RECORDED YET: {wrong}. {again}")
                return
        super().answer(answer)


def _value(standard: CheckStandard) -> Callable[[str], str | None]:
    def trouble(text: str) -> str | None:
        try:
            weigh_value(text, standard.value.unit)
        except BadInputError as error:
            return error.what
        return None

    return trouble


def _number(expected: int) -> Callable[[str], str | None]:
    def trouble(text: str) -> str | None:
        if not text:
            return None
        if why := number_trouble(text):
            return why
        if parse_memory_number(text) == expected:
            return None
        return f"the record expects {expected}: leave it with Esc, c settles the numbers first"

    return trouble
