"""The walk and doubtful values: the line stops until the meter was read again, or a reason is given."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content

from fieldtui.desk.entry import NUMBER_MISHEARD, READ_AGAIN, DoubtKind, Entry
from fieldtui.ui.phrases import keyed_unit
from fieldtui.ui.screens.walk_crew import WalkCrew
from fieldtui.ui.screens.walk_stage import RINGS_STOP
from fieldtui.ui.shown import shown


class WalkDoubts(WalkCrew):
    """What both a keyed value and a correction go through before they are written."""

    async def until_it_stands(
        self, entry: Entry, weigh: Callable[[str], Entry], *, what: str = ""
    ) -> tuple[Entry, str] | None:
        """Ask about ``entry`` until nothing is doubtful or a reason says why it stands; None if it is left.

        Another value keyed meanwhile takes its place and is weighed anew: nothing of the first is recorded.

        Args:
            entry: as weighed; one without doubts stands without a reason.
            weigh: says what a text is for the same place.
            what: is to be written, where it is no reading at the point being probed.
        """
        from fieldtui.ui.dialogs.stopped import Stands, StoppedDialog, WhyStandsDialog

        while entry.doubts:
            self.say(Content.styled("STOPPED", "bold") + shown(f"  {entry.doubts[0].what}"), "bad")
            self.ring(RINGS_STOP)
            point = self.desk.survey.points[entry.point]
            is_signed, unit = point.current_ma is not None, keyed_unit(point)
            dialog = StoppedDialog(entry, weigh, unit=unit, is_signed=is_signed, what=what)
            answer = await self.ask(dialog)
            if answer is None:
                return None
            if isinstance(answer, Entry):
                entry = answer
                self._put_on_line(entry, what)
                continue
            is_number = entry.doubts[0].kind is DoubtKind.NUMBER
            if answer is Stands.READ_AGAIN and not is_number:
                return entry, READ_AGAIN
            reason = await self.ask(WhyStandsDialog(entry, self._reasons_for(is_number=is_number)))
            if reason is not None:
                return entry, reason.text
        return entry, ""

    def _put_on_line(self, entry: Entry, what: str) -> None:
        """The line shows the value that may be recorded next; a correction has none there."""
        if not what:
            self.entry.text = entry.text

    def _reasons_for(self, *, is_number: bool) -> tuple[str, ...]:
        reasons = self.desk.session.reasons
        if is_number:
            return (*reasons.of("renumber")[:8], NUMBER_MISHEARD)
        return tuple(each for each in reasons.of("confirm") if each != READ_AGAIN)
