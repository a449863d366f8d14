"""Close-out: what is still to settle, signatures of two people, the close, and the seal."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.account.closing import (
    STATEMENTS,
    Group,
    Item,
    closing_items,
    holding_signature,
    left_undone,
    signature_words,
)
from fieldtui.core.account.held_twice import held_twice
from fieldtui.core.survey.meters import meter_words
from fieldtui.core.survey.position import State
from fieldtui.core.trail.chain import seal_groups
from fieldtui.core.trail.events import Answer, Role
from fieldtui.desk import closing
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.form import FormDialog, Question, paper, reference, wanted
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.dialogs.records import RecordDialog
from fieldtui.ui.dialogs.standard import StandardDialog
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.pages.asking import AskingScreen
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.widgets.close_list import CloseList
from fieldtui.ui.widgets.close_rows import rows_of
from fieldtui.ui.widgets.close_seal import seal_page
from fieldtui.ui.widgets.key_bar import KeyHints
from fieldtui.ui.widgets.moves import MOVES
from fieldtui.ui.writer import Writer

_GOOD = "bold $text-success"
_SETTLES = frozenset({"1", "2", "3", "9", "enter"})


class Leaving(Enum):
    """Where the walk goes on after the close-out was left for something."""

    POINT = "point"  # the walk stands where the next reading is wanted
    RECONCILE = "reconcile"
    CHECK = "check"  # a number check
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Way:
    """One way to settle a line."""

    label: str
    follow: Callable[[Item], Coroutine[Any, Any, None]]


class CloseOutScreen(AskingScreen[Leaving]):
    """The answer is None where the crew goes back to the walk with nothing more to do at once."""

    CSS_PATH = [*AskingScreen.CSS_PATH, "../styles/close_out.tcss"]  # noqa: RUF012
    IS_UNFORESEEN = False

    def __init__(self, desk: Desk, writer: Writer) -> None:
        super().__init__()
        self.run: int | None = None  # the memory run to be reconciled, where it is left for that
        self._desk = desk
        self._writer = writer
        self._ways: dict[Group, Sequence[Way]] = {
            Group.POINTS: (
                Way("go there", self._go_to),
                Way("not accessible", self._inaccessible),
                Way("waived", self._waive),
            ),
            Group.FAILED: (
                Way("key its discrepancy", self._discrepancy),
                Way("reworked: take the retest", self._rework),
                Way("waived", self._waive),
            ),
            Group.PATHS: (Way("key its paper: discrepancy or waiver", self._path_paper),),
            Group.RESTORE: (
                Way("it is restored", self._restored),
                Way("so is all of its section", self._restored_section),
            ),
            Group.METER: (Way("key the check standard", self._check_standard),),
            Group.DOUBT: (
                Way("let it stand", self._release),
                Way("take it again", self._take_again),
                Way("let all of them stand", self._release_all),
            ),
            Group.MEMORY: (Way("reconcile", self._reconcile),),
            Group.SIGNATURES: (Way("sign", self._sign),),
        }

        self._ways_again = (  # of a point that was to be taken again
            Way("take it again", self._go_to),
            Way("let what it read before stand", self._let_stand),
            Way("not accessible", self._inaccessible),
        )

    def compose(self) -> ComposeResult:
        yield Static(" CLOSE-OUT", classes="asking-title", id="close-title", markup=False)
        yield CloseList()
        yield Static("", id="close-detail", markup=False)
        yield Static("", id="close-seal", markup=False)
        trouble = Static("", id="dialog-trouble")
        trouble.display = False
        yield trouble
        yield KeyHints("close_out")

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._draw()

    # --- drawing --------------------------------------------------------------------------

    def _draw(self) -> None:
        items = closing_items(self._desk.survey)
        self.query_one(CloseList).show(rows_of(items, lambda since: closing.lasting(self._desk, since)))
        left = sum(not item.is_done for item in items)
        unmeasured = self._desk.survey.counts[State.INACCESSIBLE]
        done = f"nothing to do, {unmeasured} NOT MEASURED" if unmeasured else "all done"
        words = f"{left} to do" if left else f"{done}: 9 closes the session"
        title = Content(f" CLOSE-OUT  {words}  ") + shown(self._desk.session.route.title)
        self.query_one("#close-title", Static).update(title)
        self._draw_detail()

    def _draw_detail(self) -> None:
        item = self.query_one(CloseList).item
        if item is None:
            return
        where = f"{item.point}  " if item.point else ""
        ways = [
            Content.styled(f" {number} ", "bold reverse") + Content(f" {way.label}")
            for number, way in enumerate(self._ways_of(item), start=1)
        ]
        words = shown(where, "bold") + shown(item.what) + Content("\n") + Content("   ").join(ways)
        self.query_one("#close-detail", Static).update(words)

    def _ways_of(self, item: Item) -> Sequence[Way]:
        if item.number is not None:
            return (Way("say which was not filed", self._unfile), *self._ways[Group.MEMORY])
        if item.group is Group.MEMORY and not item.run:
            return (Way("check the number", self._check_number),)
        if item.group is Group.METER and item.record:
            return (Way("back to the walk, where y takes that meter again", self._to_earlier_meter),)
        if item.group is Group.POINTS and item.record:
            return (Way("take it again", self._take_again),)
        if item.group is Group.POINTS and self._desk.survey.standings[item.point].as_left is not None:
            return self._ways_again
        return self._ways[item.group]

    # --- keys -----------------------------------------------------------------------------

    def wants_seen(self, event: Pressed) -> bool:
        """What settles a line or closes; once it is closed, whatever takes the seal out of sight."""
        return self._is_closed or (isinstance(event, Key) and event.key in _SETTLES)

    def _take(self, event: Key) -> None:
        if self._is_closed and self.leaves(event):
            self.answer(Leaving.CLOSED)
        else:
            super()._take(event)

    def key_pressed(self, event: Key) -> None:
        if self._is_closed:
            if event.key == "enter":
                self.answer(Leaving.CLOSED)
            return
        self.say("")
        if event.key in MOVES:
            self.query_one(CloseList).move(event.key)
            self._draw_detail()
        elif event.key == "9":
            self.begin(self._close())
        elif event.key in ("f1", "slash"):
            self.begin(self._help())
        elif event.key == "enter" or event.character in ("1", "2", "3"):
            self._follow(0 if event.key == "enter" else int(event.character or 1) - 1)

    def _follow(self, place: int) -> None:
        item = self.query_one(CloseList).item
        if item is not None and place < len(ways := self._ways_of(item)):
            self.begin(self._settle(ways[place], item))

    async def _settle(self, way: Way, item: Item) -> None:
        try:
            await way.follow(item)
        except FieldtuiError:  # part of it may have been written
            self._draw()
            raise
        if not self._is_answered:
            self._draw()

    async def _help(self) -> None:
        await self.ask(HelpDialog("close_out"))

    @property
    def _is_closed(self) -> bool:
        return self._desk.survey.closed

    # --- points ---------------------------------------------------------------------------

    async def _go_to(self, item: Item) -> None:
        await self._writer.do(closing.go_to, self._desk, item.point)
        self.answer(Leaving.POINT)

    async def _inaccessible(self, item: Item) -> None:
        answers = await self.ask(
            FormDialog(f"{item.point}: not accessible", [Question("what is in the way", wanted("a reason"))])
        )
        if answers is not None:
            await self._writer.do(closing.inaccessible, self._desk, item.point, answers[0])
            self.say(f"NOT ACCESSIBLE: {item.point}", _GOOD)

    async def _waive(self, item: Item) -> None:
        asked = [
            Question("on whose authority (name)", wanted("a name")),
            Question("the paper that says so (reference)", reference),
        ]
        answers = await self.ask(FormDialog(f"Let {item.point} go: {item.what}", asked))
        if answers is not None:
            await self._writer.do(self._desk.waive, item.point, answers[0], answers[1])
            self.say(f"WAIVED: {item.point}, paper {answers[1]}", _GOOD)

    async def _discrepancy(self, item: Item) -> None:
        ref = await self._ask_discrepancy(item.point)
        if ref is not None:
            await self._writer.do(self._desk.discrepancy, item.point, ref)
            self.say(f"DISCREPANCY {ref}: {item.point}", _GOOD)

    async def _ask_discrepancy(self, point: str) -> str | None:
        known = self._desk.survey.standings[point].discrepancy
        asked = Question("reference of its discrepancy", reference, known)
        answers = await self.ask(FormDialog(f"The paper of {point}", [asked]))
        return answers[0] if answers is not None else None

    async def _path_paper(self, item: Item) -> None:
        known = self._desk.survey.ending.path_papers.get(item.path, "")
        asked = Question("reference of its discrepancy, or of the waiver and who gave it", reference, known)
        answers = await self.ask(FormDialog(item.what, [asked]))
        if answers is not None:
            await self._writer.do(closing.path_paper, self._desk, item.path, answers[0])
            self.say(f"PAPER {answers[0]}: path {item.path}", _GOOD)

    async def _rework(self, item: Item) -> None:
        ref = self._desk.survey.standings[item.point].discrepancy or await self._ask_discrepancy(item.point)
        if ref is None:
            return
        reason = await self._ask_reason(f"{item.point} was repaired: how?", "rework")
        if reason is not None:
            await self._writer.do(closing.rework, self._desk, item.point, reason, ref)
            self.answer(Leaving.POINT)

    async def _restored(self, item: Item) -> None:
        await self._writer.do(closing.restored, self._desk, item.point)
        self.say(f"RESTORED: {item.point}", _GOOD)

    async def _restored_section(self, item: Item) -> None:
        section = self._desk.survey.points[item.point].section
        count = await self._writer.do(closing.restored_section, self._desk, section)
        self.say(f"RESTORED: {count} of section {section}", _GOOD)

    # --- meter and memory -----------------------------------------------------------------

    async def _check_standard(self, item: Item) -> None:
        standard = self._desk.survey.instrument.check_standard
        if standard is None:
            return
        number = self._desk.survey.next_number
        heading = f"Check out {meter_words(self._desk.survey.instrument)}"
        answers = await self.ask(StandardDialog(standard, heading, next_number=number))
        if answers is None:
            return
        filed = number if number is not None and answers[1] else None
        found = await self._writer.do(self._desk.check_standard, answers[0], is_last=True, number=filed)
        if found is Answer.GOOD and readings_in_doubt(self._desk.survey):
            self.say("METER GOOD now; readings before an earlier failed check are still in doubt.")
        elif found is Answer.GOOD:
            self.say("METER GOOD: no reading is in doubt.", _GOOD)
        else:
            self.say("METER NOT GOOD: every reading back to the last good check is in doubt.")

    async def _to_earlier_meter(self, item: Item) -> None:
        self.answer(None)  # what another meter reads now says nothing of it

    async def _release(self, item: Item) -> None:
        reason = await self._ask_reason(f"Let record {item.record} stand: why?", "release")
        if reason is not None:
            await self._writer.do(self._desk.release, item.record, reason)
            self.say(f"STANDS: record {item.record}", _GOOD)

    async def _let_stand(self, item: Item) -> None:
        left = self._desk.survey.standings[item.point].as_left
        if left is None:
            return
        reason = await self._ask_reason(f"Let {item.point}, {left.value}, stand after all: why?", "release")
        if reason is not None:
            await self._writer.do(self._desk.release, left.last.record, reason)
            self.say(f"STANDS: {item.point}, {left.value}", _GOOD)

    async def _release_all(self, item: Item) -> None:
        reason = await self._ask_reason("Let every reading in doubt stand: why?", "release")
        if reason is not None:
            count = await self._writer.do(closing.release_all, self._desk, reason)
            self.say(f"STAND: {count} readings", _GOOD)

    async def _take_again(self, item: Item) -> None:
        reason = await self._ask_reason(f"Take {item.point} again: why?", "redo")
        if reason is not None:
            await self._writer.do(self._desk.redo, reason, item.record)
            self.answer(Leaving.POINT)

    async def _reconcile(self, item: Item) -> None:
        self.run = item.run
        self.answer(Leaving.RECONCILE)

    async def _unfile(self, item: Item) -> None:
        """One of several readings under one number was never filed: it stays, without a number."""
        survey = self._desk.survey
        held = next(each for each in held_twice(survey) if (each.run, each.number) == (item.run, item.number))
        records = [survey.records[number] for number in held.records]
        chosen = await self.ask(RecordDialog(f"Which was not filed under {held.number}?", records, survey))
        if chosen is None:
            return
        reason = await self._ask_reason(f"Record {chosen} has no memory number: why?", "renumber")
        if reason is not None:
            await self._writer.do(self._desk.unfile, chosen, reason)
            self.say(f"NOT FILED: record {chosen}; it stays, without a memory number", _GOOD)

    async def _check_number(self, item: Item) -> None:
        self.answer(Leaving.CHECK)

    # --- the end --------------------------------------------------------------------------

    async def _sign(self, item: Item) -> None:
        role = item.role
        if role is None:
            return
        heading = Content.styled(f"{role.value.capitalize()}: ", "bold") + Content(f"“{STATEMENTS[role]}”")
        asked = [
            Question("name", wanted("a name")),
            Question("stamp or licence", paper("a stamp or licence")),
        ]
        answers = await self.ask(
            FormDialog(
                heading, asked, hint="Read the statement. Enter on the last line signs. Esc or -: leave it."
            )
        )
        if answers is not None:
            await self._writer.do(closing.sign, self._desk, role, answers[0], answers[1])
            self.say(f"SIGNED as {role.value}: {answers[0]}", _GOOD)

    async def _close(self) -> None:
        left = left_undone(self._desk.survey)
        reason = await self._ask_close(left)
        if reason is None:
            return
        seal = await self._writer.do(self._desk.close, reason)
        signed = [self._signed(role) for role in Role]
        page = seal_page(seal_groups(seal), self._desk.rows, signed, len(left))
        self.query_one("#close-seal", Static).update(page)
        title = Content(" CLOSED  ") + shown(self._desk.session.route.title)
        self.query_one("#close-title", Static).update(title)
        self.add_class("-closed")

    async def _ask_close(self, left: Sequence[Item]) -> str | None:
        """Why things are left undone, nothing where none are; None where it is not closed after all."""
        if not left:
            rows = [(Row(1, Content("close")), True)]
            whole = "Close the session? No reading can be added afterwards."
            picked = await self.ask(
                PickDialog(whole, rows, hint="1: close. Esc or -: go on.", enter_picks=False)
            )
            return "" if picked else None
        by_group = {group.value: sum(item.group is group for item in left) for group in Group}
        counts = ", ".join(f"{name}: {count}" for name, count in by_group.items() if count)
        question = f"Close with {len(left)} left undone? No reading can be added afterwards."
        heading = Content("\n").join([shown(question, "bold"), shown(counts)])
        asked = Question("why it is closed all the same", paper("a reason"))  # a keypad has no letters
        answers = await self.ask(FormDialog(heading, [asked], hint="Enter: close. Esc or -: go on."))
        return answers[0] if answers is not None else None

    def _signed(self, role: Role) -> str:
        held = holding_signature(self._desk.survey, role)
        return f"{role.value}: {signature_words(held) if held is not None else 'NOT SIGNED'}"

    async def _ask_reason(self, heading: str, kind: str) -> str | None:
        reasons = self._desk.session.reasons.of(kind)
        reason = await self.ask(ReasonDialog(heading, reasons, enter_picks=False))
        return None if reason is None else reason.text
