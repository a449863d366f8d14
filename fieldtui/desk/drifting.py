"""Record and prober out of step: the watch, the explanations, and the way back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.desk.memory import Memory
from fieldtui.desk.watching import IN_STEP_SAID
from fieldtui.errors import WrongUseError

if TYPE_CHECKING:
    from fieldtui.core.drift.explanations import Change, Explanation


class Drifting(Memory):
    """What is done once numbers or values do not fit."""

    def explain_numbers(self, called: int) -> tuple[Explanation, ...]:
        """Why the meter's last number is ``called`` and not the expected one, likeliest first."""
        from fieldtui.desk.explaining import explain_numbers

        return explain_numbers(self.survey, called)

    def follow_explanation(self, change: Change, reason: str, *, restarted: bool = False) -> None:
        """Bring the numbers into step in the way that one explanation says.

        ``restarted``: the memory began anew, and the readings that move belong to a new run.
        """
        if change.takes_back:
            called = self.survey.called[0] if self.survey.out_of_step else None
            for correction in reversed(self.survey.corrections[-change.takes_back :]):
                self.go_back_on(correction, reason)
            if called is not None:
                self.check_number(called)  # it agrees now, or something else went wrong as well
            return
        if restarted:
            self._follow_restart(change, reason)
            return
        for record in change.loses:  # first, so that a stop in between leaves the mismatch open
            self.unfile(record, reason)
        self.renumber(change.next_number, reason, change.moves_from)

    def shift_points(self, first: int, by: int, reason: str, last: int | None = None) -> None:
        """Readings from record ``first`` on belong ``by`` points further along the planned walk.

        Those whose point was named to the prober stay: he was told where, whatever came before. One reading
        alone moves wherever it stands. ``last`` is the last of them, where those after it are in step again.
        """
        reason = self._reason(reason)
        for event in self._shifts(first, by, last, reason):
            self.append(event)

    def try_shift(self, first: int, by: int, last: int | None = None) -> Survey:
        """The survey as :meth:`shift_points` would leave it; nothing is written."""
        survey = self.survey
        for event in self._shifts(first, by, last, "tried"):
            survey = self._after(survey, event)
        return survey

    def mirror_section(self, first: int, reason: str) -> None:
        """The section was walked from its far end since record ``first``: its readings change ends."""
        self.append(self._mirror(first, self._reason(reason)))

    def try_mirror(self, first: int) -> Survey:
        """The survey as :meth:`mirror_section` would leave it; nothing is written."""
        return self._tried(self._mirror(first, "tried"))

    def in_step(self) -> None:
        """The crew looked, and prober and record are in step after all."""
        here = self.survey.here
        self.append(ev.Noted(**self.stamp(), point=here.id if here is not None else "", note=IN_STEP_SAID))
        self._lookout = self.lookout.settled()

    def _shifts(self, first: int, by: int, last: int | None, reason: str) -> list[ev.ReadingsShifted]:
        """One event for each row of readings that move equally far along the walk as it now is."""
        self._record(first)
        last = len(self.survey.records) if last is None else last
        if last < first:
            what = f"Record {last} is not after record {first}"
            raise WrongUseError(what, remedy="name the first one first")
        place, standings = self.survey.order.place, self.survey.standings
        out_of_turn = self.survey.out_of_turn
        # Both leave out what was measured out of turn: the one ahead does not come by there again either.
        planned = [
            point
            for point in self.survey.order.ids
            if not self.survey.points[point].unplanned
            and out_of_turn.get(min(standings[point].records, default=0)) != point
        ]
        if is_single := first == last:
            planned = list(self.survey.order.ids)
        along = {point: at for at, point in enumerate(planned)}
        found: list[ev.ReadingsShifted] = []
        before: tuple[int, int] | None = None  # the record that moved just before, and how far
        for number in range(first, last + 1):
            at = self._record(number).point
            if (at == out_of_turn.get(number) and not is_single) or at not in along:
                continue
            there = along[at] + by
            if there not in range(len(planned)):
                raise WrongUseError(
                    f"Record {number} would move to where there is no point",
                    remedy="choose another explanation, or void and take the readings again",
                )
            to = planned[there]
            far = place[to] - place[at]
            if before == (number - 1, far):
                found[-1] = replace(found[-1], record=number)
            else:
                made = ev.ReadingsShifted(**self.stamp(), ref=number, record=number, point=to, reason=reason)
                found.append(made)
            before = (number, far)
        if not found:
            raise WrongUseError(
                "None of these readings moves: the points of all were named to the prober",
                remedy="move one of them alone, or strike it out and take it again",
            )
        # Into places that are free by then: what moves on goes first at the far end.
        return found[::-1] if by > 0 else found

    def _mirror(self, first: int, reason: str) -> ev.SectionMirrored:
        record = self._record(first)
        section = self.survey.points[record.point].section
        last = len(self.survey.records)
        others = {self.survey.points[self.survey.records[n].point].section for n in range(first, last + 1)}
        if others != {section}:
            raise WrongUseError(
                "Readings of several sections cannot be mirrored at once",
                remedy="void the readings that are wrong, and take them again",
            )
        places = self.survey.order.section_around(record.point, lambda p: self.survey.points[p].section)
        far = self.survey.order.ids[places.start + places.stop - 1 - self.survey.order.place[record.point]]
        return ev.SectionMirrored(**self.stamp(), ref=first, record=last, point=far, reason=reason)

    def _follow_restart(self, change: Change, reason: str) -> None:
        """Readings from ``change.moves_from`` on become the first ones of a new run."""
        fresh = self._run().run + 1
        moved = [
            record
            for record in self.survey.records.values()
            if change.moves_from is not None
            and record.record >= change.moves_from
            and record.run == fresh - 1
            and record.number is not None
        ]
        for record in moved:  # first, so that a stop in between leaves the mismatch open
            self.amend_number(record.record, fresh, (record.number or 0) + change.by, reason)
        self.start_run(change.next_number, reason)
