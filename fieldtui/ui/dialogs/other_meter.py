"""Which meter takes over: one of the crew's table, or one that no table knows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from textual.content import Content

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import calibration_trouble, meter_words
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.dialogs.number import next_number_trouble
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row


class OtherMeterDialog(PickDialog[Instrument]):
    """The answer is a meter of the table, or ``unlisted`` for one that is not in it."""

    IS_UNFORESEEN = True

    def __init__(self, meters: Sequence[Instrument], unlisted: Instrument, today: date) -> None:
        heading = Content("\n").join(
            [
                Content.styled("Which meter takes over?", "bold"),
                Content("Its check standard is read first. Reconcile the meter before while you have it."),
            ]
        )
        rows = [(Row(number, _words(each, today)), each) for number, each in enumerate(meters, start=1)]
        other = (Row(len(rows) + 1, Content("one that is not in shared/instruments.toml")), unlisted)
        super().__init__(heading, [*rows, other], hint="A digit picks. Esc or -: back.", enter_picks=False)


def _words(meter: Instrument, today: date) -> Content:
    """In one line: name, size of its memory, and its calibration where that is not in date."""
    memory = f"memory {meter.memory_size}" if meter.memory_size else "no memory"
    due = meter.calibration_due
    lapsed = "CALIBRATION UNKNOWN" if due is None else f"LAPSED {due.isoformat()}"
    trouble = Content.styled(f"✗ {lapsed}  ", "bold $text-error") if calibration_trouble(meter, today) else ""
    return Content("").join([trouble or Content(""), shown(meter_words(meter)), Content(f", {memory}")])


class UnlistedMeterDialog(FormDialog):
    """A meter of which nothing is known but what is keyed here: its name, and its next memory number."""

    def __init__(self, unlisted: Instrument) -> None:
        super().__init__(
            "A run on another meter. Its accuracy and calibration are not known; every report says so.",
            [
                Question("which meter: its name and serial number", wanted("the meter's name")),
                Question(
                    "number the next reading will get",
                    next_number_trouble(unlisted),
                    str(unlisted.first_number),
                    is_number=True,
                ),
            ],
        )
