"""Reconcile: the meter's memory list, from a file or keyed blind, held against the record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from fieldtui.core.pairing.alignment import Alone, Finding, MemoryEntry, Option, Pair, Pairing, Undecided
from fieldtui.core.plan.tables import Instrument
from fieldtui.desk import reconciling, taking_over
from fieldtui.desk.held_back import held_back
from fieldtui.desk.listed import ListUnits, list_units
from fieldtui.desk.reconcile_words import left_undecided, said_of_list
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.blind import BlindAgainDialog, BlindDialog, KeyedList
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.dialogs.problems import ProblemsDialog
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.pages.asking import AskingScreen
from fieldtui.ui.pages.reconcile_questions import (
    PICKS,
    Source,
    changed_verdicts,
    changes_words,
    is_it_there,
    run_words,
    ways_to_list,
    which_is_it,
    why_take_over,
)
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.widgets.key_bar import KeyHints
from fieldtui.ui.widgets.moves import MOVES
from fieldtui.ui.widgets.reconcile_list import HEADING, ReconcileList
from fieldtui.ui.widgets.reconcile_rows import (
    DECIDED,
    SAME,
    ReconcileRow,
    RowKey,
    rows_of,
)
from fieldtui.ui.writer import Writer

BLIND = "keyed blind"
# What fits whatever is taken over; what the list says otherwise is written beside each by itself.
_REASONS = ("checked against the meter's list", "looked up on the meter again", "agreed with the prober")


class ReconcileScreen(AskingScreen[str]):
    """The record is out of sight until the list is there. The answer says what was settled."""

    IS_UNFORESEEN = False

    def __init__(
        self,
        desk: Desk,
        writer: Writer,
        *,
        run: int | None = None,
        is_blind: bool | None = None,
        leads_on: bool = False,
        keyed: dict[int, KeyedList] | None = None,
    ) -> None:
        """With ``leads_on`` the way to the next memory run leads here, and on once all is settled.

        ``keyed`` is what was keyed blind so far, by run: it is gone on with, and outlives this page.
        """
        super().__init__()
        self._desk = desk
        self._only_run = run  # None: asked for
        self._leads_on = leads_on
        # None: asked for
        self._first_source = None if is_blind is None else Source.BLIND if is_blind else Source.FILE
        self._writer = writer
        self._list_name = ""
        self._memory: list[MemoryEntry] = []
        self._label: int | None = None  # the run that the list says, where there is no such run
        self._keyed = {} if keyed is None else keyed
        self.run: int | None = None  # the one held against its list, once it is known
        self._pairing = Pairing((), (), (), ())
        self._said: tuple[str, ...] = ()  # of the list as a whole
        self._decided: set[RowKey] = set()  # by the crew
        self._taken = 0  # corrections taken over so far
        self._is_narrow = True  # only what is not the same
        self._outcome = ""
        self.is_settled = False  # whether what was taken over last settled the run

    def compose(self) -> ComposeResult:
        yield Static(" RECONCILE", classes="asking-title", id="reconcile-title", markup=False)
        yield Static("", classes="asking-line", id="reconcile-counts", markup=False)
        yield Static(Content(HEADING), classes="asking-head")
        yield ReconcileList()
        yield Static("", id="reconcile-detail")
        trouble = Static("", id="dialog-trouble")
        trouble.display = False
        yield trouble
        yield KeyHints("reconcile")

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self.begin(self._open())

    # --- the list -------------------------------------------------------------------------

    async def _open(self) -> None:
        """Which run, which list; then the comparison. Left on the way, nothing was done."""
        self.run = run = await self._which_run()
        if run is None or not await self._get_list(run):
            self.answer("")
            return
        await self._compare()

    async def _which_run(self) -> int | None:
        if self._only_run is not None:
            return self._only_run
        survey = self._desk.survey
        filled = [run for run in survey.runs if any(r.run == run.run for r in survey.records.values())]
        runs = filled or list(survey.runs)
        if len(runs) == 1:
            return runs[0].run
        rows = [(Row(run.run, shown(run_words(run, survey))), run.run) for run in reversed(runs)]
        return await self.ask(
            PickDialog(
                "Which memory run?",
                rows,
                hint="Enter: the marked one. Digits pick. Esc or -: back.",
                is_unforeseen=True,  # with a single run it is not asked
            )
        )

    async def _get_list(self, run: int) -> bool:
        """Load or key the list; False where it was left."""
        path = ""
        while True:
            source, self._first_source = self._first_source, None
            if source is None:
                ways = list(ways_to_list(self._keyed[run].words if run in self._keyed else ""))
                source = await self.ask(PickDialog(f"The memory list of run {run}", ways, hint=PICKS))
            if source is None:
                return False
            if source is Source.FILE:
                answers = await self.ask(
                    FormDialog("The memory list", [Question("path of the CSV file", wanted("a path"), path)])
                )
                path = answers[0] if answers is not None else path
                if answers is not None and await self._load(run, path):
                    return True
                continue
            if source is Source.ANEW:
                self._keyed.pop(run, None)
            if await self._key_blind(run):
                return True

    async def _load(self, run: int, path: str) -> bool:
        unit = self._meter_of(run).unit
        survey = self._desk.survey
        currents = reconciling.currents_of(survey)
        try:
            memory = await self._writer.do(reconciling.load_list, path, unit, currents)
            covered = reconciling.cover(survey, memory, run)
        except FieldtuiError as error:
            await self.ask(ProblemsDialog(error))
            return False
        self._memory, self._label = covered.memory, covered.label
        self._list_name = path.replace("\\", "/").rsplit("/", 1)[-1]
        return True

    async def _key_blind(self, run: int) -> bool:
        numbers = [
            r.number for r in self._desk.survey.records.values() if r.run == run and r.number is not None
        ]
        first = min(numbers, default=self._meter_of(run).first_number)
        keyed = self._keyed.setdefault(run, KeyedList())
        if keyed.entries:
            first = keyed.entries[0].number or first
        units = list_units(self._desk.survey, run, self._meter_of(run).unit)
        last = next((each.last_number for each in self._desk.survey.runs if each.run == run), None)
        if not await self.ask(BlindDialog(run, first, units, keyed.entries, last=last)):
            return False
        if not await self._key_again(run, units, keyed):
            return False
        self._memory, self._list_name, self._label = list(keyed.entries), BLIND, None
        return True

    async def _key_again(self, run: int, units: ListUnits, keyed: KeyedList) -> bool:
        """Every line that would change a value on record, once more; False where it was left.

        One slip in a list keyed by hand would else make a right record a wrong one.
        """
        while True:
            pairing = await self._writer.do(
                reconciling.reconcile, self._desk.survey, list(keyed.entries), frozenset({run})
            )
            places = [
                place
                for place in reconciling.changing_entries(pairing)
                if keyed.twice.get(place) != keyed.entries[place]
            ]
            if not places:
                return True
            if not await self.ask(BlindAgainDialog(run, units, keyed.entries, places, keyed.twice)):
                return False

    def _meter_of(self, run: int) -> Instrument:
        """The meter whose memory the run is."""
        survey = self._desk.survey
        meter = next((each.meter for each in survey.runs if each.run == run), 0)
        return survey.meters[meter].instrument

    # --- the comparison -------------------------------------------------------------------

    async def _compare(self) -> None:
        self._pairing = await self._writer.do(
            reconciling.reconcile, self._desk.survey, self._memory, self._runs
        )
        covered = reconciling.Covered(self._memory, frozenset(self._runs), label=self._label)
        said = await self._writer.do(said_of_list, self._desk.survey, self._pairing, covered)
        self._said = tuple(said)
        self._draw()

    @property
    def _runs(self) -> set[int]:
        return {entry.run for entry in self._memory if entry.run is not None}

    def _draw(self) -> None:
        pairing = self._pairing
        runs = ", ".join(map(str, sorted(self._runs)))
        which = "the list keyed blind" if self._list_name == BLIND else self._list_name
        self.query_one("#reconcile-title", Static).update(
            Content(f" RECONCILE  run {runs} with ") + shown(which)
        )
        counts = Content(reconciling.count_findings(pairing, self._decided))
        lines = [*(Content.styled(f"! {note}", "bold $text-error") for note in self._notes()), counts]
        self.query_one("#reconcile-counts", Static).update(Content("\n").join(lines))
        every = [
            replace(row, mark=DECIDED) if row.key in self._decided else row
            for row in rows_of(self._desk.survey, pairing, self._memory)
        ]
        rows = [row for row in every if row.mark is not SAME] if self._is_narrow else every
        nothing = (
            "nothing differs: 1 settles the run, 3 shows every line" if every else "both lists are empty"
        )
        self.query_one(ReconcileList).show(rows, nothing)
        self._draw_detail()

    def _notes(self) -> Iterator[str]:
        """What is to be said of the list as a whole, the gravest first."""
        pairing = self._pairing
        whole = pairing.mismatch_of_whole
        if whole is not None:
            words = f"{whole.finding.value.upper()}: {whole.count} entries."
            yield f"{words} Nothing of it can be taken over." if pairing.is_strange else words
        yield from self._said

    def _draw_detail(self) -> None:
        row = self.query_one(ReconcileList).marked_row
        words = Content("")
        if row is not None:
            words = row.mark.as_content() + Content("  ") + shown(row.why)
        self.query_one("#reconcile-detail", Static).update(words)

    # --- keys -----------------------------------------------------------------------------

    def wants_seen(self, event: Pressed) -> bool:
        """What takes over from a comparison."""
        return isinstance(event, Key) and event.key in ("1", "2", "enter")

    def _take(self, event: Key) -> None:
        if self.leaves(event):
            self.answer(self._outcome)
        else:
            super()._take(event)

    def key_pressed(self, event: Key) -> None:
        self.say("")
        if event.key in MOVES:
            self.query_one(ReconcileList).move(event.key)
            self._draw_detail()
        elif event.key == "1":
            self.begin(self._take_over())
        elif event.key in ("2", "enter"):
            row = self.query_one(ReconcileList).marked_row
            if row is not None:
                self.begin(self._decide(row))
        elif event.key == "3":
            self._is_narrow = not self._is_narrow
            self._draw()
        elif event.key in ("f1", "slash"):
            self.begin(self._help())

    async def _help(self) -> None:
        await self.ask(HelpDialog("reconcile"))

    async def _take_over(self) -> None:
        """Everything that is certain, and the run counts as reconciled."""
        if self._pairing.is_strange:
            self.say("Nothing can be taken over: check that this is the list of this meter and session.")
            return
        survey, decided = self._desk.survey, self._decided_records
        count = len(taking_over.corrections(survey, self._pairing))
        why_not = " ".join(taking_over.unsettled(survey, self._pairing, decided).values())
        self.is_settled = bool(taking_over.settled_runs(survey, self._pairing, decided)) and not why_not
        if not count and not self.is_settled:
            self.say(f"Nothing is taken over, and the run is NOT reconciled: {why_not}")
            return
        left = left_undecided(survey, self._pairing, self._memory, self._decided)
        heading = why_take_over(count, left if self.is_settled else (), is_settled=self.is_settled)
        reason = await self._ask_reason(heading)
        if reason is None:
            return
        done = await self._writer.do(
            taking_over.take_over,
            self._desk,
            self._pairing,
            self._memory,
            self._list_name,
            reason=reason,
            decided=decided,
            lines=self._decided,
        )
        self._taken += done
        changed = changes_words(changed_verdicts(survey, self._desk.survey))
        await self._compare()
        undecided = len(reconciling.still_undecided(self._pairing, self._decided))
        but = f", {undecided} undecided" if undecided else ""
        words = f"run {', '.join(map(str, sorted(self._runs)))}: {self._taken} taken over{but}"
        self._outcome = f"{words}. {changed}" if changed else words
        if self._leads_on and self.is_settled and not undecided and not changed:
            self.answer(self._outcome)
            return
        if self.is_settled:
            told = f"TAKEN OVER: {self._taken}. The run is reconciled{but}; every first form stays. {changed}"
            self.say(told.rstrip(), f"bold {'$text-warning' if undecided or changed else '$text-success'}")
        else:
            which = f"{changed}. " if changed else ""
            self.say(f"TAKEN OVER: {self._taken}. {which}The run is NOT reconciled: {why_not}")

    @property
    def _decided_records(self) -> frozenset[int]:
        return frozenset(record for record, _ in self._decided if record is not None)

    async def _decide(self, row: ReconcileRow) -> None:
        """One row alone, certain or not: the crew looked and says so."""
        if self._pairing.is_strange:
            self.say("Nothing can be taken over: check that this is the list of this meter and session.")
            return
        found, held = row.found, held_back(self._desk.survey, self._pairing)
        if isinstance(found, Alone) and found.record is not None and found.record in held.alone:
            await self._ask_kept(found.record, held.why_alone(found.record), row)
            return
        if isinstance(found, Pair) and found.record in held.values:
            self._settle({row.key}, f"The record stays as it is. {held.values[found.record]}")
            return
        if not isinstance(found, Undecided):
            is_record = isinstance(found, Alone) and found.record is not None
            await self._take_over_one(self._corrections(found), {row.key} if is_record else set())
            return
        option = await self.ask(which_is_it(found, self._desk.survey, self._memory))
        if option is not None:
            decided = {(option.record, None), (None, option.entry), row.key}
            await self._take_over_one(self._corrections(option), decided)

    async def _take_over_one(
        self, corrections: Sequence[taking_over.Correction], decided: set[RowKey]
    ) -> None:
        if not corrections:
            self._settle(decided, "Nothing to take over here: the record stays as it is.")
            return
        record, what = corrections[0].record, ", ".join(each.what for each in corrections)
        reason = await self._ask_reason(f"Take over for record {record}: {what}. Why?")
        if reason is None:
            return
        before = self._desk.survey
        await self._writer.do(taking_over.take_over_one, self._desk, corrections, reason)
        self._decided |= decided
        self._taken += len(corrections)
        changed = changes_words(changed_verdicts(before, self._desk.survey))
        await self._compare()
        tone = "$text-warning" if changed else "$text-success"
        self.say(f"TAKEN OVER: record {record}, {what}. {changed}".rstrip(". "), f"bold {tone}")

    def _settle(self, decided: set[RowKey], words: str) -> None:
        """The crew has decided, and the record stays as it is."""
        self._decided |= decided
        self._draw()
        self.say(words, "bold")

    async def _ask_kept(self, record: int, why: str, row: ReconcileRow) -> None:
        """Whether the meter has a reading that the list lacks: nobody can tell but by a look at it."""
        number = self._desk.survey.records[record].number
        is_there = await self.ask(is_it_there(record, number, why))
        if is_there is None:
            return
        if not is_there:
            await self._take_over_one(self._alone(record), {row.key})
            return
        await self._writer.do(taking_over.leave_as_it_is, self._desk, record, self._list_name)
        self._settle({row.key}, f"Record {record} keeps number {number}; a note says so.")

    def _corrections(self, found: Pair | Alone | Option) -> Sequence[taking_over.Correction]:
        """What a finding or a chosen possibility changes on the record; an entry alone changes nothing."""
        if isinstance(found, Pair):
            return taking_over.corrections_of(self._desk.survey, found)
        if isinstance(found, Alone) or found.finding is Finding.RECORD_ONLY:
            return self._alone(found.record)
        return taking_over.corrections_of(self._desk.survey, found.pair) if found.pair is not None else []

    def _alone(self, record: int | None) -> Sequence[taking_over.Correction]:
        if record is None or self._desk.survey.records[record].number is None:
            return []
        return [taking_over.Correction(record, "not kept")]

    async def _ask_reason(self, heading: str | Content) -> str | None:
        reason = await self.ask(ReasonDialog(heading, _REASONS, enter_picks=False))
        return None if reason is None else reason.text
