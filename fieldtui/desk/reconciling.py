"""Hold the record against the meter's memory list: what is compared, and what was found, counted."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.voltage import VoltageReading
from fieldtui.core.pairing.alignment import (
    Alone,
    Finding,
    MemoryEntry,
    Option,
    Pair,
    Pairing,
    RecordEntry,
    Undecided,
    pair_lists,
)
from fieldtui.core.survey.meters import meter_of
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.errors import WrongUseError
from fieldtui.files.csv_lines import MAX_BYTES
from fieldtui.files.disk import Disk
from fieldtui.files.memory_list import parse_memory_list

Line = tuple[int | None, int | None]  # a record, or a place in the list
_TELLING = 3  # entries that read like another run before that is said; fewer are chance


def load_list(path: str, default: Unit, currents: Sequence[Decimal] = ()) -> list[MemoryEntry]:
    """The entries of a memory list in a CSV file; values without a unit are in ``default``.

    ``currents`` are those at which the session reads voltages, see :func:`currents_of`.

    Raises:
        BadInputError: it cannot be read, or with every bad line.
    """
    data = Disk().read_file(Path(path).expanduser(), MAX_BYTES)
    return parse_memory_list(data, path, default, currents)


def currents_of(survey: Survey) -> list[Decimal]:
    """The test currents, mA, at which voltages are read in this session."""
    return sorted({each.current_ma for each in survey.points.values() if each.current_ma is not None})


def of_run(memory: Sequence[MemoryEntry], run: int) -> list[MemoryEntry]:
    """The list with every entry that names no run taken for one of ``run``."""
    return [replace(entry, run=run) if entry.run is None else entry for entry in memory]


@dataclass(frozen=True, slots=True)
class Covered:
    """A memory list with its runs named: ``runs`` may be judged by it, ``left_out`` may not.

    ``runs`` is None where the session has no readings in any memory run. ``label`` is the run that the
    list says, where this session has no such run and the list is taken to be of ``runs``.
    """

    memory: list[MemoryEntry]
    runs: frozenset[int] | None
    left_out: tuple[int, ...] = ()
    label: int | None = None


def cover(survey: Survey, memory: Sequence[MemoryEntry], named: int | None = None) -> Covered:
    """Which memory runs of the session the list speaks of; of the others it says nothing.

    ``named`` is the run that somebody says the list is of; only that one is then compared.

    Raises:
        WrongUseError: the session has no such run, the list says another, or nobody can tell which of
            several is meant.
    """
    known = {run.run for run in survey.runs}
    filled = sorted(known & {record.run for record in survey.records.values()})
    labels = {entry.run for entry in memory if entry.run is not None}
    is_bare = any(entry.run is None for entry in memory)
    if named is not None:
        _want_run(named, known, set() if is_bare else labels)
    if not filled:
        return Covered(list(memory) if named is None else of_run(memory, named), None)
    if named is None and is_bare and len(filled) > 1:
        raise WrongUseError(
            "The list does not say which memory run it is of, and the session has "
            f"several: {_numbers(filled)}",
            remedy="name the run (--run), or fill in the column run of the list",
        )
    only = named if named is not None else filled[0] if len(filled) == 1 else None
    is_strange = bool(labels) and not is_bare and not labels & known  # labels of the list's own
    if is_strange and (only is None or len(labels) > 1):
        raise WrongUseError(
            f"The list says {_runs_words(labels)}; this session has {_runs_words(known)}",
            remedy="name the run it is of (--run), or put its column run right"
            if len(labels) == 1
            else "put its column run right",
        )
    meant = labels if is_strange else {None}
    entries = list(memory)
    if only is not None:
        entries = [replace(entry, run=only) if entry.run in meant else entry for entry in memory]
    if named is not None:
        entries = [entry for entry in entries if entry.run == named]
    listed = {entry.run for entry in entries}
    runs = frozenset([named] if named is not None else [run for run in filled if run in listed])
    label = next(iter(labels)) if is_strange else None
    return Covered(entries, runs, tuple(run for run in filled if run not in runs), label)


def _want_run(named: int, known: Collection[int], labels: Collection[int]) -> None:
    """The session has the run that was named, and the list, where it says its runs, says no other."""
    if named not in known:
        raise WrongUseError(
            f"This session has no memory run {named}",
            remedy=f"its memory runs are: {_numbers(known) or 'none'}",
        )
    others = sorted(set(labels) & set(known))
    if others and named not in labels:
        raise WrongUseError(
            f"The list says {_runs_words(labels)}, not run {named}; nothing was compared",
            remedy=f"compare it with run {others[0]}, or put its column run right",
        )


def _numbers(numbers: Collection[int]) -> str:
    return ", ".join(map(str, sorted(numbers)))


def _runs_words(runs: Collection[int]) -> str:
    return f"run{'' if len(runs) == 1 else 's'} {_numbers(runs)}"


def reconcile(survey: Survey, memory: Sequence[MemoryEntry], runs: Container[int] | None = None) -> Pairing:
    """Pair the readings on record, void ones too, with the memory list.

    ``runs`` are the memory runs that the list covers, all of them where it is left out; readings of
    other runs are not asked for. A list without any voltage does not say that a voltage was not kept. An
    entry that no reading is may be the check standard, see :attr:`Alone.filed`.
    """
    pairing = pair_lists(entries_of(survey, runs), memory)
    alone = tuple(_with_standard(survey, each) for each in pairing.memory_only)
    pairing = replace(pairing, memory_only=alone)
    if any(isinstance(entry.reading, VoltageReading) for entry in memory):
        return pairing
    unlisted = [each for each in pairing.record_only if _is_voltage(survey, each.record)]
    return replace(
        pairing,
        record_only=tuple(each for each in pairing.record_only if each not in unlisted),
        not_compared=tuple(each.record for each in unlisted if each.record is not None),
    )


def _with_standard(survey: Survey, alone: Alone) -> Alone:
    """An entry that no reading is, with the check standard where the record has that under its number."""
    only = survey.runs[0].run if len(survey.runs) == 1 else None
    run = only if alone.run is None else alone.run
    if run is None or alone.number is None or alone.shares_number:
        return alone
    return replace(alone, filed=survey.filed_apart.get((run, alone.number)))


def on_no_record(pairing: Pairing) -> list[Alone]:
    """The entries that the record knows nothing of."""
    return [each for each in pairing.memory_only if each.filed is None]


def standards_in(pairing: Pairing) -> list[Alone]:
    """The entries under numbers that the record gave to the check standard, as it reads there or not."""
    return [each for each in pairing.memory_only if each.filed is not None]


def other_runs_in(
    survey: Survey, pairing: Pairing, covered: Covered
) -> list[tuple[list[MemoryEntry], int, list[int]]]:
    """Entries on no record that read like a memory run which the list is not said to be of.

    So looks a memory that was not cleared when the next run began. With each, that run and its records.
    """
    alone = [covered.memory[each.entry] for each in pairing.memory_only if each.entry is not None]
    rest = [replace(entry, run=None) for entry in alone if entry.reading is not None]
    filled = {record.run for record in survey.records.values() if record.run is not None}
    found = []
    for run in sorted(filled - (covered.runs or frozenset())):
        pairs = pair_lists(entries_of(survey, {run}), rest).pairs if len(rest) >= _TELLING else ()
        same = [pair for pair in pairs if pair.finding is Finding.SAME]
        if len(same) >= _TELLING and 2 * len(same) > len(rest):
            found.append(([rest[pair.entry] for pair in same], run, [pair.record for pair in same]))
    return found


def _is_voltage(survey: Survey, record: int | None) -> bool:
    return record is not None and isinstance(survey.records[record].reading, VoltageReading)


def entries_of(survey: Survey, runs: Container[int] | None = None) -> list[RecordEntry]:
    """The readings on record as they are paired; those of ``runs`` alone where given."""
    return [
        RecordEntry(
            record.record,
            record.reading,
            record.number,
            record.run,
            filed=record.number is not None and survey.called_out.get(record.record) == record.number,
            void=not record.is_valid,
            erased=record.is_erased,
            resolution=_display_step(survey, record),
        )
        for record in (survey.records[number] for number in sorted(survey.records))
        if runs is None or record.run in runs
    ]


def _display_step(survey: Survey, record: Record) -> Decimal | None:
    """One step of the display of the meter that a reading was taken with, ohm; None where not known."""
    if isinstance(record.reading, VoltageReading):
        return None  # it showed a voltage
    accuracy = meter_of(survey.meters, record).accuracy
    return accuracy.resolution.ohms if accuracy is not None and accuracy.resolution is not None else None


def changing_entries(pairing: Pairing) -> list[int]:
    """Places in the list of the entries that change a value on record, or may if the crew says so."""
    if pairing.is_strange:
        return []  # nothing of it can be taken over
    found: list[Pair | Option] = [*pairing.pairs]
    found += [option for each in pairing.undecided for option in each.options]
    places = {each.entry for each in found if each.finding is Finding.KEYED_DIFFERENTLY}
    return sorted(place for place in places if place is not None)


def line_of(each: Undecided) -> Line:
    """What names an undecided line: its record, or its place in the list."""
    return (each.record, None) if each.record is not None else (None, each.entry)


def still_undecided(pairing: Pairing, decided: Collection[Line] = ()) -> list[Undecided]:
    """The undecided lines that the crew has not decided on."""
    return [each for each in pairing.undecided if line_of(each) not in decided]


def count_findings(pairing: Pairing, decided: Collection[Line] = ()) -> str:
    """The findings counted, as one line; ``decided`` are undecided lines that the crew has decided on."""
    left = len(still_undecided(pairing, decided))
    done = len(pairing.undecided) - left
    by_crew = f", {done} decided one by one" if done else ""
    different = sum(pair.finding is Finding.KEYED_DIFFERENTLY for pair in pairing.pairs)
    not_compared = f", {len(pairing.not_compared)} not compared" if pairing.not_compared else ""
    erased, empty = len(erased_unsaid(pairing, decided)), len(no_value_unsaid(pairing, decided))
    stand = f", {erased} erased on the meter and standing on record" if erased else ""
    stand += f", {empty} without a value and standing" if empty else ""
    stand += f", {standards} of the check standard" if (standards := len(standards_in(pairing))) else ""
    return (
        f"{len(pairing.pairs)} paired, {different} of them keyed differently; "
        f"{len(on_no_record(pairing))} in the memory only, {len(pairing.record_only)} on the record only, "
        f"{left} undecided{by_crew}{not_compared}{stand}"
    )


def erased_unsaid(pairing: Pairing, decided: Collection[Line] = ()) -> list[int]:
    """The records that stand and whose entry the meter shows as erased."""
    return [pair.record for pair in _pairs_with(pairing, decided) if pair.erased_unsaid]


def no_value_unsaid(pairing: Pairing, decided: Collection[Line] = ()) -> list[int]:
    """The records that stand and whose entry shows no value."""
    return [pair.record for pair in _pairs_with(pairing, decided) if pair.no_value_unsaid]


def _pairs_with(pairing: Pairing, decided: Collection[Line]) -> Iterator[Pair]:
    """The pairs, and those that the crew has ``decided`` on: the reading has the number of its entry."""
    yield from pairing.pairs
    for each in pairing.undecided:
        for pair in (option.pair for option in each.options if each.number is not None and each.record):
            if (
                pair is not None
                and pair.number in (None, each.number)
                and (pair.record, None) in decided
                and (None, pair.entry) in decided
            ):
                yield pair


def run_of_pair(survey: Survey, pair: Pair) -> int | None:
    """The memory run that a pair is of: that of its entry, where the session has such a one."""
    is_known = pair.run in {run.run for run in survey.runs}
    return pair.run if is_known else survey.records[pair.record].run


def findings_of_run(survey: Survey, pairing: Pairing, run: int) -> Pairing:
    """What was found of one memory run alone."""
    return replace(
        pairing,
        pairs=tuple(pair for pair in pairing.pairs if run_of_pair(survey, pair) in (None, run)),
        memory_only=tuple(each for each in pairing.memory_only if each.run in (None, run)),
        record_only=tuple(each for each in pairing.record_only if each.run in (None, run)),
        undecided=tuple(each for each in pairing.undecided if each.run in (None, run)),
        not_compared=tuple(each for each in pairing.not_compared if survey.records[each].run == run),
    )


def has_findings(pairing: Pairing) -> bool:
    """True where record and list are not simply the same, or nothing shows that they are."""
    return bool(
        any(not each.is_standard for each in pairing.memory_only)
        or pairing.record_only
        or pairing.undecided
        or pairing.not_compared
        or not pairing.pairs
        or pairing.is_strange
        or erased_unsaid(pairing)
        or no_value_unsaid(pairing)
        or any(pair.finding is Finding.KEYED_DIFFERENTLY for pair in pairing.pairs)
    )
