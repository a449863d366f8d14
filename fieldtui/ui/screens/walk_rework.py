"""The walk and its failed points: a bond is repaired or cleaned where it failed, and tested again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import limit_for
from fieldtui.desk import closing
from fieldtui.errors import WrongUseError
from fieldtui.ui.phrases import limit_in_words
from fieldtui.ui.screens.walk_meter import WalkMeter

if TYPE_CHECKING:
    from fieldtui.ui.dialogs.reason import Reason


class WalkRework(WalkMeter):
    """Rework on the walk; called from a worker."""

    async def do_rework(self) -> None:
        """A failed point was repaired or cleaned: its next reading is the retest."""
        from fieldtui.ui.dialogs.points import PointsDialog

        failed = self._failed_points()
        if not failed:
            raise WrongUseError(
                "No point has failed, so none was reworked", remedy="t takes a reading again, n is a remark"
            )
        if len(failed) == 1:
            await self._rework(failed[0].id)
            return
        point = await self.ask(PointsDialog("Which failed point was reworked?", self.desk.survey, failed))
        if point is not None:
            await self._rework(point)

    def _failed_points(self) -> list[Point]:
        """Those that may have been reworked: the one being probed, or read last, comes first.

        Where none is failed now, those that failed at first and were only taken again.
        """
        survey = self.desk.survey
        failed = survey.in_state(State.FAILED)
        if not failed:
            standings = ((point, survey.standings[point]) for point in survey.order.ids)
            found = ((point, each.as_found) for point, each in standings if not each.retest)
            failed = [
                survey.points[point]
                for point, result in found
                if result is not None and result.verdict.is_failed
            ]
        last = survey.last_records(1)
        nearest = [survey.position.here, *(record.point for record in last)]
        return sorted(failed, key=lambda point: nearest.index(point.id) if point.id in nearest else 2)

    async def _rework(self, point: str) -> None:
        from fieldtui.ui.dialogs.form import FormDialog, Question, reference

        reason = await self.ask_reason(
            f"{point} was repaired or cleaned: what was done?", "rework", digit_marks=True
        )
        if reason is None:
            return
        ref = self.desk.survey.standings[point].discrepancy
        if not ref:
            asked = Question(
                "reference of its paper (discrepancy); none yet: the reference you have",
                reference,
            )
            answers = await self.ask(FormDialog(f"The paper of {point}", [asked]))
            if answers is None:
                return
            ref = answers[0]
        await self.write(closing.rework, self.desk, point, reason.text, ref)
        plan = self.desk.survey.points[point]
        words = limit_in_words(limit_for(plan, retest=True), plan.unit)
        self._say("REWORKED", point, f"{reason.text}. RETEST next, limit {words}")

    async def ask_redo(
        self, heading: str, point: str, *, switch: str = "", digit_marks: bool = False
    ) -> Reason | None:
        """Why a point is read again. A failed one may have been reworked instead: then that is written."""
        if self.desk.survey.standings[point].state is not State.FAILED:
            return await self.ask_reason(heading, "redo", switch=switch, digit_marks=digit_marks)
        from fieldtui.ui.dialogs.redo import REWORK, FailedRedoDialog

        reasons = self.desk.session.reasons.of("redo")
        reason = await self.ask(FailedRedoDialog(heading, reasons, switch=switch, digit_marks=digit_marks))
        if reason is not REWORK:
            return reason
        await self._rework(point)
        return None
