"""A remark on the point being probed: a digit for one of the usual ones, or own words."""

from __future__ import annotations

from collections.abc import Sequence

from fieldtui.ui.dialogs.reason import ReasonDialog


class NoteDialog(ReasonDialog):
    """The usual remarks by digit; 0 for own words."""

    def __init__(self, point: str, remarks: Sequence[str]) -> None:
        hint = "A digit picks. 0: own words. Esc or -: no remark."
        super().__init__(f"Remark on {point}", remarks, hint=hint)
