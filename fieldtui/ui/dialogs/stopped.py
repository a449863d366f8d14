"""The line has stopped: a keyed value is doubtful, and nothing is recorded until somebody decides."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from fieldtui.desk.entry import Entry
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.shown import shown


class StoppedDialog(ReasonDialog):
    """Says what is doubtful. Enter does nothing here: a digit confirms, Escape keys again."""

    IS_UNFORESEEN = True

    def __init__(self, entry: Entry, reasons: Sequence[str]) -> None:
        heading = Content("\n").join(
            [
                Content.styled("STOPPED: NOTHING IS RECORDED YET", "bold $text-error"),
                *(shown(doubt.what, "bold") for doubt in entry.doubts),
                Content("Ask the prober to read the meter again."),
                Content(f"If it stands, pick why: {entry.reading} is recorded."),
            ]
        )
        super().__init__(
            heading,
            reasons,
            enter_picks=False,
            hint="A digit says why, and records it. 0: own words. Esc or -: key it again.",
        )
