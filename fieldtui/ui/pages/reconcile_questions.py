"""What the reconcile page asks about one line."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from fieldtui.core.pairing.alignment import MemoryEntry, Option, Undecided
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.widgets.reconcile_rows import option_in_words

PICKS = "A digit picks. Esc or -: back."


def which_is_it(undecided: Undecided, survey: Survey, memory: Sequence[MemoryEntry]) -> PickDialog[Option]:
    """Which of the possibilities it was."""
    rows = [
        (Row(number, shown(option_in_words(option, survey, memory))), option)
        for number, option in enumerate(undecided.options, start=1)
    ]
    return PickDialog("Undecided: which is it?", rows, hint=PICKS, enter_picks=False, is_unforeseen=True)


def is_it_there(record: int, number: int | None, why: str) -> PickDialog[bool]:
    """Whether the meter has the entry of a reading that its list lacks; nothing but a look at it tells."""
    heading = Content.styled(f"Record {record} is not in the list: was it kept?", "bold")
    heading = Content("\n").join([heading, shown(f"{why}.")])
    rows = [
        (Row(1, Content(f"number {number} is on the meter: the list lost its line, the record stays")), True),
        (Row(2, Content("it is not on the meter: this reading was not kept")), False),
    ]
    return PickDialog(heading, rows, hint=PICKS, enter_picks=False, is_unforeseen=True)
