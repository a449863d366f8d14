"""Walk: the recorder keys what the prober calls out, point after point."""

from __future__ import annotations

from pathlib import Path

from textual import on
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.account.paths import describe_path, judge_paths
from fieldtui.core.survey.standing import Record
from fieldtui.desk.entry import understand
from fieldtui.errors import FieldtuiError, MediumFailedError, MemoryFullError, NotSavedError, WrongUseError
from fieldtui.report.told import rests_on
from fieldtui.ui.actions import actions_of
from fieldtui.ui.held_keys import put_keys_first
from fieldtui.ui.phrases import VERDICTS, doubtful
from fieldtui.ui.screens.walk_actions import WalkActions
from fieldtui.ui.screens.walk_stage import RINGS_FAIL, RINGS_PASS
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.entry_line import EntryLine

_WRITES_NOTHING = ("help", "menu", "light", "leave")
_TO_NEXT_RUN = {"f": "f", "slash": "f"}  # the keypad has no letters, and the menu leads elsewhere, too
_TRY_AGAIN = "Enter records it. Esc or - clears it"
LEAST_SIZE = (40, 9)  # columns and rows in which the entry line can be seen
_BY_KEY = {key: action.name for action in actions_of("walk") for key in action.keys}


class WalkScreen(WalkActions):
    """The heart of the program. One thing at a time: a value on its way to the disk, or an action."""

    class Left(Message):
        """The recorder left the walk; the session can be resumed."""

    class Closed(Message):
        """The session in ``folder`` was closed."""

        def __init__(self, folder: Path) -> None:
            super().__init__()
            self.folder = folder

    def on_mount(self) -> None:  # the toolkit calls the one of the stage as well
        if self.desk.survey.records or self.desk.survey.paused:
            self.entry.hold()
            self.run_worker(self._go_on_again())

    # --- values ---------------------------------------------------------------------------

    @on(EntryLine.LineKeyed)
    def _line_keyed(self, event: EntryLine.LineKeyed) -> None:
        event.stop()
        self.run_worker(self._take(event.text))

    async def _take(self, text: str) -> None:
        """Record what was keyed, or say why not; only then may the next key count."""
        try:
            record = await self._record(text)
        except MemoryFullError as error:
            self._say_full(error)
            return
        except FieldtuiError as error:
            self.say_trouble(error)
            self.entry.refuse(unsaved=isinstance(error, NotSavedError))
            return
        if record is None:
            self.entry.refuse()
            return
        self._say_recorded(record)
        self.entry.text = ""
        try:
            await self.watch_drift()
        except FieldtuiError as error:
            self.say_trouble(error)
        self.entry.accept()

    def _say_full(self, error: MemoryFullError) -> None:
        """The value waits on its line while ``f`` leads to the next memory run; then Enter records it."""
        words = "f (keypad: /) leads to the next run and the value stays on the line; then Enter records it"
        self.say_trouble(MemoryFullError(f"NOT SAVED: {error.what}", remedy=words))
        self.entry.refuse(unsaved=True, way_on=_TO_NEXT_RUN, hint="f or /: next run, then Enter. - clears it")

    async def _record(self, text: str) -> Record | None:
        self._want_medium()
        self._want_room()
        self._want_whole(text)
        stands = await self.until_it_stands(self.desk.weigh(text), self.desk.weigh)
        if stands is None:
            self.say(Content("Not recorded. Key it again, or correct the line."), "warning")
            return None
        entry, reason = stands
        return await self.write(self.desk.record, entry, reason)

    def _want_whole(self, text: str) -> None:
        """What begins with the point right behind a digit that answered a question is half a value."""
        if digit := self.entry.rest_of:
            raise WrongUseError(
                f"Not recorded: the {digit} before {text} answered the question. Was {digit}{text} called?",
                remedy=f"look what the {digit} did, then key the whole value",
            )

    def _want_room(self) -> None:
        """A value is not recorded where its line cannot be seen."""
        if self.size.width < LEAST_SIZE[0] or self.size.height < LEAST_SIZE[1]:
            raise WrongUseError(
                "The terminal is too small to see what is recorded.",
                remedy=f"Make it {LEAST_SIZE[0]} by {LEAST_SIZE[1]} at least; 80 by 24 shows everything.",
            )

    def _say_recorded(self, record: Record) -> None:
        in_doubt = any(each.record == record.record for each in readings_in_doubt(self.desk.survey))
        mark = doubtful(VERDICTS[record.verdict], is_in_doubt=in_doubt)
        number = "" if record.number is None else f"memory {record.number}"
        parts = [
            Content.styled(f"RECORDED {record.record}", "bold"),
            shown(record.point, "bold"),
            shown(record.reading, "bold"),
            Content.styled(f"{mark.shape} {mark.word.upper()}", "bold"),
            Content("retest" if record.retest else ""),
            Content(number),
            shown(", ".join(rests_on(self.desk.survey, record)), "bold"),
            *(paths := self._failed_paths(record)),
        ]
        failed = record.verdict.is_failed or bool(paths)
        said = [part for part in parts if part.plain]
        self.say(Content("  ").join(said), "bad" if failed else "warning" if in_doubt else "good")
        self.ring(RINGS_FAIL if failed else RINGS_PASS)

    def _failed_paths(self, record: Record) -> list[Content]:
        """The paths through the record's point whose sum fails now, each of its points good or not."""
        results = judge_paths(self.desk.survey) if self.desk.session.route.paths else []
        return [
            shown(f"PATH {result.path.id} FAILS: {describe_path(result)}", "bold")
            for result in results
            if record.point in result.path.points and result.verdict is not None and result.verdict.is_failed
        ]

    @on(EntryLine.TextChanged)
    def _text_changed(self, event: EntryLine.TextChanged) -> None:
        """Read the value back in words while it is keyed."""
        event.stop()
        self.query_one("#read-back", Static).update(Content(" ") + self._read_back(event.text), layout=False)

    def _read_back(self, text: str) -> Content:
        """The words alone: what is doubtful is looked for when the line is keyed, not at every key."""
        survey = self.desk.survey
        if survey.here is None or not text.strip():
            return Content("")
        try:
            keyed = understand(text, survey)
        except FieldtuiError:
            return Content("…")  # not a value yet
        number = "" if keyed.number is None else f"memory number {keyed.number}, "
        return shown(number + keyed.read_back)

    @on(EntryLine.PasteRefused)
    def _paste_refused(self, event: EntryLine.PasteRefused) -> None:
        event.stop()
        self.say(Content("Nothing was pasted: values are keyed as they are called."), "warning")

    # --- actions --------------------------------------------------------------------------

    @on(EntryLine.CommandKeyed)
    def _command_keyed(self, event: EntryLine.CommandKeyed) -> None:
        event.stop()
        self.run_worker(self._perform(_BY_KEY[event.key]))

    def action_act(self, name: str) -> None:
        """Begin an action from a function key or the palette, unless something is under way."""
        if not self.entry.is_busy:
            self.entry.hold()
            self.run_worker(self._perform(name))

    async def _perform(self, name: str) -> None:
        try:
            await self._do(name)
        except FieldtuiError as error:
            self.say_trouble(error)
            self.entry.refuse()
        else:
            if self.desk.survey.run is None or not self.desk.survey.run.is_full:
                self.entry.say_hint(_TRY_AGAIN)  # what a full memory kept back may be saved now
            self.entry.accept()

    async def _do(self, name: str) -> None:
        if name not in _WRITES_NOTHING:
            self._want_medium()
        await getattr(self, f"do_{name}")()

    def _want_medium(self) -> None:
        """Once the medium has failed nothing that writes is even begun."""
        if self.desk.is_failed:
            raise MediumFailedError(
                "NOT SAVED: this session's disk failed and takes nothing more.",
                remedy="q leaves; go on in a new session on another disk. What is recorded stays recorded.",
            )

    async def _go_on_again(self) -> None:
        """What a resumed session was left with: its pause, and drift that nobody answered."""
        try:
            if self.desk.survey.paused:
                await self.wait_for_crew("The session was left while it was paused.")
            await self.watch_drift(resumed=True)
        except FieldtuiError as error:
            self.say_trouble(error)
        self.entry.accept()

    async def do_menu(self) -> None:
        from fieldtui.ui.dialogs.menu import NEXT_PAGE, menu_pages

        run = self.desk.survey.run
        reasons = self.desk.session.reasons.of("attempt")
        at = 0
        while True:
            is_full = run is not None and run.is_full
            pages = menu_pages(reasons, is_full=is_full, is_signed=self.entry.is_signed)
            picked = await self.ask(pages[at])
            if picked is None:
                return
            if picked.name != NEXT_PAGE:
                put_keys_first(self, picked.keys)
                await self._do(picked.name)
                return
            at = (at + 1) % len(pages)

    async def do_done(self) -> None:
        """The close-out; what it leaves for is done here, and it comes back afterwards."""
        from fieldtui.ui.pages.close_out import CloseOutScreen, Leaving

        while (leaving := await self.ask(page := CloseOutScreen(self.desk, self.writer))) is not None:
            self.redraw()
            if leaving is Leaving.CLOSED:
                await self.leave_safely()
                self.post_message(self.Closed(self.desk.folder))
                return
            if leaving is Leaving.POINT:
                self._say("GONE TO", self._here_id(), "d leads back to the close-out")
                return
            await (self.do_reconcile(page.run) if leaving is Leaving.RECONCILE else self.do_check())
        self.redraw()

    async def do_leave(self) -> None:
        await self.leave_safely()
        self.post_message(self.Left())

    async def leave_safely(self) -> None:
        """Let what is on its way reach the disk, then let the session go."""
        await self.writer.do(self.desk.leave)
