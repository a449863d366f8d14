"""A simulated crew and its meter at the desk: memory numbers, memory lists, memory runs.

The recorder answers by fixed rules: a number that differs is asked for again, the likeliest explanation that
the prober does not deny is followed, and of a list is taken over what reconcile calls certain.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from fieldtui.core.drift.explanations import Change, Explanation, Kind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.pairing.alignment import MemoryEntry, Pairing
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail.events import Agreement
from fieldtui.desk import reconciling, taking_over
from fieldtui.desk.held_back import held_back
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import FieldtuiError
from fieldtui.ui.widgets.reconcile_rows import rows_of
from tests.bench.mapping_audit import Keyed
from tests.bench.mapping_world import Entry, Filling, Slips, Tally, Truth, World, misheard
from tests.desk.scenes import SetClock

CERTAIN, ALONE, UNDECIDED, STRANGE = "certain", "alone", "undecided", "strange list"
_FOR_THE_CREW = (Kind.MISHEARD, Kind.RESTARTED, Kind.NOT_CLEARED)  # the prober knows better


@dataclass(slots=True)
class AtTheMeter:
    """The desk, the world behind it, and what the simulation keeps of both."""

    slips: Slips
    chance: Random
    world: World
    workspace: Workspace
    clock: SetClock
    meters: tuple[Instrument, Instrument]
    desk: Desk
    fillings: list[Filling] = field(default_factory=list)
    truth: dict[int, Truth] = field(default_factory=dict)
    keyed: dict[int, Keyed] = field(default_factory=dict)
    said: dict[int, str] = field(default_factory=dict)  # by record, what the last comparison called it
    # By run and number, what the last list said as it reached the desk.
    listed: dict[tuple[int, int | None], Resistance | None] = field(default_factory=dict)
    tally: Tally = field(default_factory=Tally)
    defects: list[str] = field(default_factory=list)

    @property
    def survey(self) -> Survey:
        return self.desk.survey

    @property
    def filling(self) -> Filling | None:
        """What the meter in use fills; None where it is used without its memory."""
        return self.fillings[-1] if self.survey.run is not None else None

    def happens(self, slip: str) -> bool:
        happens = self.chance.random() < float(getattr(self.slips, slip))
        self.tally[f"slip: {slip}"] += happens
        return happens

    def want(self, holds: bool, otherwise: str) -> None:
        if not holds:
            self.defects.append(otherwise)

    # --- numbers --------------------------------------------------------------------------

    def said_number(self, true: int) -> int:
        """A memory number as it reaches the recorder."""
        if self.happens("misheard_number"):
            return max(0, true + self.chance.choice((-10, -2, -1, 1, 2, 10)))
        return true

    def check_number(self) -> None:
        """A number check; where it differs, again, until it is explained or left open."""
        filling = self.filling
        if filling is None or not filling.entries or filling.last < 0:
            return
        heard: list[int] = []
        while len(heard) < 5:
            run = self.survey.run
            assert run is not None
            called = self.said_number(filling.last)
            heard.append(called)
            agreement = self.desk.check_number(called)
            self.want(
                (agreement is Agreement.AGREE) == (called == run.next_number - 1), "a check says otherwise"
            )
            if agreement is Agreement.AGREE:
                return
            found = self.desk.explain_numbers(called)
            self.want(
                abs(sum(each.probability for each in found) - 1) < 1e-6, "explanations do not sum to one"
            )
            if heard.count(called) > (2 if found[0].kind is Kind.MISHEARD else 1):
                self._follow(filling, found, called)
                return

    def _follow(self, filling: Filling, found: Sequence[Explanation], called: int) -> None:
        restarts = [each.changes[0] for each in found if each.kind is Kind.RESTARTED]
        if filling.was and restarts:
            self._restart(filling, restarts[0])
            return
        likely = next((each for each in found if not self._is_denied(each)), None)
        if likely is None or likely.kind is Kind.SEVERAL:
            self.tally["numbers left open"] += 1
            return
        change, before = likely.changes[0], self.survey
        run = before.run.run if before.run is not None else 0
        self.desk.follow_explanation(change, change.words)
        self.tally["explanations followed"] += 1
        if change.takes_back:
            self.tally["answers taken back"] += 1
            next_number = self.survey.next_number
            self.want(next_number in (change.next_number, None), f"next after {change} is another number")
            is_open = self.survey.out_of_step
            self.want(is_open is (change.next_number != called + 1), f"{change} hides that numbers differ")
            return
        self.want(self.survey.next_number in (called + 1, None), f"next after {change} is another number")
        for number, record in before.records.items():
            moves = change.moves_from is not None and number >= change.moves_from and record.run == run
            wanted = record.number
            if number in change.loses:
                wanted = None
            elif moves and wanted is not None:
                wanted += change.by
            self.want(self.survey.records[number].number == wanted, f"{change} gives record {number} another")

    def _is_denied(self, explanation: Explanation) -> bool:
        """Whether the prober knows that it was not so: of the memory he knows what he did."""
        undone = self.survey.corrections[-explanation.changes[0].takes_back or len(self.survey.corrections) :]
        return explanation.kind in _FOR_THE_CREW or any(each.run != each.was_run for each in undone)

    def _restart(self, filling: Filling, change: Change) -> None:
        """The memory was found empty: what is in it now belongs to a new run."""
        self.desk.follow_explanation(change, change.words, restarted=True)
        self.tally["restarts followed"] += 1
        run = self.survey.run
        assert run is not None
        fresh = Filling(filling.meter, filling.next, filling.entries, run.run)
        filling.entries, filling.was = filling.was, []
        for number, truth in self.truth.items():
            if truth.entry in fresh.entries:
                self.truth[number] = replace(truth, filling=fresh)
        self.fillings.append(fresh)
        self.want(run.next_number == fresh.next, "after a restart the next number is another")

    # --- lists ----------------------------------------------------------------------------

    def reconcile(self, filling: Filling) -> None:
        """Hold a run against the list; take over what is certain."""
        if not filling.entries or all(each.run != filling.run for each in self.survey.records.values()):
            return
        memory, name = (
            self._list_from_file(filling) if self.chance.random() < 0.5 else self._list_keyed(filling)
        )
        self.listed |= {(filling.run, each.number): each.reading for each in memory}
        pairing = reconciling.reconcile(self.survey, memory, {filling.run})
        self._want_whole(pairing, memory, filling)
        self._note_said(pairing, filling)
        if pairing.is_strange:
            self.tally["list called strange"] += 1
            return
        is_settled = filling.run in taking_over.settled_runs(self.survey, pairing)
        self.tally["corrections"] += taking_over.take_over(self.desk, pairing, memory, name, "checked")
        is_reconciled = filling.run in self.survey.reconciled
        self.want(is_reconciled or not is_settled, "a run that is settled does not count as reconciled")
        if is_settled and filling is self.filling and not pairing.disordered:
            after = filling.entries[-1].number + 1
            self.want(self.survey.next_number in (after, None), "the run does not go on after the list")

    def _list_from_file(self, filling: Filling) -> tuple[list[MemoryEntry], str]:
        path = self.workspace.root / "list.csv"
        rows = ["number,value,unit,state"]
        for each in filling.as_list():
            value = f"{each.reading.digits},mohm" if each.reading is not None else ","
            rows.append(f"{each.number},{value},{'erased' if each.erased else ''}")
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        memory = reconciling.load_list(str(path), Unit.MOHM)
        return reconciling.of_run(memory, filling.run), path.name

    def _list_keyed(self, filling: Filling) -> tuple[list[MemoryEntry], str]:
        """Keyed with the record out of sight; what would change a value is keyed until twice the same."""
        there = {each.number: each for each in filling.entries}
        numbers = range(filling.entries[0].number, filling.entries[-1].number + 1)
        keyed = [self._keyed_line(filling.run, number, there.get(number)) for number in numbers]
        twice: dict[int, MemoryEntry] = {}
        for _ in range(30):
            pairing = reconciling.reconcile(self.survey, keyed, {filling.run})
            changing = reconciling.changing_entries(pairing)
            asked = [place for place in changing if twice.get(place) != keyed[place]]
            if not asked:
                return keyed, "keyed blind"
            for place in asked:
                again = self._keyed_line(filling.run, numbers[place], there.get(numbers[place]))
                if again == keyed[place]:
                    twice[place] = again
                keyed[place] = again
        self.defects.append("a list keyed by hand is asked for without end")
        return keyed, "keyed blind"

    def _keyed_line(self, run: int, number: int, entry: Entry | None) -> MemoryEntry:
        if entry is None or entry.shown is None or entry.erased:
            return MemoryEntry(run, number, None, erased=True)
        wrong = self.happens("list_miskeyed")
        return MemoryEntry(run, number, misheard(entry.shown, self.chance) if wrong else entry.shown)

    def _want_whole(self, pairing: Pairing, memory: Sequence[MemoryEntry], filling: Filling) -> None:
        """Every reading of the run and every entry is in one part of the answer, and in one row."""
        sides = [*pairing.pairs, *pairing.record_only, *pairing.memory_only, *pairing.undecided]
        paired = len(pairing.pairs)
        records = [each.record for each in sides[:paired]] + _named(each.record for each in sides[paired:])
        entries = [each.entry for each in sides[:paired]] + _named(each.entry for each in sides[paired:])
        ours = [number for number, each in self.survey.records.items() if each.run == filling.run]
        self.want(sorted(_named(records)) == ours, "a reading is in no part of the answer, or in two")
        self.want(sorted(_named(entries)) == [*range(len(memory))], "so is an entry")
        self.want(
            len(rows_of(self.survey, pairing, memory)) == len(sides), "the page does not show every row"
        )

    def _note_said(self, pairing: Pairing, filling: Filling) -> None:
        if pairing.is_strange:
            ours = (number for number, each in self.survey.records.items() if each.run == filling.run)
            self.said |= dict.fromkeys(ours, STRANGE)
            return
        self.said |= {pair.record: CERTAIN for pair in pairing.pairs}
        self.said |= dict.fromkeys(_named(each.record for each in pairing.record_only), ALONE)
        self.said |= dict.fromkeys(_named(each.record for each in pairing.undecided), UNDECIDED)
        held = held_back(self.survey, pairing)  # the crew is asked, and this one answers nothing
        self.said |= dict.fromkeys({*held.alone, *held.numbers, *held.values}, UNDECIDED)
        self.tally["held back"] += len(held.alone)
        self.tally["undecided"] += len(pairing.undecided)

    # --- runs and meters ------------------------------------------------------------------

    def next_run(self, reason: str) -> None:
        """Read out, reconcile, clear; the next run."""
        filling = self.filling
        if filling is None:
            return
        self.reconcile(filling)
        first = filling.meter.first_number
        self.fillings.append(Filling(filling.meter, first, run=self.desk.start_run(first, reason).run))
        self.tally["memory runs"] += 1

    def fresh_run(self) -> None:
        if self.filling is not None and len(self.filling.entries) > 3:
            self.next_run("another job wants the memory")

    def reconcile_now(self) -> None:
        if self.filling is not None and len(self.filling.entries) > 5:
            self.reconcile(self.filling)

    def other_meter(self) -> None:
        """The other meter takes over; one that was used before may still hold what it had."""
        if self.filling is None:
            return
        (other,) = (each for each in self.meters if each.id != self.survey.instrument.id)
        self.want(other.id in {each.id for each in self.desk.known_meters()}, f"{other.id} cannot be taken")
        first, kept = other.first_number, list[Entry]()
        earlier = [each for each in self.fillings if each.meter is other]
        if earlier and not earlier[-1].is_full and self.chance.random() < 0.5:
            first, kept = earlier[-1].next, [*earlier[-1].entries]
        self.desk.take_meter(other, first, "battery")
        run = self.survey.run
        assert run is not None
        self.fillings.append(Filling(other, first, kept, run.run))
        self.tally["other meter"] += 1

    def close_lists(self) -> None:
        """At the end each memory is held against the record."""
        for filling in self.fillings:
            try:
                self.reconcile(filling)
            except FieldtuiError as error:
                self.defects.append(f"run {filling.run} cannot be reconciled: {error}")


def _named(each: Iterable[int | None]) -> list[int]:
    return [name for name in each if name is not None]
