"""A handover: who records and who probes from here on."""

from __future__ import annotations

from fieldtui.core.plan.session import Crew
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted


class HandoverDialog(FormDialog):
    """The answers are the recorder and the prober; whoever stays is offered."""

    def __init__(self, crew: Crew) -> None:
        super().__init__(
            "Handover: who is at work from here on?",
            [
                Question("who records", wanted("a name"), crew.recorder),
                Question("who probes", wanted("a name"), crew.prober),
            ],
            hint="Enter: go on; what is offered stays. Esc or -: leave it.",
        )
