"""Hold the record against the meter's memory list, and take over what is certain.

Nothing is rewritten: what is taken over becomes amendments, and the first form of every reading
stays visible beside it.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import takewhile
from pathlib import Path

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.voltage import current_of
from fieldtui.core.pairing.alignment import (
    CERTAIN,
    Alone,
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


def load_list(path: str, default: Unit) -> list[MemoryEntry]:
    """The entries of a memory list in a CSV file; values without a unit are in ``default``.

    Raises:
        BadInputError: it cannot be read, or with every bad line.
    """
    data = Disk().read_file(Path(path).expanduser(), MAX_BYTES)
    return parse_memory_list(data, path, default)


def of_run(memory: Sequence[MemoryEntry], run: int) -> list[MemoryEntry]:
    """The list with every entry that names no run taken for one of ``run``."""
    return [replace(entry, run=run) if entry.run is None else entry for entry in memory]


@dataclass(frozen=True, slots=True)
class Covered:
    """A memory list with its runs named: ``runs`` may be judged by it, ``left_out`` may not.

    ``runs`` is None where the session has no readings in any memory run.
    """

    memory: list[MemoryEntry]
    runs: frozenset[int] | None
    left_out: tuple[int, ...] = ()


def cover(survey: Survey, memory: Sequence[MemoryEntry], named: int | None = None) -> Covered:
    """Which memory runs of the session the list speaks of; of the others it says nothing.

    ``named`` is the run that somebody says the list is of; only that one is then compared.

    Raises:
        WrongUseError: the session has no such run, or nobody can tell which of several is meant.
    """
    known = {run.run for run in survey.runs}
    filled = sorted(known & {record.run for record in survey.records.values()})
    if named is not None and named not in known:
        raise WrongUseError(
            f"This session has no memory run {named}",
            remedy=f"its memory runs are: {', '.join(map(str, sorted(known))) or 'none'}",
        )
    if not filled:
        return Covered(list(memory), None)
    labels = {entry.run for entry in memory}
    strange = labels - known  # no run at all, or a label of the list's own
    if named is None and len(filled) > 1 and (None in strange or labels == strange != set()):
        raise WrongUseError(
            "The list does not say which memory run it is of, and the session has "
            f"several: {', '.join(map(str, filled))}",
            remedy="name the run (--run), or fill in the column run of the list",
        )
    only = named if named is not None else filled[0] if len(filled) == 1 else None
    entries = list(memory)
    if only is not None:
        meant = strange if len(strange) == 1 and not labels & known else {None}
        entries = [replace(entry, run=only) if entry.run in meant else entry for entry in memory]
    if named is not None:
        entries = [entry for entry in entries if entry.run == named]
    listed = {entry.run for entry in entries}
    runs = frozenset([named] if named is not None else [run for run in filled if run in listed])
    return Covered(entries, runs, tuple(run for run in filled if run not in runs))


def reconcile(survey: Survey, memory: Sequence[MemoryEntry], runs: Container[int] | None = None) -> Pairing:
    """Pair the readings on record, void ones too, with the memory list.

    ``runs`` are the memory runs that the list covers, all of them where it is left out; readings of
    other runs are not asked for.
    """
    return pair_lists(entries_of(survey, runs), memory)


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
    accuracy = meter_of(survey.meters, record).accuracy
    return accuracy.resolution.ohms if accuracy is not None and accuracy.resolution is not None else None


def early_end(survey: Survey, pairing: Pairing) -> str:
    """That two readings or more at the end of a memory run are not in its list, in words; else empty.

    So looks a list that was keyed or copied in part. By it those readings were not kept, and the next one
    would get one of their numbers.
    """
    if is_strange(pairing):
        return ""
    alone = {each.record for each in pairing.record_only}
    kept = [survey.records[number] for number in sorted(survey.records)]
    kept = [record for record in kept if record.number is not None and not record.is_erased]
    for run in sorted({record.run for record in kept if record.run is not None}):
        filed = [record for record in kept if record.run == run]
        missing = list(takewhile(lambda each: each.record in alone, reversed(filed)))
        if 1 < len(missing) < len(filed):
            first, last = missing[-1].record, missing[0].record
            lacking = f"records {first} to {last}, the last of memory run {run}"
            return f"the list ends before {lacking}: is it whole?"
    return ""


def corrections(survey: Survey, pairing: Pairing) -> list[Correction]:
    """What taking over the certain findings would change."""
    if is_strange(pairing):
        return []
    covered = {pair.run for pair in pairing.pairs} | {alone.run for alone in pairing.memory_only}
    found = [
        each for pair in pairing.pairs if pair.probability >= CERTAIN for each in corrections_of(survey, pair)
    ]
    found += [
        Correction(alone.record, "not kept")
        for alone in pairing.record_only
        if alone.record is not None
        and alone.probability >= CERTAIN
        and survey.records[alone.record].number is not None
        # a list that names its runs says nothing of the others
        and (None in covered or survey.records[alone.record].run in covered)
    ]
    return sorted(found, key=lambda each: each.record)


def take_over(
    desk: Desk, pairing: Pairing, memory: Sequence[MemoryEntry], list_name: str, reason: str = ""
) -> int:
    """Append the amendments that follow from what is certain; returns how many.

    ``reason`` is the crew's own, put before what the list says.

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
    for correction in wanted:
        _apply(desk, correction, reason)
    desk.follow_list_end(memory)
    for run in _runs(desk.survey, memory):
        desk.reconciled(run, list_name, count_findings(pairing))
    return len(wanted)


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
    return (
        f"{len(pairing.pairs)} paired, {different} of them keyed differently; "
        f"{len(pairing.memory_only)} in the memory only, {len(pairing.record_only)} on the record only, "
        f"{len(pairing.undecided)} undecided"
    )


