"""The walk and the meter's memory: number checks, memory runs, reconciling, and the drift watch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldtui.core.drift.watch import Alarm
from fieldtui.core.plan.resolving import coarse_words
from fieldtui.core.survey.memory import FIRST_RUN, MemoryRun
from fieldtui.core.survey.meters import calibration_trouble, left_at, meter_words, unlisted_meter
from fieldtui.core.survey.position import State
from fieldtui.core.trail.events import Agreement
from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import WrongUseError
from fieldtui.ui.screens.walk_stage import RINGS_STOP, WalkStage
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.alerts import Alerts

# A page or dialog is imported by what shows it, here and in the modules built on this one: a walk that goes
# well shows few of them.
if TYPE_CHECKING:
    from fieldtui.core.plan.tables import Instrument
    from fieldtui.desk.session_desk import Desk
    from fieldtui.ui.dialogs.blind import KeyedList
    from fieldtui.ui.dialogs.memory_run import MemoryStepDialog
    from fieldtui.ui.dialogs.reason import Reason
    from fieldtui.ui.pages.drift import NumberChoice
    from fieldtui.ui.pages.drift_points import PointChoice
    from fieldtui.ui.widgets.coach import Prober

_FULL = "memory full, read out and reconciled"


class WalkMemory(WalkStage):
    """Whatever keeps record, meter and prober in step; each called from a worker."""

    _standing: tuple[Alarm, ...] = ()  # what the watch spoke up about and nobody settled, at the last look

    def __init__(self, desk: Desk, *, prober: Prober | None = None) -> None:
        super().__init__(desk, prober=prober)
        self.keyed_lists: dict[int, KeyedList] = {}  # memory lists keyed blind and not settled, by run

    # --- number checks --------------------------------------------------------------------

    async def do_check(self) -> None:
        """Key the called number; where it differs, go through Drift until it is settled or left open.

        Drift that was left open is asked again afterwards.
        """
        from fieldtui.core.drift.explanations import Kind
        from fieldtui.ui.dialogs.number import NumberDialog

        is_drifting = bool(self.query_one(Alerts).drift)
        if is_drifting and self.desk.survey.run is None:  # there is no number to be asked for
            await self.watch_drift(resumed=True)
            return
        while (answers := await self.ask(NumberDialog())) is not None:
            called = parse_memory_number(answers[0])
            if await self.write(self.desk.check_number, called) is Agreement.AGREE:
                self._say("NUMBERS AGREE", str(called), "", tone="good")
                if is_drifting:
                    await self.watch_drift(resumed=True)
                return
            choice = await self._ask_what_happened(called)
            while choice is not None and choice.kind is not Kind.MISHEARD:
                await self._follow(choice)
                if not choice.change.takes_back or not self.desk.survey.out_of_step:
                    return
                choice = await self._ask_what_happened(called)  # something else went wrong as well
            if choice is None:
                return

    async def _ask_what_happened(self, called: int) -> NumberChoice | None:
        from fieldtui.ui.pages.drift import NumberDriftScreen

        run = self.desk.survey.run
        expected = run.filed_last if run is not None else None
        ours = "none" if expected is None else str(expected)
        self._say("THE NUMBERS DIFFER", f"meter {called}, record {ours}", "", tone="bad")
        self.ring(RINGS_STOP)
        explanations = await self.writer.do(self.desk.explain_numbers, called)
        return await self.ask(NumberDriftScreen(self.desk.survey, called, explanations))

    async def _follow(self, choice: NumberChoice) -> None:
        from fieldtui.core.drift.explanations import Kind

        if choice.kind is Kind.SEVERAL:
            self._say("MORE THAN ONE SLIP", "read the memory out", "then h reconciles it", tone="warning")
            return
        is_restarted = choice.kind is Kind.RESTARTED
        await self.write(self.desk.follow_explanation, choice.change, choice.reason, restarted=is_restarted)
        self._say("IN STEP AGAIN", f"the next reading gets {choice.change.next_number}", choice.reason)

    # --- the drift watch ------------------------------------------------------------------

    async def watch_drift(self, *, resumed: bool = False) -> None:
        """Ask the drift watch what it makes of the last reading; where it speaks up, ask the crew.

        ``resumed``: what it spoke up about before and nobody answered is asked again.
        """
        alarms = await self.writer.do(self._standing_alarms if resumed else self._alarms)
        if alarms:
            await self._ask_about_drift(alarms)
        standing = await self.writer.do(self._standing_alarms) if alarms else self._standing
        self.query_one(Alerts).drift = standing[-1].cause if standing else ""

    async def _ask_about_drift(self, alarms: tuple[Alarm, ...]) -> None:
        from fieldtui.ui.pages.drift_points import PointDriftScreen, Remedy

        alarm = alarms[-1]
        earlier = alarms[-2] if alarm.shift == 0 and len(alarms) > 1 else None
        self.ring(RINGS_STOP)
        choice = await self.ask(PointDriftScreen(self.desk, alarm, earlier))
        if choice is None:
            self._say("DRIFT", alarm.cause, "look before the next reading", tone="warning")
        elif choice.remedy is Remedy.IN_STEP:
            await self.write(self.desk.in_step)
            self._say("IN STEP", "prober and record", "")
        elif choice.remedy is Remedy.MIRROR:
            await self.write(self.desk.mirror_section, choice.first, choice.reason)
            self._say("FAR END FIRST", f"from record {choice.first} on", choice.reason)
        else:
            await self._move(choice)

    async def do_move(self) -> None:
        """The crew knows by itself that readings stand at the wrong points, or moves some back."""
        from fieldtui.ui.pages.drift_points import PointDriftScreen

        if not self.desk.survey.records:
            raise WrongUseError("No reading has been taken yet", remedy="key the first one")
        choice = await self.ask(PointDriftScreen(self.desk))
        if choice is not None:
            await self._move(choice)

    async def _move(self, choice: PointChoice) -> None:
        await self.write(self.desk.shift_points, choice.first, choice.by, choice.reason, last=choice.last)
        until = "on" if choice.last is None else f"to {choice.last}"
        which = f"from record {choice.first} {until} by {choice.by:+d}"
        self._say("READINGS MOVED", f"{which}  = moves them back", choice.reason)

    def _alarms(self) -> tuple[Alarm, ...]:
        """The alarms so far, the one of the last reading last; none where that one gave none."""
        lookout = self.desk.lookout
        self._standing = lookout.standing
        watch = lookout.watch
        return watch.alarms if watch.alarm is not None else ()

    def _standing_alarms(self) -> tuple[Alarm, ...]:
        return self.desk.lookout.standing

    # --- memory runs ----------------------------------------------------------------------

    async def do_fresh_run(self) -> None:
        """Read out, reconcile, clear, next run: one step after the other."""
        from fieldtui.ui.dialogs.memory_run import MemoryStep

        run = self.desk.survey.run
        if run is None or run.filed_last is None:
            await self._start_run()
            return
        while (step := await self.ask(self._steps(run))) is not None:
            if step in (MemoryStep.RECONCILE, MemoryStep.FROM_FILE):
                await self._reconcile(run=run.run, is_blind=step is MemoryStep.RECONCILE, leads_on=True)
                survey = self.desk.survey
                is_done = run.run in survey.reconciled and run.run not in survey.undecided
                if is_done and await self._start_run():
                    return
            elif step is MemoryStep.OTHER_METER:
                await self.do_other_meter()
                return
            elif await self._clear(run):
                return

    def _steps(self, run: MemoryRun) -> MemoryStepDialog:
        from fieldtui.ui.dialogs.memory_run import MemoryStepDialog

        survey = self.desk.survey
        keyed = self.keyed_lists.get(run.run)
        return MemoryStepDialog(
            run,
            is_reconciled=run.run in survey.reconciled,
            keyed=keyed.words if keyed else "",
            undecided=survey.undecided.get(run.run, 0),
        )

    async def _clear(self, run: MemoryRun) -> bool:
        """The next run after a cleared memory; False where the crew goes back a step."""
        from fieldtui.ui.dialogs.memory_run import UnreconciledDialog

        if run.run not in self.desk.survey.reconciled:
            all_the_same = await self.ask(UnreconciledDialog(run.run))
            if not all_the_same:
                if all_the_same is False:
                    await self.do_reconcile(run.run)
                return False
        return await self._start_run()

    async def _start_run(self) -> bool:
        from fieldtui.ui.dialogs.memory_run import MemoryRunDialog

        run = self.desk.survey.run
        answers = await self.ask(MemoryRunDialog(self.desk.survey.instrument))
        if answers is None:
            return False
        why = _FULL  # a full memory that was reconciled has said why by itself
        if run is None or not run.is_full or run.run not in self.desk.survey.reconciled:
            # The crew's table has the first run's reason as well: it is none of a later one.
            without = FIRST_RUN if self.desk.survey.runs else ""
            reason = await self.ask_reason("Next memory run: why?", "run", without=without)
            if reason is None:
                return False
            why = reason.text
        await self._begin_run(answers[0], why)
        return True

    async def do_other_meter(self) -> None:
        """Another meter takes over: which one, its next number, why; a lapsed calibration is overridden."""
        from fieldtui.ui.dialogs.memory_run import MemoryRunDialog
        from fieldtui.ui.dialogs.other_meter import OtherMeterDialog, UnlistedMeterDialog

        now, today = self.desk.survey.instrument, self.desk.day
        meters = await self.writer.do(self.desk.known_meters)
        chosen = unlisted = unlisted_meter("", now)
        if meters:
            answer = await self.ask(OtherMeterDialog(meters, unlisted, today))
            if answer is None:
                return
            chosen = answer
        number: str | None = None
        if chosen is unlisted:
            answers = await self.ask(UnlistedMeterDialog(unlisted))
            if answers is None:
                return
            chosen, number = unlisted_meter(answers[0], now), answers[1]
        elif chosen.memory_size:
            last = left_at(self.desk.survey.meters, self.desk.survey.runs, chosen)
            answers = await self.ask(MemoryRunDialog(chosen, is_other_meter=True, left_at=last))
            if answers is None:
                return
            number = answers[0]
        trouble = calibration_trouble(chosen, today)
        coarse = self._too_coarse(chosen)
        if trouble and meters:
            heading = f"{trouble[0].upper()}{trouble[1:]}. Go on with it: why?"
            reason = await self.ask_reason(heading, "override", warning=coarse)
        else:
            heading = f"{meter_words(chosen)} takes over: why?"
            reason = await self.ask_reason(heading, "meter", warning=coarse)
        if reason is not None:
            first = None if number is None else parse_memory_number(number)
            await self.write(self.desk.take_meter, chosen, first, reason.text)
            self.count_down()
            said = "  ".join(part for part in (coarse, self._after_other_meter()) if part)
            self._say("ANOTHER METER", meter_words(chosen), said, tone="warning")

    def _too_coarse(self, meter: Instrument) -> str:
        """How many points still to be taken have a limit that the meter is too coarse for, in words."""
        survey = self.desk.survey
        left = survey.in_state(State.OPEN, State.SKIPPED, State.FAILED, State.INACCESSIBLE)
        return coarse_words(left, meter)

    def _after_other_meter(self) -> str:
        survey = self.desk.survey
        number = "" if survey.next_number is None else f"next is {survey.next_number}"
        due = "g: check standard first" if survey.instrument.check_standard is not None else ""
        return "  ".join(part for part in (number, due) if part)

    async def _begin_run(self, number: str, reason: str) -> None:
        run = await self.write(self.desk.start_run, parse_memory_number(number), reason)
        self._say("MEMORY RUN", str(run.run), f"the next reading gets {run.next_number}")

    async def do_reconcile(self, run: int | None = None) -> None:
        """``run`` is the memory run where it is known which one is meant."""
        if not self.desk.survey.runs:
            raise WrongUseError("No memory run has begun", remedy="there is nothing to reconcile")
        await self._reconcile(run=run)

    async def _reconcile(
        self, *, run: int | None = None, is_blind: bool | None = None, leads_on: bool = False
    ) -> None:
        from fieldtui.ui.pages.reconcile import ReconcileScreen

        page = ReconcileScreen(
            self.desk, self.writer, run=run, is_blind=is_blind, leads_on=leads_on, keyed=self.keyed_lists
        )
        outcome = await self.ask(page)
        self.redraw()
        if outcome and page.is_settled:
            is_clear = page.run not in self.desk.survey.undecided
            if is_clear:  # else its lines are wanted once more
                self.keyed_lists.pop(page.run or 0, None)
            self._say("RECONCILED", outcome, "", tone="good" if is_clear else "warning")
            return
        keyed = self.keyed_lists.get(page.run or 0)
        kept = f"{keyed.words}, until the program ends: h goes on" if keyed and keyed.words else ""
        if outcome:
            self._say("NOT RECONCILED", outcome, kept, tone="warning")
        elif kept:
            self._say("LIST KEPT", f"run {page.run}", kept, tone="warning")

    # --- parts ----------------------------------------------------------------------------

    async def ask_reason(
        self,
        heading: str,
        kind: str,
        *,
        switch: str = "",
        warning: str = "",
        first: str = "",
        note: str = "",
        digit_marks: bool = False,
        without: str = "",
    ) -> Reason | None:
        """A reason from the crew's table for this kind of event, or own words; after a warning, if any.

        ``first`` is offered before all others, ``without`` not at all; ``note`` is a line below; for
        ``digit_marks`` see the dialog.
        """
        from fieldtui.ui.dialogs.reason import ReasonDialog

        words = shown(heading, "bold")
        if warning:
            words += Content("\n") + shown(f"! {warning}", "bold $text-warning")
        reasons = tuple(each for each in self.desk.session.reasons.of(kind) if each != without)
        if first:
            reasons = (first, *(each for each in reasons if each != first))
        return await self.ask(ReasonDialog(words, reasons, switch=switch, note=note, digit_marks=digit_marks))

    def _say(self, what: str, subject: str, detail: str, *, tone: str = "") -> None:
        parts = [Content.styled(what, "bold"), shown(subject, "bold"), shown(detail)]
        self.say(Content("  ").join(part for part in parts if part.plain), tone)
