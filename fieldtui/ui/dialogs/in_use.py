"""Another program writes the session that was to be resumed: it can be looked at all the same."""

from __future__ import annotations

from textual.content import Content

from fieldtui.errors import SessionInUseError
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row


class InUseDialog(PickDialog[bool]):
    """True where the session is to be opened read-only. Enter picks nothing: it was meant to resume."""

    IS_UNFORESEEN = True

    def __init__(self, error: SessionInUseError) -> None:
        heading = Content("\n").join(
            [
                shown(error.what, "bold $text-error"),
                shown(error.where),
                Content("Go on in that window, or leave it there first."),
            ]
        )
        rows = [(Row(1, Content("look at it here, read-only")), True)]
        super().__init__(heading, rows, hint="1 looks. Esc or -: back.", enter_picks=False)
