"""What a number check that disagrees may mean; the crew says which of it was so."""

from __future__ import annotations

from fieldtui.core.drift.explanations import (
    Change,
    Explanation,
    Kind,
    NumberedReading,
    SlipRates,
    explain_mismatch,
)
from fieldtui.core.survey.memory import Differed
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
    if expected < 0:  # an empty memory that begins with 0
        return _nothing_filed(called)
    readings = [
        NumberedReading(
            record.record, record.number, record.reading, record.attempts_before, record.is_disturbed
        )
        for record in survey.records.values()
        if record.record >= survey.first_unchecked and record.run == run.run and record.number is not None
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
        rates=None if survey.instrument.spoiled_number_stays_used else _NEVER_SPOILED,
    )


def _nothing_filed(called: int) -> tuple[Explanation, ...]:
    """The two ways there are while no number is known: halves, for nothing tells them apart."""
    words = "readings were filed that the record does not know of"
    change = Change(0.5, None, called + 1, (), called + 1, words)
    misheard = Change(0.5, None, 0, (), 0, f"{called} was misheard: no reading is filed yet")
    return (
        Explanation(Kind.UNANNOUNCED, 0.5, (change,)),
        Explanation(Kind.MISHEARD, 0.5, (misheard,)),
    )
