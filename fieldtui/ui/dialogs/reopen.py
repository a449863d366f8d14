"""Before a closed session is opened again: what that breaks, why it is done, and by whom."""

from __future__ import annotations

from textual.content import Content

from fieldtui.core.plan.session import Session
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.shown import shown


class ReopenDialog(FormDialog):
    """The answers are the reason and the name."""

    def __init__(self, facts: Session, seal: str, rows: int) -> None:
        heading = Content("\n").join(
            [
                shown("Open this closed session again?", "bold"),
                shown(facts.id),
                Content(f"Its seal, at row {rows}, will no longer hold, nor will signatures before it:"),
                shown(seal, "bold"),
            ]
        )
        asked = [
            Question("why it is opened again", wanted("a reason")),
            Question("who opens it again", wanted("a name"), facts.crew.recorder),
        ]
        super().__init__(heading, asked, hint="Enter on the last line opens it. Esc: leave it closed.")
