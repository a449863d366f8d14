"""Hold the record against the meter's memory list, and take over what is certain.

Nothing is rewritten: what is taken over becomes amendments, and the first form of every reading
stays visible beside it.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import takewhile
from pathlib import Path

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.voltage import VoltageReading, current_of
from fieldtui.core.pairing.alignment import (
    CERTAIN,
    Finding,
    MemoryEntry,
    Option,
    Pair,
    Pairing,
    RecordEntry,
    Undecided,
    Whole,
    pair_lists,
)
from fieldtui.core.survey.meters import meter_of
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import WrongUseError
from fieldtui.files.csv_lines import MAX_BYTES
from fieldtui.files.disk import Disk
from fieldtui.files.memory_list import parse_memory_list

_STRANGE = (Whole.OTHER_SESSION, Whole.OTHER_UNIT)  # nothing of such a list is taken over


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that the list says otherwise: a value, a memory number, or none kept at all."""

    record: int
    what: str  # "value", "number" or "not kept"
    pair: Pair | None = None


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
    other runs are not asked for. A list without any voltage does not say that a voltage was not kept.
    """
    pairing = pair_lists(entries_of(survey, runs), memory)
    if any(isinstance(entry.reading, VoltageReading) for entry in memory):
        return pairing
    unlisted = [each for each in pairing.record_only if _is_voltage(survey, each.record)]
    return replace(
        pairing,
        record_only=tuple(each for each in pairing.record_only if each not in unlisted),
        not_compared=tuple(each.record for each in unlisted if each.record is not None),
    )


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


def missing_ends(survey: Survey, pairing: Pairing) -> dict[int, list[int]]:
    """By memory run the readings at its end that the list lacks, where it lacks two or more.

    So looks a list that was keyed or copied in part. By it those readings were not kept, and the next one
    would get one of their numbers. Readings that the crew has decided on have no number any more.
    """
    if is_strange(pairing):
        return {}
    certain = {each.record for each in pairing.record_only}
    likely = {each.record for each in pairing.undecided if _is_likely_alone(each)}
    found = {}
    for run, records in _by_run(survey, pairing).items():
        missing = list(takewhile(lambda each: each in certain or each in likely, reversed(records)))
        left = [each for each in reversed(missing) if survey.records[each].number is not None]
        if 1 < len(missing) < len(records) and certain.intersection(left):
            found[run] = left
    return found


def _is_likely_alone(each: Undecided) -> bool:
    return bool(each.options) and each.options[0].finding is Finding.RECORD_ONLY


def _by_run(survey: Survey, pairing: Pairing) -> dict[int, list[int]]:
    """The readings that were compared, by the memory run the record has for them, in the order taken."""
    compared = _unpaired(pairing) | {pair.record for pair in pairing.pairs}
    found: dict[int, list[int]] = {}
    for record in sorted(compared):
        run = survey.records[record].run
        if run is not None and not survey.records[record].is_erased:
            found.setdefault(run, []).append(record)
    return found


def _unpaired(pairing: Pairing) -> set[int]:
    alone = {each.record for each in pairing.record_only} | {each.record for each in pairing.undecided}
    return {record for record in alone if record is not None}


def early_end(survey: Survey, pairing: Pairing) -> str:
    """That readings at the end of a memory run are not in its list, in words; else empty."""
    ends = [
        f"record{'' if len(records) == 1 else 's'} {_span(records)}, the last of memory run {run}"
        for run, records in sorted(missing_ends(survey, pairing).items())
    ]
    return f"the list ends before {' and '.join(ends)}: is it whole?" if ends else ""


def _span(records: Sequence[int]) -> str:
    return str(records[0]) if len(records) == 1 else f"{records[0]} to {records[-1]}"


def settled_runs(survey: Survey, pairing: Pairing, decided: Collection[int] = ()) -> list[int]:
    """The memory runs that count as reconciled once this comparison is taken over.

    Those of which a reading was paired, but for those whose end the list lacks; and those of which the
    crew has decided on every reading (``decided``, record numbers) that still has a number.
    """
    if is_strange(pairing):
        return []
    known = {run.run for run in survey.runs}
    named = {pair.record: pair.run for pair in pairing.pairs}
    runs = {run if run in known else survey.records[record].run for record, run in named.items()}
    waiting = [survey.records[record] for record in _unpaired(pairing) - set(decided)]
    left = {record.run for record in waiting if record.number is not None}
    runs |= {survey.records[record].run for record in decided} - left
    ends = missing_ends(survey, pairing)
    return sorted(run for run in runs if run is not None and run in known and run not in ends)


def unsettled(survey: Survey, pairing: Pairing, decided: Collection[int] = ()) -> dict[int, str]:
    """The memory runs that were compared and do not count as reconciled, with the reason in words."""
    settled, ends = settled_runs(survey, pairing, decided), missing_ends(survey, pairing)
    found = {}
    for run in sorted(_by_run(survey, pairing)):
        if run in ends:
            found[run] = (
                f"the list ends before record {ends[run][0]}. A list copied in part looks the same: "
                "give the whole list, or decide on those readings one by one"
            )
        elif run not in settled:
            found[run] = "none of its readings was paired with the list"
    return found


def corrections(survey: Survey, pairing: Pairing) -> list[Correction]:
    """What taking over the certain findings would change.

    Of a run that the list ends before, or of which nothing was paired, it says of no reading that it
    was not kept: that is for the crew to say, one by one.
    """
    if is_strange(pairing):
        return []
    covered = {pair.run for pair in pairing.pairs} | {alone.run for alone in pairing.memory_only}
    found = [
        each for pair in pairing.pairs if pair.probability >= CERTAIN for each in corrections_of(survey, pair)
    ]
    paired = {survey.records[pair.record].run for pair in pairing.pairs} | {p.run for p in pairing.pairs}
    held_back = {record for records in missing_ends(survey, pairing).values() for record in records}
    found += [
        Correction(alone.record, "not kept")
        for alone in pairing.record_only
        if alone.record is not None
        and alone.probability >= CERTAIN
        and alone.record not in held_back
        and survey.records[alone.record].number is not None
        and survey.records[alone.record].run in paired
        # a list that names its runs says nothing of the others
        and (None in covered or survey.records[alone.record].run in covered)
    ]
    return sorted(found, key=lambda each: each.record)


def take_over(
    desk: Desk,
    pairing: Pairing,
    memory: Sequence[MemoryEntry],
    list_name: str,
    reason: str = "",
    decided: Collection[int] = (),
) -> int:
    """Append the amendments that follow from what is certain; returns how many.

    ``reason`` is the crew's own, put before what the list says; ``decided`` as in :func:`settled_runs`.

    Raises:
        WrongUseError: the list is not this session's, or in another unit.
        NotSavedError: the medium refused; what was appended before stays.
    """
    whole = pairing.mismatch_of_whole
    if whole is not None and is_strange(pairing):
        raise WrongUseError(
            f"Nothing was taken over: {whole.finding.value}",
            where=list_name,
            remedy="check that this is the list of this meter and this session",
        )
    wanted = corrections(desk.survey, pairing)
    settled = settled_runs(desk.survey, pairing, decided)
    for correction in wanted:
        _apply(desk, correction, reason)
    run = desk.survey.run
    if run is not None and run.run in settled and _says_its_end(desk.survey, pairing, run.run):
        desk.follow_list_end(memory)
    for number in settled:
        desk.reconciled(number, list_name, count_findings(pairing))
    return len(wanted)


def _says_its_end(survey: Survey, pairing: Pairing, run: int) -> bool:
    """Whether the last number of the list is the last one of the run: in order, and not before a voltage."""
    paired = [record.record for pair in pairing.pairs if (record := survey.records[pair.record]).run == run]
    voltages = [record for record in pairing.not_compared if survey.records[record].run == run]
    return not {run, None} & set(pairing.disordered) and max(voltages, default=0) <= max(paired, default=0)


def corrections_of(survey: Survey, pair: Pair) -> list[Correction]:
    """What taking over one pair would change, however certain it is."""
    return list(_of_pair(survey.records[pair.record], pair))


def changing_entries(pairing: Pairing) -> list[int]:
    """Places in the list of the entries that change a value on record, or may if the crew says so."""
    if is_strange(pairing):
        return []  # nothing of it can be taken over
    found: list[Pair | Option] = [*pairing.pairs]
    found += [option for each in pairing.undecided for option in each.options]
    places = {each.entry for each in found if each.finding is Finding.KEYED_DIFFERENTLY}
    return sorted(place for place in places if place is not None)


def take_over_one(desk: Desk, wanted: Sequence[Correction], reason: str) -> None:
    """Append the amendments of one finding that the crew has decided on."""
    for correction in wanted:
        _apply(desk, correction, reason)


def count_findings(pairing: Pairing) -> str:
    """The findings counted, as one line."""
    different = sum(pair.finding is Finding.KEYED_DIFFERENTLY for pair in pairing.pairs)
    not_compared = f", {len(pairing.not_compared)} not compared" if pairing.not_compared else ""
    return (
        f"{len(pairing.pairs)} paired, {different} of them keyed differently; "
        f"{len(pairing.memory_only)} in the memory only, {len(pairing.record_only)} on the record only, "
        f"{len(pairing.undecided)} undecided{not_compared}"
    )


def has_findings(pairing: Pairing) -> bool:
    """True where record and list are not simply the same, or nothing shows that they are."""
    return bool(
        pairing.memory_only
        or pairing.record_only
        or pairing.undecided
        or pairing.not_compared
        or not pairing.pairs
        or is_strange(pairing)
        or any(pair.finding is Finding.KEYED_DIFFERENTLY for pair in pairing.pairs)
    )


def is_strange(pairing: Pairing) -> bool:
    """True where the list as a whole is not this session's, or in another unit."""
    return pairing.mismatch_of_whole is not None and pairing.mismatch_of_whole.finding in _STRANGE


def _of_pair(record: Record, pair: Pair) -> Iterator[Correction]:
    is_other_run = pair.run is not None and record.run is not None and pair.run != record.run
    if pair.number is not None and (pair.number != record.number or is_other_run):
        yield Correction(record.record, "number", pair)
    # A list in ohm does not say which way the current went: a voltage is corrected by hand, with its sign.
    is_like = current_of(record.reading) == current_of(pair.likely)
    if pair.finding is Finding.KEYED_DIFFERENTLY and is_like:
        yield Correction(record.record, "value", pair)


def _apply(desk: Desk, correction: Correction, reason: str) -> None:
    pair = correction.pair
    why = f"{reason}; " if reason else ""
    if pair is None:
        desk.unfile(correction.record, f"{why}not in the meter's memory list")
    elif correction.what == "number" and pair.number is not None:
        desk.amend_number(correction.record, pair.run, pair.number, f"{why}number as in the memory list")
    else:
        slip = f": {pair.slip.value}" if pair.slip is not None else ""
        desk.amend_reading(correction.record, pair.likely, f"{why}value as in the memory list{slip}")
