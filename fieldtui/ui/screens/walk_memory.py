"""The walk and the meter's memory: number checks, memory runs, reconciling, and the drift watch."""

from __future__ import annotations

from textual.content import Content

from fieldtui.core.drift.explanations import Kind
from fieldtui.core.drift.watch import Alarm
from fieldtui.core.events import Agreement
from fieldtui.core.memory import MemoryRun
from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import WrongUseError
from fieldtui.ui.dialogs.memory_run import MemoryRunDialog, MemoryStep, MemoryStepDialog, UnreconciledDialog
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog
from fieldtui.ui.pages.drift import NumberChoice, NumberDriftScreen
from fieldtui.ui.pages.drift_points import PointDriftScreen, Remedy
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.screens.walk_stage import RINGS_STOP, WalkStage
from fieldtui.ui.shown import shown


class WalkMemory(WalkStage):
    """Whatever keeps record, meter and prober in step; each called from a worker."""

    # --- number checks --------------------------------------------------------------------

    async def do_check(self) -> None:
        """Key the called number; where it differs, go through Drift until it is settled or left open."""
        while (answers := await self.ask(NumberDialog())) is not None:
            called = parse_memory_number(answers[0])
            if await self.write(self.desk.check_number, called) is Agreement.AGREE:
                self._say("NUMBERS AGREE", str(called), "", tone="good")
                return
            choice = await self._ask_what_happened(called)
            if choice is None or choice.kind is not Kind.MISHEARD:
                if choice is not None:
                    await self._follow(choice)
                return

    async def _ask_what_happened(self, called: int) -> NumberChoice | None:
        run = self.desk.survey.run
        expected = run.filed_last if run is not None else None
        ours = "none" if expected is None else str(expected)
        self._say("THE NUMBERS DIFFER", f"meter {called}, record {ours}", "", tone="bad")
        self.ring(RINGS_STOP)
        explanations = await self.writer.do(self.desk.explain_numbers, called)
        reasons = self.desk.session.reasons.of("renumber")
        return await self.ask(NumberDriftScreen(self.desk.survey, called, explanations, reasons))

    async def _follow(self, choice: NumberChoice) -> None:
        if choice.kind is Kind.SEVERAL:
            self._say("MORE THAN ONE SLIP", "read the memory out", "then h reconciles it", tone="warning")
            return
        is_restarted = choice.kind is Kind.RESTARTED
        await self.write(self.desk.follow_explanation, choice.change, choice.reason, restarted=is_restarted)
        self._say("IN STEP AGAIN", f"the next reading gets {choice.change.next_number}", choice.reason)

    # --- the drift watch ------------------------------------------------------------------

    async def watch_drift(self) -> None:
        """Ask the drift watch what it makes of the last reading; where it speaks up, ask the crew."""
        alarms = await self.writer.do(self._alarms)
        if not alarms:
            return
        alarm = alarms[-1]
        earlier = alarms[-2] if alarm.shift == 0 and len(alarms) > 1 else None
        self.ring(RINGS_STOP)
        choice = await self.ask(
            PointDriftScreen(self.desk, alarm, earlier, self.desk.session.reasons.of("amend"))
        )
        if choice is None:
            self._say("DRIFT", alarm.cause, "look before the next reading", tone="warning")
        elif choice.remedy is Remedy.IN_STEP:
            await self.write(self.desk.in_step)
            self._say("IN STEP", "prober and record", "")
        elif choice.remedy is Remedy.MIRROR:
            await self.write(self.desk.mirror_section, choice.first, choice.reason)
            self._say("FAR END FIRST", f"from record {choice.first} on", choice.reason)
        else:
            await self.write(self.desk.shift_points, choice.first, choice.by, choice.reason, last=choice.last)
            self._say("READINGS MOVED", f"from record {choice.first} on by {choice.by:+d}", choice.reason)

    def _alarms(self) -> tuple[Alarm, ...]:
        """The alarms so far, the one of the last reading last; none where that one gave none."""
        watch = self.desk.lookout.watch
        return watch.alarms if watch.alarm is not None else ()

    # --- memory runs ----------------------------------------------------------------------

    async def do_fresh_run(self) -> None:
        """Read out, reconcile, clear, next run: one step after the other."""
        run = self.desk.survey.run
        if run is None or run.filed_last is None:
            await self._start_run()
            return
        while (step := await self.ask(self._steps(run))) is not None:
            if step is MemoryStep.RECONCILE:
                await self.do_reconcile()
            elif step is MemoryStep.OTHER_METER:
                await self._start_other_meter()
                return
            elif await self._clear(run):
                return

    def _steps(self, run: MemoryRun) -> MemoryStepDialog:
        return MemoryStepDialog(run, is_reconciled=run.run in self.desk.survey.reconciled)

    async def _clear(self, run: MemoryRun) -> bool:
        """The next run after a cleared memory; False where the crew goes back a step."""
        if run.run not in self.desk.survey.reconciled:
            all_the_same = await self.ask(UnreconciledDialog(run.run))
            if not all_the_same:
                if all_the_same is False:
                    await self.do_reconcile()
                return False
        return await self._start_run()

    async def _start_run(self) -> bool:
        answers = await self.ask(MemoryRunDialog(self.desk.session.instrument))
        if answers is None:
            return False
        reason = await self.ask_reason("Next memory run: why?", "run")
        if reason is None:
            return False
        await self._begin_run(answers[0], reason.text)
        return True

    async def _start_other_meter(self) -> None:
        answers = await self.ask(MemoryRunDialog(self.desk.session.instrument, is_other_meter=True))
        if answers is not None:
            await self._begin_run(answers[1], f"other meter: {answers[0]}")

    async def _begin_run(self, number: str, reason: str) -> None:
        run = await self.write(self.desk.start_run, parse_memory_number(number), reason)
        self._say("MEMORY RUN", str(run.run), f"the next reading gets {run.next_number}")

    async def do_reconcile(self) -> None:
        if not self.desk.survey.runs:
            raise WrongUseError("No memory run has begun", remedy="there is nothing to reconcile")
        outcome = await self.ask(ReconcileScreen(self.desk, self.writer))
        self.redraw()
        if outcome:
            self._say("RECONCILED", outcome, "", tone="good")

    # --- parts ----------------------------------------------------------------------------

    async def ask_reason(self, heading: str, kind: str, *, switch: str = "") -> Reason | None:
        """A reason from the crew's table for this kind of event, or own words."""
        words = shown(heading, "bold")
        return await self.ask(ReasonDialog(words, self.desk.session.reasons.of(kind), switch=switch))

    def _say(self, what: str, subject: str, detail: str, *, tone: str = "") -> None:
        parts = [Content.styled(what, "bold"), shown(subject, "bold"), shown(detail)]
        self.say(Content("  ").join(part for part in parts if part.plain), tone)
