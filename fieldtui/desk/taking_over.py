"""Take over what a comparison with the meter's memory list found certain; which runs that settles.

Nothing is rewritten: what is taken over becomes amendments, and the first form of every reading
stays visible beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass

from fieldtui.core.measurement.voltage import current_of
from fieldtui.core.pairing.alignment import CERTAIN, Finding, MemoryEntry, Pair, Pairing
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.trail import events as ev
from fieldtui.desk.held_back import compared_by_run, held_back, undecided_on, unpaired
from fieldtui.desk.reconcile_words import left_undecided, words_on_record
from fieldtui.desk.reconciling import Line, findings_of_run, run_of_pair
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import BadInputError, NotSavedError, WrongUseError

_NAMED = 10  # amendments that are named one by one


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that the list says otherwise: a value, a memory number, or none kept at all."""

    record: int
    what: str  # "value", "number" or "not kept"
    pair: Pair | None = None


def settled_runs(survey: Survey, pairing: Pairing, decided: Collection[int] = ()) -> list[int]:
    """The memory runs that count as reconciled once this comparison is taken over.

    Those of which a reading was paired, but for those of which something is held back; and those of which
    the crew has decided on every reading (``decided``, record numbers) that still has a number.
    """
    if pairing.is_strange:
        return []
    known = {run.run for run in survey.runs}
    runs = {run_of_pair(survey, pair) for pair in pairing.pairs}
    waiting = [survey.records[record] for record in unpaired(pairing) - set(decided)]
    left = {record.run for record in waiting if record.number is not None}
    runs |= {survey.records[record].run for record in decided} - left
    held = held_back(survey, pairing)
    left_open = undecided_on(survey, held, decided)
    return sorted(run for run in runs if run is not None and run in known and run not in left_open)


def unsettled(survey: Survey, pairing: Pairing, decided: Collection[int] = ()) -> dict[int, str]:
    """The memory runs that were compared and do not count as reconciled, with the reason in words."""
    settled, held = settled_runs(survey, pairing, decided), held_back(survey, pairing)
    left = undecided_on(survey, held, decided)
    found = {}
    for run in sorted(compared_by_run(survey, pairing)):
        if at_end := sorted(set(held.ends.get(run, ())).intersection(left.get(run, ()))):
            found[run] = (
                f"the list ends before record {at_end[0]}. A list copied in part looks the same: "
                "give the whole list, or decide on those readings one by one"
            )
        elif run in left:
            records = ", ".join(map(str, left[run]))
            found[run] = (
                f"what the list says of record{'s' if len(left[run]) > 1 else ''} {records} wants a look at "
                "the meter: give the whole list, or decide one by one"
            )
        elif run not in settled:
            found[run] = "none of its readings was paired with the list"
    return found


def corrections(survey: Survey, pairing: Pairing) -> list[Correction]:
    """What taking over the certain findings would change.

    Of a run of which nothing was paired it says of no reading that it was not kept, and of what is held back
    (:func:`held_back`) nothing at all: that is for the crew to say, one by one.
    """
    if pairing.is_strange:
        return []
    held = held_back(survey, pairing)
    covered = {pair.run for pair in pairing.pairs} | {alone.run for alone in pairing.memory_only}
    sure = [pair for pair in pairing.pairs if pair.probability >= CERTAIN]
    kept = {"value": held.values, "number": held.numbers}
    found = [
        each for pair in sure for each in corrections_of(survey, pair) if each.record not in kept[each.what]
    ]
    paired = {survey.records[pair.record].run for pair in pairing.pairs} | {p.run for p in pairing.pairs}
    found += [
        Correction(alone.record, "not kept")
        for alone in pairing.record_only
        if alone.record is not None
        and alone.probability >= CERTAIN
        and alone.record not in held.alone
        and survey.records[alone.record].number is not None
        and survey.records[alone.record].run in paired
        # a list that names its runs says nothing of the others
        and (None in covered or survey.records[alone.record].run in covered)
    ]
    return sorted(found, key=lambda each: each.record)


def has_to_write(survey: Survey, pairing: Pairing, list_name: str) -> bool:
    """Whether taking over what is certain would write anything at all.

    Raises:
        WrongUseError: the list is not this session's, or in another unit.
    """
    whole = pairing.mismatch_of_whole
    if whole is not None and pairing.is_strange:
        raise WrongUseError(
            f"Nothing was taken over: {whole.finding.value}",
            where=list_name,
            remedy="check that this is the list of this meter and this session",
        )
    return bool(corrections(survey, pairing) or settled_runs(survey, pairing))


