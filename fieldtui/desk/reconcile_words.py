"""What reconciling found, in words for a person and as JSON for a program."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.pairing.alignment import Alone, Finding, Option, Pair, Pairing, Undecided
from fieldtui.core.pairing.model import MemoryEntry
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import MAX_LENGTH, counted
from fieldtui.desk.held_back import HeldBack, early_end, held_back
from fieldtui.desk.reconciling import (
    Covered,
    Line,
    count_findings,
    erased_unsaid,
    no_value_unsaid,
    on_no_record,
    other_runs_in,
    standards_in,
    still_undecided,
)

_DECIMALS = 5  # of a percentage, at most
NO_RECORD, ERASED = "in the memory and on no record: ", "erased on the meter and standing: record "
UNDECIDED = "left undecided: "
NO_VALUE, STANDARD = "no value and standing: record ", "check standard: "


@dataclass(frozen=True, slots=True)
class Told:
    """A comparison with what is to be said of its list and of the session."""

    pairing: Pairing
    notes: tuple[str, ...] = ()
    held: HeldBack = field(default_factory=HeldBack)
    memory: Sequence[MemoryEntry] = ()


def tell(survey: Survey, pairing: Pairing, covered: Covered) -> Told:
    """The comparison with its notes, the gravest first."""
    notes = said_of_list(survey, pairing, covered)
    for run in covered.left_out:
        notes.append(f"memory run {run} was not compared: the list is not of it")
    whole = pairing.mismatch_of_whole
    if whole is not None:
        notes.append(f"{whole.finding.value} ({whole.count} entries)")
    return Told(pairing, tuple(notes), held_back(survey, pairing), covered.memory)


def said_of_list(survey: Survey, pairing: Pairing, covered: Covered) -> list[str]:
    """What is to be said of the list as a whole, the gravest first."""
    return [*_list_notes(survey, pairing, covered), *_not_cleared_notes(survey, pairing, covered)]


def _list_notes(survey: Survey, pairing: Pairing, covered: Covered) -> Iterator[str]:
    if early := early_end(survey, pairing):
        yield early
    yield from order_notes(pairing)
    if covered.label is not None:
        yield f"the list says run {covered.label}; that is taken to mean run {_runs(covered)}"
    if erased := erased_unsaid(pairing):
        yield erased_words(erased)
    if empty := no_value_unsaid(pairing):
        yield no_value_words(empty)
    if pairing.not_compared:
        yield not_compared_words(pairing)


def _not_cleared_notes(survey: Survey, pairing: Pairing, covered: Covered) -> list[str]:
    """That entries on no record read like the readings of another memory run."""
    notes = []
    for entries, run, records in other_runs_in(survey, pairing, covered):
        numbers = [entry.number for entry in entries if entry.number is not None]
        which = f"numbers {min(numbers)} to {max(numbers)}" if numbers else "entries on no record"
        notes.append(
            f"{which} read like records {min(records)} to {max(records)}, of memory run {run}: "
            "was the memory not cleared when that run began?"
        )
    return notes


def erased_words(records: Sequence[int]) -> str:
    """Which readings stand though their entries are erased, and what to do."""
    several = len(records) > 1
    return (
        f"record{'s' if several else ''} {_some(records)} stand{'' if several else 's'}, erased on the meter"
        ": ask why, strike out or take again"
    )


def no_value_words(records: Sequence[int]) -> str:
    """Which readings stand though their entries show no value, and what to do."""
    which = f"records {_some(records)} stand" if len(records) > 1 else f"record {_some(records)} stands"
    return f"{which}, without a value in the memory: ask what was read there, strike out or take again"


def standard_words(alone: Alone) -> str:
    """What the memory shows under a number that the record gave to the check standard."""
    if alone.is_standard:
        return "the check standard, as on record"
    return f"the check standard, recorded as {alone.filed}, is {shown_words(alone)} in the memory"


def _runs(covered: Covered) -> str:
    return ", ".join(map(str, sorted(covered.runs or ())))


def order_notes(pairing: Pairing) -> Iterator[str]:
    """What is to be said of lines that do not stand in the order in which the meter filed them."""
    for run in pairing.by_number:
        yield f"{_list_of(run)} is not in the order of its numbers; it was compared in that order"
    for run in pairing.disordered:
        yield (
            f"{_list_of(run)} has numbers that go up and down, other than on record: what hangs on them is "
            "left undecided. Put its lines in the order of the memory, and check the numbers"
        )


def _list_of(run: int | None) -> str:
    return "the list" if run is None else f"the list of run {run}"


def not_compared_words(pairing: Pairing) -> str:
    """Which records were not compared, for the list has no voltages."""
    records = pairing.not_compared
    some = _some(records)
    return f"record{'' if len(records) == 1 else 's'} {some} not compared: voltages, and the list has none"


def _some(records: Sequence[int]) -> str:
    return ", ".join(map(str, records[:6])) + (f" and {len(records) - 6} more" if len(records) > 6 else "")


def shown_words(entry: Alone | Undecided) -> str:
    """What an entry of the list shows: its value, that it is erased, or both."""
    return value_words(entry.shown, entry.is_erased)


def value_words(shown: Resistance | None, is_erased: bool) -> str:
    """``1.38 mΩ``, ``erased``, both or ``no value``."""
    value = "" if shown is None else str(shown)
    if is_erased:
        return f"erased, {value}" if value else "erased"
    return value or "no value"


def alone_words(alone: Alone, memory: Sequence[MemoryEntry]) -> str:
    """What is wrong with an entry that no reading is: it repeats another, its number is taken, or nothing."""
    if alone.copy_of is not None:
        other = memory[alone.copy_of].number
        if alone.shares_number or other is None:
            return "stands twice in the list, and once on the record"
        return f"stored twice, repeats number {other}"
    if alone.shares_number:
        return "not on the record; its number stands twice in the list"
    return "not on the record"


def left_undecided(
    survey: Survey, pairing: Pairing, memory: Sequence[MemoryEntry], decided: Collection[Line] = ()
) -> list[str]:
    """What stays undecided, a phrase each: the record and what was keyed, number and value that it may be.

    An entry is named by itself only where none of the records that it may be is.
    """
    left = still_undecided(pairing, decided)
    records = {each.record for each in left if each.record is not None}
    found = []
    for each in left:
        pairs = [
            (option.record, option.entry)
            for option in each.options
            if option.record is not None
            and option.entry is not None
            # what was decided on is something else
            and not {(option.record, None), (None, option.entry)}.intersection(decided)
        ]
        entries = [f"number {_entry_shown(memory[entry])}" for _, entry in pairs[:2]]
        ours = [_record_shown(survey.records[record]) for record, _ in pairs[:2]]
        if each.record is not None:
            may_be = " or ".join(entries) or "not in the memory"
            found.append(f"{_record_shown(survey.records[each.record])} may be {may_be}")
        elif each.entry is not None and not any(record in records for record, _ in pairs):
            may_be = " or ".join(ours) or "on no record"
            found.append(f"number {_entry_shown(memory[each.entry])} may be {may_be}")
    return found


def _record_shown(record: Record) -> str:
    number = "without a number" if record.number is None else f"number {record.number}"
    return f"record {record.record} (keyed {record.reading}, {number})"


def _entry_shown(entry: MemoryEntry) -> str:
    return f"{'?' if entry.number is None else entry.number} = {value_words(entry.reading, entry.erased)}"


def words_on_record(pairing: Pairing, decided: Collection[Line] = (), undecided: Sequence[str] = ()) -> str:
    """The findings of a memory run as its row says them: counted, then what nobody could else find again.

    ``decided`` are undecided lines that the crew has decided on, ``undecided`` those left, in words. As many
    as there is room for in a cell; :mod:`fieldtui.report.findings.memory_lists` reads it.
    """
    words = count_findings(pairing, decided)
    standards = [each for each in standards_in(pairing) if not each.is_standard]
    parts: list[tuple[str, Sequence[str], float]] = [  # with the share of the room that is left by then
        (ERASED, list(map(str, erased_unsaid(pairing, decided))), 1 / 3),
        (NO_VALUE, list(map(str, no_value_unsaid(pairing, decided))), 1 / 3),
        (STANDARD, [f"{_entry_on_record(each)}, recorded as {each.filed}" for each in standards], 1 / 3),
        (UNDECIDED, undecided, 2 / 3),
        (NO_RECORD, list(map(_entry_on_record, on_no_record(pairing))), 1.0),
    ]
    parts = [part for part in parts if part[1]]
    room = MAX_LENGTH - len(words) - sum(len(name) + 2 for name, _, _ in parts)
    for name, entries, share in parts:
        fitting = _fitting(entries, room if name == parts[-1][0] else int(room * share))
        words += f"; {name}{fitting}"
        room -= len(fitting)
    return words


def _entry_on_record(alone: Alone) -> str:
    number = "?" if alone.number is None else str(alone.number)
    twice = (
        " (number twice)" if alone.shares_number else " (stored twice)" if alone.copy_of is not None else ""
    )
    return f"{number} = {shown_words(alone)}{twice}"


def _fitting(words: Sequence[str], room: int) -> str:
    """As many as there is room for, and how many more there are."""
    for count in range(len(words), 0, -1):
        more = f" | and {len(words) - count} more" if count < len(words) else ""
        joined = " | ".join(words[:count]) + more
        if len(joined) <= room:
            return joined
    return f"{len(words)} of them"


def format_findings(told: Told) -> Iterator[str]:
    """What was found, as lines for a person: what is not as it should be, then the count."""
    pairing = told.pairing
    for note in told.notes:
        yield f"NOTE: {note}"
    for pair in pairing.pairs:
        if pair.finding is Finding.KEYED_DIFFERENTLY:
            slip = f", {pair.slip.value}" if pair.slip is not None else ""
            found = f"the memory has {pair.likely} at {pair.number}{slip}{_held_value(told, pair)}"
            yield f"record {pair.record}: keyed differently; {found}"
        if pair.record in told.held.numbers:
            yield f"record {pair.record}: paired with number {pair.number}; {told.held.numbers[pair.record]}"
    for alone in pairing.record_only:
        yield f"record {alone.record}: not in the memory{_held_words(told, alone.record)}"
    for alone in on_no_record(pairing):
        yield f"{_entry_name(alone)}: {alone_words(alone, told.memory)}"
    for alone in standards_in(pairing):
        if not alone.is_standard:
            yield f"memory number {alone.number}: {standard_words(alone)}"
    for each in pairing.undecided:
        name = f"record {each.record}" if each.record is not None else _entry_name(each)
        options = "; ".join(_option_words(option, told.memory) for option in each.options[:3])
        yield f"{name}: undecided ({options})"
    yield count_findings(pairing)


def _entry_name(entry: Alone | Undecided) -> str:
    name = "memory entry without a number" if entry.number is None else f"memory number {entry.number}"
    return f"{name} ({shown_words(entry)})"


def _held_words(told: Told, record: int | None) -> str:
    """Why nobody but the crew says that a reading was not kept."""
    why = told.held.why_alone(record or 0)
    return f"; {why}" if why else ""


def _held_value(told: Told, pair: Pair) -> str:
    why = told.held.values.get(pair.record)
    if why is None:
        return ""
    line = told.memory[pair.entry].line if told.memory else None
    return f"; NOT TAKEN OVER{f', line {line} of the list' if line else ''}: {why}"


def format_outcome(
    told: Told, applied: int, settled: Sequence[int], unsettled: Mapping[int, str]
) -> Iterator[str]:
    """What taking over did, as lines for a person; ``unsettled`` by run, with the reason."""
    if applied:
        yield f"{counted(applied, 'amendment')} appended; every first form stays on record"
    for run in settled:
        left = sum(each.run in (None, run) for each in told.pairing.undecided)
        but = f"; {counted(left, 'line')} of it undecided: see the report" if left else ""
        yield f"memory run {run} counts as reconciled{but}"
    for run, why in unsettled.items():
        yield f"NOTE: memory run {run} does not count as reconciled: {why}"


def chance_words(probability: float) -> str:
    """``62 %``, ``99.97 %``: never 0 or 100, for what is not certain must not look so."""
    for places in range(_DECIMALS):
        words = f"{100 * probability:.{places}f}"
        if 0 < float(words) < 100:
            return f"{words} %"
    least = 10.0**-_DECIMALS
    return f">{100 - least:.{_DECIMALS}f} %" if probability > 0.5 else f"<{least:.{_DECIMALS}f} %"


def _option_words(option: Option, memory: Sequence[MemoryEntry]) -> str:
    chance = chance_words(option.probability)
    if option.finding in (Finding.RECORD_ONLY, Finding.MEMORY_ONLY):
        return f"{chance} stands alone"
    entry = memory[option.entry] if memory and option.entry is not None else None
    shown = f" ({value_words(entry.reading, entry.erased)})" if entry is not None else ""
    return f"{chance} record {option.record} is number {option.number}{shown}"


def as_json(
    told: Told, applied: int, settled: Sequence[int], unsettled: Mapping[int, str], left_out: Sequence[int]
) -> dict[str, object]:
    """The findings as the ``reconcile`` command answers them; ``left_out`` are runs not compared."""
    pairing = told.pairing
    whole = pairing.mismatch_of_whole
    return {
        "notes": list(told.notes),
        "pairs": [_pair_json(pair) for pair in pairing.pairs],
        "memory_only": [_alone_json(alone) for alone in on_no_record(pairing)],
        "check_standards": [_standard_json(alone) for alone in standards_in(pairing)],
        "record_only": [_alone_json(alone) for alone in pairing.record_only],
        "undecided": [_undecided_json(each) for each in pairing.undecided],
        "not_compared": list(pairing.not_compared),
        "list_ends_before": sorted(told.held.of_ends),
        "held_back": _held_json(told.held),
        "erased_standing": erased_unsaid(pairing),
        "no_value_standing": no_value_unsaid(pairing),
        "mismatch": None
        if whole is None
        else {"finding": whole.finding.value, "count": whole.count, "shift": whole.shift},
        "runs_not_compared": list(left_out),
        "runs_reconciled": list(settled),
        "runs_not_reconciled": [{"run": run, "why": why} for run, why in unsettled.items()],
        "applied": applied,
    }


def _pair_json(pair: Pair) -> dict[str, object]:
    return {
        "record": pair.record,
        "run": pair.run,
        "number": pair.number,
        "probability": pair.probability,
        "finding": pair.finding.value,
        "likely": pair.likely.cells[0],
        "unit": pair.likely.cells[1],
        "slip": pair.slip.value if pair.slip is not None else None,
        "erased": pair.erased_unsaid,
        "no_value": pair.no_value_unsaid,
    }


def _held_json(held: HeldBack) -> list[dict[str, object]]:
    kinds = (("not kept", held.readings), ("number", held.numbers), ("value", held.values))
    return [
        {"record": record, "what": what, "why": why}
        for what, found in kinds
        for record, why in sorted(found.items())
    ]


def _entry_json(entry: Alone | Undecided) -> dict[str, object]:
    value, unit = entry.shown.cells if entry.shown is not None else (None, None)
    return {"value": value, "unit": unit, "erased": entry.is_erased}


def _alone_json(alone: Alone) -> dict[str, object]:
    return {
        "record": alone.record,
        "run": alone.run,
        "number": alone.number,
        "finding": alone.finding.value,
        "probability": alone.probability,
        **(_entry_json(alone) | {"number_twice": alone.shares_number} if alone.entry is not None else {}),
    }


def _standard_json(alone: Alone) -> dict[str, object]:
    return {
        "run": alone.run,
        "number": alone.number,
        "recorded": alone.filed.cells[0] if alone.filed is not None else None,
        "recorded_unit": alone.filed.cells[1] if alone.filed is not None else None,
        "same": alone.is_standard,
        **_entry_json(alone),
    }


def _undecided_json(undecided: Undecided) -> dict[str, object]:
    return {
        "record": undecided.record,
        "run": undecided.run,
        "number": undecided.number,
        "options": [
            {
                "record": option.record,
                "run": option.run,
                "number": option.number,
                "finding": option.finding.value,
                "probability": option.probability,
                "likely": option.likely.cells[0] if option.likely is not None else None,
            }
            for option in undecided.options
        ],
        **(_entry_json(undecided) if undecided.entry is not None else {}),
    }
