"""What the recorder can do on the walk besides keying values: one coroutine an action.

Each asks what it must, writes one event, and says what happened. Left dialogs change nothing.
"""

from __future__ import annotations

from functools import partial

from textual.content import Content

from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record
from fieldtui.core.text import counted
from fieldtui.errors import WrongUseError
from fieldtui.report.told import rests_on
from fieldtui.ui.actions import actions_of, key_name
from fieldtui.ui.phrases import VERDICTS, limit_in_words
from fieldtui.ui.screens.walk_doubts import WalkDoubts
from fieldtui.ui.themes import light_after

_AMEND_KEY = next(action.keys[0] for action in actions_of("walk") if action.name == "amend")


class WalkActions(WalkDoubts):
    """The actions of the table, each as ``do_<name>``; called from a worker."""

    # --- this point -----------------------------------------------------------------------

    async def do_skip(self) -> None:
        point = self._here_id()
        reason = await self.ask_reason(f"Leave {point} for later: why?", "skip")
        if reason is not None:
            await self.write(self.desk.skip, reason.text)
            self._say("SKIPPED", point, reason.text)

    async def do_attempt(self) -> None:
        await self._attempt()

    async def _attempt(self, called: str = "") -> None:
        """A try without a value; ``called`` is what the meter showed where that was typed."""
        point = self._here_id()
        number = self.desk.survey.next_number
        may_file = number is not None and self.desk.survey.instrument.spoiled_number_stays_used
        switch = f"the meter filed it all the same, under {number}" if may_file else ""
        # Typed as a value, it may be followed by the next one: there a digit alone answers nothing.
        reason = await self.ask_reason(
            f"No value at {point}: why?", "attempt", switch=switch, first=called, digit_marks=bool(called)
        )
        if reason is not None:
            await self.write(self.desk.attempt, reason.text, filed=reason.switched)
            self._say("NO VALUE", point, reason.text)

    async def do_note(self) -> None:
        from fieldtui.ui.dialogs.note import NoteDialog

        here = self.desk.survey.here
        subject = here.id if here is not None else "the survey"
        remark = await self.ask(NoteDialog(subject, self.desk.session.reasons.of("note")))
        if remark is not None:
            await self.write(self.desk.note, remark.text)
            self._say("NOTED", subject, remark.text)

    # --- readings taken -------------------------------------------------------------------

    async def do_redo(self) -> None:
        from fieldtui.ui.dialogs.records import RecordDialog

        record = self._last_record()
        reason = await self.ask_redo(
            f"Take {record.point} again (record {record.record}, {record.reading}): why?",
            record.point,
            switch="another reading than the last one",
        )
        if reason is None:
            return
        if reason.switched:
            chosen = await self.ask(RecordDialog("Take which one again?", self._records(), self.desk.survey))
            if chosen is None:
                return
            record = self.desk.survey.records[chosen]
        await self.write(self.desk.redo, reason.text, record.record)
        self._say("TAKE AGAIN", record.point, reason.text)

    async def do_void(self) -> None:
        from fieldtui.ui.dialogs.records import RecordDialog

        self._last_record()
        valid = [record for record in self._records() if record.is_valid]
        if not valid:
            raise WrongUseError("Every reading is void already")
        chosen = await self.ask(RecordDialog("Strike out which reading?", valid, self.desk.survey))
        if chosen is None:
            return
        record = self.desk.survey.records[chosen]
        heading = f"Strike out record {chosen}, {record.point}, {record.reading}: why?"
        switch = f"its entry {record.number} was deleted on the meter" if record.number is not None else ""
        note = f"Value keyed wrong? Leave this: key {key_name(_AMEND_KEY)} instead corrects it."
        reason = await self.ask_reason(heading, "void", switch=switch, note=note)
        if reason is not None:
            await self.write(self.desk.void, chosen, reason.text)
            if reason.switched:
                await self.write(self.desk.erase, chosen, reason.text)
            self._say("VOID", f"record {chosen}  {record.point}", self._after_void(record.point, reason.text))

    def _after_void(self, point: str, reason: str) -> str:
        """The reason, and where its point is open again or wants its retake how to get back to it."""
        survey, standing = self.desk.survey, self.desk.survey.standings[point]
        is_open = standing.state is State.OPEN and standing.as_left is None
        if not is_open and not standing.asked_again:
            return reason
        what = "is open again" if is_open else f"still wants its {standing.awaited or 'retake'}"
        if survey.position.here == point:
            return f"{reason}. {point} {what} and is taken next"
        return f"{reason}. {point} {what.replace('open', 'OPEN')}: o leads back to it"

    async def do_amend(self) -> None:
        from fieldtui.ui.dialogs.amend import AmendDialog
        from fieldtui.ui.dialogs.records import RecordDialog

        self._last_record()
        picking = RecordDialog("Correct which reading?", self._records(), self.desk.survey)
        chosen = await self.ask(picking)
        if chosen is None:
            return
        record = self.desk.survey.records[chosen]
        picked = str(chosen) if picking.picked else ""
        point = self.desk.survey.points[record.point]
        answers = await self.ask(AmendDialog(record, point, picked=picked, picked_at=picking.keyed_at))
        if answers is None:
            return
        weigh = partial(self.desk.weigh_correction, chosen)
        stands = await self.until_it_stands(weigh(answers[0]), weigh, what=f"Record {chosen} would be")
        if stands is None:
            self.say(Content(f"Record {chosen} is not corrected: it stays {record.reading}."), "warning")
            return
        entry, confirmed = stands
        reason = await self.ask_reason(f"Correct record {chosen} to {entry.reading}: why?", "amend")
        if reason is not None:
            why = f"{reason.text}; {confirmed}" if confirmed else reason.text
            verdict = await self.write(self.desk.amend_value, chosen, entry.text, why)
            now = self.desk.survey.records[chosen]
            said = [f"record {chosen}", str(now.reading), VERDICTS[verdict].word.upper()]
            said += rests_on(self.desk.survey, now)
            self._say("CORRECTED", "  ".join(said), reason.text)

    # --- the way --------------------------------------------------------------------------

    async def do_insert(self) -> None:
        from fieldtui.ui.dialogs.insert import InsertDialog

        here = self.desk.survey.here
        unit = here.unit if here is not None else self.desk.session.route.unit
        answers = await self.ask(InsertDialog(here, unit))
        if answers is None:
            return
        title, limit, a, b = answers
        reason = await self.ask_reason("Insert this point: why?", "insert")
        if reason is not None:
            point = await self.write(self.desk.insert, title, limit, reason.text, a=a, b=b)
            words = limit_in_words(self.desk.survey.points[point].limit)
            self._say("INSERTED", f"{point}  {title}", f"limit {words}")

    async def do_jump(self) -> None:
        from fieldtui.ui.dialogs.points import PointsDialog

        survey = self.desk.survey
        every = [survey.points[point] for point in survey.order.ids]
        point = await self.ask(PointsDialog("Go to which point?", survey, every))
        await self._go_to(point)

    async def do_points(self) -> None:
        from fieldtui.ui.dialogs.points import OpenPointsDialog

        survey = self.desk.survey
        wanting = survey.in_state(State.OPEN, State.SKIPPED, State.FAILED, State.INACCESSIBLE)
        heading = f"{counted(len(wanting), 'point')} open, skipped, failed or not accessible"
        dialog = OpenPointsDialog(heading, survey, wanting)
        point = await self.ask(dialog)
        if dialog.called:
            await self._attempt(dialog.called)
        else:
            await self._go_to(point)

    async def do_reverse(self) -> None:
        point = self._here_id()
        reason = await self.ask_reason(
            f"Walk the rest of {point}'s section from its far end: why?", "reverse"
        )
        if reason is not None:
            await self.write(self.desk.reverse, reason.text)
            self._say("FAR END FIRST", self._here_id(), reason.text)

    async def do_pause(self) -> None:
        reason = await self.ask_reason("Pause: why?", "pause")
        if reason is not None:
            await self.write(self.desk.pause, reason.text)
            await self.wait_for_crew(reason.text)

    async def wait_for_crew(self, reason: str) -> None:
        """Say PAUSED until a key, then go on."""
        from fieldtui.ui.dialogs.paused import PausedDialog

        paused = PausedDialog(reason, has_memory=self.desk.survey.run is not None)
        await self.ask(paused)
        await self.write(self.desk.proceed)
        dropped = f"{paused.dropped} was NOT RECORDED: key it again" if paused.dropped else ""
        self._say("GOING ON", dropped, "", tone="warning" if dropped else "")

    # --- help -----------------------------------------------------------------------------

    async def do_help(self) -> None:
        from fieldtui.ui.dialogs.help import HelpDialog
        from fieldtui.ui.widgets.alerts import Alerts

        await self.ask(HelpDialog("walk", self.query_one(Alerts).standing))

    async def do_light(self) -> None:
        self.app.theme = light_after(self.app.theme)

    # --- parts ----------------------------------------------------------------------------

    async def _go_to(self, point: str | None) -> None:
        if point is None:
            return
        counting = self.desk.survey.standings[point].as_left
        is_asked = self.desk.survey.standings[point].asked_again  # and has its reason
        # Measuring until it passes is not for nothing: it wants its reason.
        if counting is not None and not is_asked:
            why = f"{point} has {counting.value} already: why take it again?"
            reason = await self.ask_redo(why, point, digit_marks=True)
            if reason is not None:
                await self.write(self.desk.redo, reason.text, counting.last.record)
                self._say("TAKE AGAIN", point, reason.text)
            return
        reason = await self.ask_reason(f"Go to {point}: why?", "jump", digit_marks=True)
        if reason is not None:
            await self.write(self.desk.jump, point, reason.text)
            self._say("GONE TO", point, reason.text)

    def _here_id(self) -> str:
        here = self.desk.survey.here
        if here is None:
            raise WrongUseError(
                "No point is left here", remedy="d closes the session, t takes the last again"
            )
        return here.id

    def _records(self) -> list[Record]:
        records = self.desk.survey.records
        return [records[number] for number in sorted(records)]

    def _last_record(self) -> Record:
        records = self._records()
        if not records:
            raise WrongUseError("No reading has been taken yet", remedy="key the first one")
        return records[-1]