def take_over(
    desk: Desk,
    pairing: Pairing,
    memory: Sequence[MemoryEntry],
    list_name: str,
    reason: str = "",
    decided: Collection[int] = (),
    done: list[Correction] | None = None,
    lines: Collection[Line] = (),
) -> int:
    """Append the amendments that follow from what is certain; returns how many.

    ``reason`` is the crew's own, put before what the list says; ``decided`` as in :func:`settled_runs`,
    ``lines`` are the undecided lines that the crew has decided on.
    All of it is tried before the first is written. ``done`` is given each as it is on the disk.

    Raises:
        WrongUseError: the list is not this session's, or in another unit, or something that follows from it
            cannot be recorded. Nothing was written.
        BadInputError: something that follows from it cannot be put on record. Nothing was written.
        NotSavedError: the medium refused; what was appended before stays, and is told.
    """
    has_to_write(desk.survey, pairing, list_name)
    wanted = corrections(desk.survey, pairing)
    settled = settled_runs(desk.survey, pairing, decided)
    run = desk.survey.run
    is_ended = run is not None and run.run in settled and _says_its_end(desk.survey, pairing, run.run)
    counts = {}
    for each in settled:
        found = findings_of_run(desk.survey, pairing, each)
        counts[each] = words_on_record(found, lines, left_undecided(desk.survey, found, memory, lines))

    def finish(to: Desk) -> None:
        if is_ended:
            to.follow_list_end(memory, _last_seen(to.survey, pairing))
        for number in settled:
            to.reconciled(number, list_name, counts[number], reason)

    _append(desk, wanted, reason, [] if done is None else done, finish)
    return len(wanted)


def _says_its_end(survey: Survey, pairing: Pairing, run: int) -> bool:
    """Whether the last number of the list is the last one of the run: in order, and not before a voltage."""
    paired = [record.record for pair in pairing.pairs if (record := survey.records[pair.record]).run == run]
    voltages = [record for record in pairing.not_compared if survey.records[record].run == run]
    return not {run, None} & set(pairing.disordered) and max(voltages, default=0) <= max(paired, default=0)


def _last_seen(survey: Survey, pairing: Pairing) -> int | None:
    """The highest number of the current run that a reading has kept which the list lacks: the crew saw it.

    Of undecided ones nobody saw any: the run goes on after the list, and a number check is due.
    """
    run = survey.run
    alone = [survey.records[each.record] for each in pairing.record_only if each.record is not None]
    numbers = [each.number for each in alone if run is not None and each.run == run.run]
    return max((number for number in numbers if number is not None), default=None)


def corrections_of(survey: Survey, pair: Pair) -> list[Correction]:
    """What taking over one pair would change, however certain it is."""
    return list(_of_pair(survey.records[pair.record], pair))


def take_over_one(desk: Desk, wanted: Sequence[Correction], reason: str) -> None:
    """Append the amendments of one finding that the crew has decided on.

    Raises:
        WrongUseError, BadInputError, NotSavedError: as :func:`take_over`.
    """
    _append(desk, wanted, reason, [], lambda _: None)


def leave_as_it_is(desk: Desk, record: int, list_name: str) -> None:
    """Write down that the meter has the entry of a reading that its list lacks: it keeps its number."""
    found = desk.survey.records[record]
    seen = f"record {record} keeps memory number {found.number}: seen on the meter, and not in {list_name}"
    desk.append(ev.Noted(**desk.stamp(), point=found.point, note=desk.wanted_text(seen, "a note")))


def _append(
    desk: Desk,
    wanted: Sequence[Correction],
    reason: str,
    done: list[Correction],
    finish: Callable[[Desk], None],
) -> None:
    """Write amendments and what comes after them, once all of it was tried on a desk that writes nothing."""
    tried: list[Correction] = []

    def write(to: Desk, so_far: list[Correction]) -> None:
        for correction in wanted:
            _apply(to, correction, reason)
            so_far.append(correction)
        finish(to)

    try:
        desk.rehearse(lambda twin: write(twin, tried))
    except (BadInputError, WrongUseError) as error:
        at = f"record {wanted[len(tried)].record}: " if len(tried) < len(wanted) else ""
        what = f"Nothing was taken over; {at}{error.what}"
        raise type(error)(what, where=error.where, remedy=error.remedy) from error
    try:
        write(desk, done)
    except NotSavedError as error:
        if not done:
            raise
        what = f"{error.what.rstrip('.')}; {_so_far(done, len(wanted))}"
        raise type(error)(what, where=error.where, remedy=error.remedy) from error


def _so_far(done: Sequence[Correction], count: int) -> str:
    """What stands on the disk of a taking over that broke off."""
    which = ", ".join(f"record {each.record} ({each.what})" for each in done[:_NAMED])
    more = f" and {len(done) - _NAMED} more" if len(done) > _NAMED else ""
    return f"{len(done)} of {counted(count, 'amendment')} appended before it: {which}{more}"


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
