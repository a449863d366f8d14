"""The record beside the memory list, one row a reading or an entry, with what was found of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fieldtui.core.pairing.alignment import Alone, Finding, MemoryEntry, Option, Pair, Pairing, Undecided
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.held_back import HeldBack, held_back
from fieldtui.desk.reconcile_words import alone_words, chance_words, shown_words, standard_words
from fieldtui.ui.phrases import Mark
from fieldtui.ui.widgets.drift_words import percent

SAME = Mark("=", "same", "$text-success")
NUMBER = Mark("#", "number differs", "bold $text-warning")
KEYED = Mark("≠", "KEYED DIFFERENTLY", "bold $text-error")
MEMORY_ONLY = Mark("+", "MEMORY ONLY", "bold $text-warning")
RECORD_ONLY = Mark("−", "RECORD ONLY", "bold $text-warning")
LOOK = Mark("?", "LOOK AT METER", "bold $text-error")
ERASED = Mark("x", "ERASED", "bold $text-warning")
NO_VALUE = Mark("x", "NO VALUE", "bold $text-warning")
UNDECIDED = Mark("?", "UNDECIDED", "bold $text-error")
DECIDED = Mark("✓", "decided", "$text-success")

Found = Pair | Alone | Undecided
RowKey = tuple[int | None, int | None]


@dataclass(frozen=True, slots=True)
class ReconcileRow:
    """What is on each side, None where nothing is; ``why`` says in a sentence what was found."""

    found: Found
    record: Record | None
    entry: MemoryEntry | None
    mark: Mark
    why: str

    @property
    def key(self) -> RowKey:
        """Names the row from one comparison to the next: its record, or its place in the list."""
        if self.record is not None:
            return (self.record.record, None)
        return (None, self.found.entry)


def rows_of(survey: Survey, pairing: Pairing, memory: Sequence[MemoryEntry]) -> list[ReconcileRow]:
    """Every reading in the order taken; entries without one after the entry they follow in the list."""
    record_at = {pair.entry: pair.record for pair in pairing.pairs}
    placed: list[tuple[tuple[int, int], ReconcileRow]] = []
    for row in _rows(survey, pairing, memory):
        if row.record is not None:
            placed.append(((row.record.record, -1), row))
        else:
            entry = row.found.entry or 0
            placed.append(((_record_before(row.found, entry, record_at), entry), row))
    return [row for _, row in sorted(placed, key=lambda each: each[0])]


def _record_before(found: Found, entry: int, record_at: Mapping[int, int]) -> int:
    """The record below which an entry stands: its likeliest one, or that of the entry before it."""
    likeliest = found.options[0].record if isinstance(found, Undecided) and found.options else None
    if likeliest is not None:
        return likeliest
    return next((record_at[at] for at in range(entry, -1, -1) if at in record_at), 0)


def option_in_words(option: Option, survey: Survey, memory: Sequence[MemoryEntry]) -> str:
    """``93 %  record 7 is number 9 (1.38 mΩ)``, or that it stands alone."""
    chance = f"{chance_words(option.probability):>5}  "
    if option.finding is Finding.RECORD_ONLY:
        return f"{chance}record {option.record} is not in the memory"
    if option.finding is Finding.MEMORY_ONLY:
        return f"{chance}the entry is on no record"
    record = survey.records[option.record or 0]
    entry = memory[option.entry or 0]
    value = "erased" if entry.erased else "no value" if entry.reading is None else str(entry.reading)
    return f"{chance}record {record.record} ({record.reading}) is number {_number(entry)} ({value})"


def _rows(survey: Survey, pairing: Pairing, memory: Sequence[MemoryEntry]) -> Iterator[ReconcileRow]:
    held = held_back(survey, pairing)
    for pair in pairing.pairs:
        record, entry = survey.records[pair.record], memory[pair.entry]
        yield ReconcileRow(pair, record, entry, _pair_mark(pair, record), _pair_words(pair, record, held))
    for alone in pairing.record_only:
        record = survey.records[alone.record or 0]
        words = f"record {record.record} is not in the memory list: {percent(alone.probability)}"
        if why := held.why_alone(record.record):
            words = f"record {record.record} is not in the memory list; {why}"
        yield ReconcileRow(alone, record, None, LOOK if why else RECORD_ONLY, words)
    for alone in pairing.memory_only:
        entry = memory[alone.entry or 0]
        mark = MEMORY_ONLY if alone.filed is None else SAME if alone.is_standard else KEYED
        yield ReconcileRow(alone, None, entry, mark, _alone_words(alone, entry, memory))
    for each in pairing.undecided:
        at_record = survey.records[each.record] if each.record is not None else None
        at_entry = memory[each.entry] if each.entry is not None else None
        options = "; ".join(option_in_words(option, survey, memory).strip() for option in each.options[:3])
        yield ReconcileRow(each, at_record, at_entry, UNDECIDED, options or "nothing speaks for either")


def _pair_mark(pair: Pair, record: Record) -> Mark:
    if pair.finding is Finding.KEYED_DIFFERENTLY:
        return KEYED
    is_moved = pair.number is not None and pair.number != record.number
    is_other_run = pair.run is not None and record.run is not None and pair.run != record.run
    if is_moved or is_other_run:
        return NUMBER
    return ERASED if pair.erased_unsaid else NO_VALUE if pair.no_value_unsaid else SAME


def _pair_words(pair: Pair, record: Record, held: HeldBack) -> str:
    sure = percent(pair.probability)
    moved = "; its entry is erased on the meter, and the record does not say so" if pair.erased_unsaid else ""
    if pair.no_value_unsaid:
        moved += "; its entry shows no value"
    if pair.number is not None and pair.number != record.number:
        ours = "none" if record.number is None else str(record.number)
        moved += f"; its number is {pair.number}, the record has {ours}"
    if pair.record in held.numbers:
        moved += f"; {held.numbers[pair.record]}"
    if pair.record in held.values:
        moved += f"; NOT TAKEN OVER: {held.values[pair.record]}"
    if pair.finding is Finding.SAME:
        return f"record {pair.record} is the same in the memory: {sure}{moved}"
    slip = f": {pair.slip.value}" if pair.slip is not None else ", by no slip that is known"
    return (
        f"record {pair.record} was keyed as {record.reading}, the memory has {pair.likely}{slip}. "
        f"That they belong together: {sure}{moved}"
    )


def _alone_words(alone: Alone, entry: MemoryEntry, memory: Sequence[MemoryEntry]) -> str:
    if alone.filed is not None:
        return f"number {_number(entry)}: {standard_words(alone)}"
    sure = "" if alone.copy_of is not None else f": {percent(alone.probability)}"
    return f"number {_number(entry)} ({shown_words(alone)}): {alone_words(alone, memory)}{sure}"


def _number(entry: MemoryEntry) -> str:
    return "without a number" if entry.number is None else str(entry.number)