def has_findings(pairing: Pairing) -> bool:
    """True where record and list are not simply the same."""
    return bool(
        pairing.memory_only
        or pairing.record_only
        or pairing.undecided
        or is_strange(pairing)
        or any(pair.finding is Finding.KEYED_DIFFERENTLY for pair in pairing.pairs)
    )


def is_strange(pairing: Pairing) -> bool:
    """True where the list as a whole is not this session's, or in another unit."""
    return pairing.mismatch_of_whole is not None and pairing.mismatch_of_whole.finding in _STRANGE


def format_findings(pairing: Pairing, left_out: Sequence[int] = (), early: str = "") -> Iterator[str]:
    """What was found, as lines for a person: what is not as it should be, then the count.

    ``left_out`` are the memory runs that were not compared; ``early`` is :func:`early_end`.
    """
    if early:
        yield f"NOTE: {early}"
    for run in left_out:
        yield f"NOTE: memory run {run} was not compared: the list is not of it"
    whole = pairing.mismatch_of_whole
    if whole is not None:
        yield f"NOTE: {whole.finding.value} ({whole.count} entries)"
    for pair in pairing.pairs:
        if pair.finding is Finding.KEYED_DIFFERENTLY:
            slip = f", {pair.slip.value}" if pair.slip is not None else ""
            found = f"the memory has {pair.likely} at {pair.number}{slip}"
            yield f"record {pair.record}: keyed differently; {found}"
    for alone in pairing.record_only:
        yield f"record {alone.record}: not in the memory"
    for alone in pairing.memory_only:
        yield f"memory number {alone.number}: not on the record"
    for each in pairing.undecided:
        name = f"record {each.record}" if each.record is not None else f"memory number {each.number}"
        options = "; ".join(_option_words(option) for option in each.options[:3])
        yield f"{name}: undecided ({options})"
    yield count_findings(pairing)


def _option_words(option: Option) -> str:
    chance = f"{option.probability:.0%}"
    if option.finding in (Finding.RECORD_ONLY, Finding.MEMORY_ONLY):
        return f"{chance} stands alone"
    return f"{chance} record {option.record} is number {option.number}"


def as_json(pairing: Pairing, applied: int, left_out: Sequence[int] = ()) -> dict[str, object]:
    """The findings as the ``reconcile`` command answers them; ``left_out`` are runs not compared."""
    whole = pairing.mismatch_of_whole
    return {
        "pairs": [_pair_json(pair) for pair in pairing.pairs],
        "memory_only": [_alone_json(alone) for alone in pairing.memory_only],
        "record_only": [_alone_json(alone) for alone in pairing.record_only],
        "undecided": [_undecided_json(each) for each in pairing.undecided],
        "mismatch": None
        if whole is None
        else {"finding": whole.finding.value, "count": whole.count, "shift": whole.shift},
        "runs_not_compared": list(left_out),
        "applied": applied,
    }


def _of_pair(record: Record, pair: Pair) -> Iterator[Correction]:
    is_other_run = pair.run is not None and record.run is not None and pair.run != record.run
    if pair.number is not None and (pair.number != record.number or is_other_run):
        yield Correction(record.record, "number", pair)
    # A list in ohm does not say which way the current went: a voltage is corrected by hand, with its sign.
    if pair.finding is Finding.KEYED_DIFFERENTLY and current_of(record.reading) is None:
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


def _runs(survey: Survey, memory: Sequence[MemoryEntry]) -> list[int]:
    """The runs that the list speaks of; all of them where it names none."""
    named = {entry.run for entry in memory if entry.run is not None}
    return [run.run for run in survey.runs if not named or run.run in named]


def _pair_json(pair: Pair) -> dict[str, object]:
    return {
        "record": pair.record,
        "run": pair.run,
        "number": pair.number,
        "probability": pair.probability,
        "finding": pair.finding.value,
        "likely": pair.likely.digits,
        "unit": pair.likely.unit.value,
        "slip": pair.slip.value if pair.slip is not None else None,
    }


def _alone_json(alone: Alone) -> dict[str, object]:
    return {
        "record": alone.record,
        "run": alone.run,
        "number": alone.number,
        "finding": alone.finding.value,
        "probability": alone.probability,
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
                "likely": option.likely.digits if option.likely is not None else None,
            }
            for option in undecided.options
        ],
    }
