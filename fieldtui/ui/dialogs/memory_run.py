"""The meter's memory is full, cleared, or another meter was taken: what is done, step by step."""

from __future__ import annotations

from enum import Enum

from textual.content import Content

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.memory import MemoryRun, number_refusal
from fieldtui.core.survey.meters import meter_words
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.dialogs.number import next_number_trouble
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row


class MemoryStep(Enum):
    """What the crew does with a memory run that has readings."""

    RECONCILE = "reconcile"
    FROM_FILE = "from file"
    CLEARED = "cleared"
    OTHER_METER = "other meter"


_STEPS = (
    (MemoryStep.RECONCILE, "read out: key the list now, the record out of sight"),
    (MemoryStep.CLEARED, "read out and cleared: start the next run"),
    (MemoryStep.OTHER_METER, "another meter is taken: start a run on it"),
    (MemoryStep.FROM_FILE, "read out into a file: hold the record against it now"),
)


class MemoryStepDialog(PickDialog[MemoryStep]):
    """The way from a full memory to the next run. What comes next is said in words."""

    def __init__(self, run: MemoryRun, *, is_reconciled: bool, keyed: str = "", undecided: int = 0) -> None:
        """``keyed`` says how much of the list was keyed before; it is gone on with.

        ``undecided`` are the lines left so when the run was reconciled.
        """
        state = "reconciled" if is_reconciled else "NOT RECONCILED YET: step 1 or 4 before it is cleared"
        if is_reconciled and undecided:
            state = f"reconciled, {undecided} UNDECIDED: step 1 or 4 decides them before it is cleared"
        fill = "FULL" if run.is_full else f"last number {run.filed_last}"
        heading = Content.styled(f"Memory run {run.run}, {fill}", "bold") + Content(f"\n{state}")
        super().__init__(
            heading,
            [
                (Row(number, Content(_words(step, words, keyed))), step)
                for number, (step, words) in enumerate(_STEPS, start=1)
            ],
            hint="A digit picks. Esc or -: back.",
            enter_picks=False,
        )


def _words(step: MemoryStep, words: str, keyed: str) -> str:
    return f"read out: key the list now ({keyed}: go on)" if keyed and step is MemoryStep.RECONCILE else words


class UnreconciledDialog(PickDialog[bool]):
    """Once the memory is cleared, nothing can be held against it. Only the digit 9 goes on."""

    IS_UNFORESEEN = True

    def __init__(self, run: int) -> None:
        heading = Content("\n").join(
            [
                Content.styled(f"MEMORY RUN {run} IS NOT RECONCILED", "bold $text-error"),
                Content(
                    "Once it is cleared, what the meter kept can no longer be held against the record: "
                    "a lost or doubled number would never be found."
                ),
            ]
        )
        super().__init__(
            heading,
            [
                (Row(1, Content("reconcile it first")), False),
                (Row(9, Content("go on all the same, with a reason")), True),
            ],
            hint="A digit picks. Esc or -: back.",
            enter_picks=False,
        )


class MemoryRunDialog(FormDialog):
    """Asks for the number the next reading will get; an empty memory's first number is offered.

    With ``left_at``, the last number in the memory of a meter that was laid aside, none is: only a look at
    the meter tells whether it was cleared since.
    """

    def __init__(
        self, instrument: Instrument, *, is_other_meter: bool = False, left_at: int | None = None
    ) -> None:
        first = str(instrument.first_number)
        offered = first if left_at is None else ""
        asked = "number the next reading will get"
        number = Question(asked, next_number_trouble(instrument), offered, is_number=True)
        heading = (
            shown(f"A run on another meter: {meter_words(instrument)}", "bold")
            if is_other_meter
            else Content("Start the next memory run: only once the memory is read out and cleared")
        )
        if left_at is not None:
            is_full = bool(number_refusal(instrument, left_at + 1))
            goes_on = "and it is full" if is_full else f"so {left_at + 1}"
            heading += f"\nIts last number was {left_at}, {goes_on}; {first} only if it was cleared since."
        super().__init__(heading, [number])
