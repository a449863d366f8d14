"""Why a reading is taken again; of a failed point also the way to its rework, which is no redo."""

from __future__ import annotations

from collections.abc import Sequence

from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog

REWORK = Reason("")  # no reason to read it again: the bond itself was repaired or cleaned
_REWORK_KEY = "z"  # the walk's own; the numeric keypad has the menu


class FailedRedoDialog(ReasonDialog):
    """A redo is of the reading, a rework is of the bond: its retest has a limit of its own."""

    def __init__(
        self, heading: str, reasons: Sequence[str], *, switch: str = "", digit_marks: bool = False
    ) -> None:
        super().__init__(
            heading,
            reasons,
            switch=switch,
            digit_marks=digit_marks,
            note="Repaired or cleaned? z: rework (numeric keypad: leave this, then /).",
        )

    def key_pressed(self, event: Key) -> None:
        if event.key.lower() == _REWORK_KEY and not self._words.is_active:
            self.answer(REWORK)
        else:
            super().key_pressed(event)
