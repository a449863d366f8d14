"""The walk and the meter itself: its check standard, its leads and tips."""

from __future__ import annotations

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.survey.meters import meter_words
from fieldtui.core.trail.events import Answer
from fieldtui.errors import WrongUseError
from fieldtui.ui.screens.walk_memory import WalkMemory
from fieldtui.ui.screens.walk_stage import RINGS_PASS, RINGS_STOP


class WalkMeter(WalkMemory):
    """Checks of the meter while the walk goes on; each called from a worker."""

    async def do_other_meter(self) -> None:
        """Another meter takes over; its check standard is asked for at once, and can be left for later."""
        before = len(self.desk.survey.meters)
        await super().do_other_meter()
        survey = self.desk.survey
        if len(survey.meters) > before and survey.instrument.check_standard is not None:
            heading = f"Check {meter_words(survey.instrument)} before its first reading"
            await self._read_standard(heading, is_unforeseen=True)

    async def do_standard(self) -> None:
        """Read the check standard; a failed one says which readings it puts in doubt."""
        await self._read_standard(f"Check {meter_words(self.desk.survey.instrument)}")

    async def _read_standard(self, heading: str, *, is_unforeseen: bool = False) -> None:
        from fieldtui.ui.dialogs.standard import StandardDialog

        standard = self.desk.survey.instrument.check_standard
        if standard is None:
            raise WrongUseError(
                "This meter has no check standard",
                remedy="give it one in instruments.toml, for the next session",
            )
        number = self.desk.survey.next_number
        answers = await self.ask(
            StandardDialog(standard, heading, next_number=number, is_unforeseen=is_unforeseen)
        )
        if answers is None:
            return
        filed = number if number is not None and answers[1] else None
        found = await self.write(self.desk.check_standard, answers[0], number=filed)
        doubts = readings_in_doubt(self.desk.survey)
        if found is Answer.GOOD:
            left = f"still in doubt: {len(doubts)}, d lists them" if doubts else ""
            self._say("METER GOOD", answers[0], left, tone="warning" if doubts else "good")
            self.ring(RINGS_PASS)
        else:
            detail = f"in doubt: {len(doubts)}, d lists them" if doubts else "no reading is in doubt"
            self._say("METER NOT GOOD", answers[0], detail, tone="bad")
            self.ring(RINGS_STOP)

    async def do_lead(self) -> None:
        """Another lead or other tips: written down, and the check standard is due."""
        reason = await self.ask_reason("Another lead, or other tips: why?", "lead")
        if reason is not None:
            await self.write(self.desk.lead_changed, reason.text)
            has_standard = self.desk.survey.instrument.check_standard is not None
            due = "g reads the check standard" if has_standard else ""
            self._say("LEAD OR TIPS CHANGED", reason.text, due, tone="warning" if due else "")
