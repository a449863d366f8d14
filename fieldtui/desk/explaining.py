"""What a number check that disagrees may mean; the crew says which of it was so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fieldtui.core.drift.explanations import (
    Change,
    Explanation,
    NumberedReading,
    SlipRates,
    WayBack,
    explain_mismatch,
    explain_without_numbers,
)
from fieldtui.core.survey.corrections import first_moved
from fieldtui.core.survey.memory import Correction, Differed, MemoryRun
from fieldtui.core.survey.survey import Survey

_NEVER_SPOILED = SlipRates(spoiled=1e-12, spoiled_by_attempt=1e-12)  # of a meter that files values only


def explain_numbers(survey: Survey, called: int) -> tuple[Explanation, ...]:
    """Why the meter's last number is ``called`` and not what the record expects, likeliest first."""
    run = survey.run
    if run is None:
        return ()
    expected = run.next_number - 1
    if called == expected:
        return ()
    back = [*_ways_back(survey, run, called)]
    if expected < 0:  # an empty memory that begins with 0
        return explain_without_numbers(called, ways_back=back)
    unchecked = _first_unchecked(survey)
    readings = [
        NumberedReading(
            record.record, record.number, record.reading, record.attempts_before, record.is_disturbed
        )
        for record in survey.records.values()
        if record.record >= unchecked and record.run == run.run and record.number is not None
    ]
    numbers = [reading.number for reading in readings]
    if numbers != sorted(set(numbers)) or (numbers and numbers[-1] > expected):
        readings = []  # numbers written down out of order explain nothing one by one
    differed = survey.differed
    by = called - expected
    if differed is None or differed.by != by:  # not read out yet: this is the first time
        differed = Differed(by, survey.next_record, survey.attempts_since)
    return explain_mismatch(
        readings,
        expected,
        called,
        first_number=survey.instrument.first_number,
        times_called=max(1, survey.called[1]),
        attempts_since=differed.attempts_since,
        since_it_differed=sum(reading.record >= differed.next_record for reading in readings),
        ways_back=back,
        rates=None if survey.instrument.spoiled_number_stays_used else _NEVER_SPOILED,
    )


def _first_unchecked(survey: Survey) -> int:
    """The first record since the numbers agreed: an answer that was taken back showed nothing."""
    match survey.corrections:
        case (*_, wrong, back) if back.goes_back_on(wrong) and not back.is_agreed:
            return wrong.unchecked
    return survey.first_unchecked


def _ways_back(survey: Survey, run: MemoryRun, called: int) -> Iterator[WayBack]:
    """The last corrections, as many as it takes, without which ``called`` would be expected.

    Where none are such, the last answer alone: with another slip besides it may have been wrong all the same.
    """
    expected = run.next_number - 1
    if (run.last_number is not None and called > run.last_number) or called < run.first_number - 1:
        return
    undone: list[Correction] = []
    for correction in reversed(survey.corrections):
        undone.append(correction)
        if expected - sum(each.by for each in undone) == called:
            yield WayBack(
                _change_back(survey, undone, called),
                answers=len(undone),
                is_run=not any(each.is_answer for each in undone) and correction.run != correction.was_run,
                is_agreed=any(each.is_agreed for each in undone),
            )
            return
        if correction.run != correction.was_run and not correction.is_answer:
            break  # what was before the crew began a run is that one's
    last = survey.corrections[-1] if survey.corrections else None
    is_back = len(survey.corrections) > 1 and last is not None and last.goes_back_on(survey.corrections[-2])
    if last is not None and last.is_answer and not last.is_agreed and not last.is_part and not is_back:
        change = _change_back(survey, [last], expected - last.by)
        effect = f"{change.effect}; {called} differs still and is asked about again"
        yield WayBack(replace(change, effect=effect), is_all=False)


def _change_back(survey: Survey, undone: Sequence[Correction], last_number: int) -> Change:
    """Going back on corrections, after which the meter's last number should be ``last_number``."""
    first = min(
        (at for each in undone if (at := first_moved(survey.records, each)) is not None), default=None
    )
    by, goes_on = -sum(each.by for each in undone), undone[-1].was_run
    if goes_on == undone[0].run:
        words = f"the numbers were moved by {-by:+d}, which was wrong"
        moves = "no number moves" if first is None else f"numbers from record {first} on move by {by:+d}"
    else:
        words = f"the meter still holds the memory of run {goes_on}, which goes on"
        moves = f"run {goes_on} goes on"
        if first is not None:
            moves = f"{moves} from record {first}, which gets {(survey.records[first].number or 0) + by}"
    had = [part for each in undone for part in each.had]
    regained = [f"record {record} has number {number} again" for record, number in had if number is not None]
    regained += [f"record {record} has no number again" for record, number in had if number is None]
    effect = "; ".join([*regained, moves, f"next number {last_number + 1}"])
    return Change(0.0, first, by, (), last_number + 1, words, takes_back=len(undone), effect=effect)
