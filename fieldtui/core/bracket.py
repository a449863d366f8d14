"""The meter's bracket: which readings a failed check puts in doubt, and when a check is due.

Readings between two good checks are bracketed. A failed check puts every reading back to the last
good one in doubt, and so are readings taken after it until a good one (common practice, no
source). A doubt ends with a release for a reason, with a void, or with a later reading of the same
point that is not in doubt itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.meter_checks import doubted_runs
from fieldtui.core.survey import Survey


@dataclass(frozen=True, slots=True)
class InDoubt:
    """A reading in doubt, and why."""

    record: int
    point: str
    why: str


def readings_in_doubt(survey: Survey) -> tuple[InDoubt, ...]:
    """The readings that a failed check of the meter leaves in doubt, in the order taken."""
    whys: dict[int, str] = {}
    for run in doubted_runs(survey.checks, survey.next_record - 1):
        whys |= {number: run.why for number in range(run.first, run.last + 1) if number in survey.records}
    sound: dict[str, int] = {}  # by point, the last valid reading that no failed check reaches
    for number, record in survey.records.items():
        if record.is_valid and number not in whys:
            sound[record.point] = max(number, sound.get(record.point, 0))
    return tuple(
        InDoubt(number, record.point, whys[number])
        for number in sorted(whys)
        if (record := survey.records[number]).is_valid
        and number not in survey.released
        and number > sound.get(record.point, 0)
    )


def standard_due(survey: Survey) -> str:
    """Why the check standard is to be read now, in words; empty where it need not be."""
    if survey.instrument.check_standard is None:
        return ""
    last = survey.checks[-1] if survey.checks else None
    if last is not None and not last.is_good:
        return "the last check of the meter failed"
    if survey.lead_changed > (last.row if last is not None else 0):
        return "lead or tips were changed"
    since = survey.next_record - 1 - (last.after if last is not None else 0)
    every = survey.route.standard_every
    return f"{since} readings since the last check" if every and since >= every else ""
