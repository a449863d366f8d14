"""The walk and its crew: somebody else records, or probes, from here on."""

from __future__ import annotations

from fieldtui.ui.screens.walk_rework import WalkRework


class WalkCrew(WalkRework):
    """Handovers in the middle of a walk; called from a worker."""

    async def do_hand_over(self) -> None:
        """Who records and probes from here on; every row carries the new recorder's name."""
        from fieldtui.ui.dialogs.handover import HandoverDialog

        answers = await self.ask(HandoverDialog(self.desk.crew))
        if answers is None:
            return
        recorder, prober = answers
        reason = await self.ask_reason("Handover: why?", "handover")
        if reason is None:
            return
        crew = await self.write(self.desk.hand_over, reason.text, recorder=recorder, prober=prober)
        self._say("HANDED OVER", f"{crew.recorder} records, {crew.prober} probes", reason.text)
