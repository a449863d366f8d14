"""The meter's bracket: which readings a failed check puts in doubt, and when a check is due.

Readings between two good checks are bracketed. A failed check puts every reading back to the last
good one in doubt, and so are readings taken after it until a good one (common practice, no
source). A doubt ends with a release for a reason, with a void, or with a later reading of the same
point that is not in doubt itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.survey.meter_checks import doubted_runs
from fieldtui.core.survey.meters import MeterInUse, is_same_meter, meter_at
from fieldtui.core.survey.survey import Survey

LAST_FAILED = "the last check of the meter failed"  # why a check is due


@dataclass(frozen=True, slots=True)
class InDoubt:
    """A reading in doubt, and why."""

    record: int
    point: str
    why: str


def readings_in_doubt(survey: Survey) -> tuple[InDoubt, ...]:
    """The readings that a failed check of the meter leaves in doubt, in the order taken."""
    if all(check.is_good for check in survey.checks):
        return ()
    whys: dict[int, str] = {}
    for place, meter in enumerate(survey.meters):  # each meter has its own bracket
        if any(is_same_meter(meter.instrument, each.instrument) for each in survey.meters[:place]):
            continue  # taken again: its readings were looked at with the earlier ones

        def is_its(row: int, meter: MeterInUse = meter) -> bool:
            return is_same_meter(meter.instrument, survey.meters[meter_at(survey.meters, row)].instrument)

        checks = [check for check in survey.checks if is_its(check.row)]
        for run in doubted_runs(checks, survey.next_record - 1):
            whys |= {
                number: run.why
                for number in range(run.first, run.last + 1)
                if number in survey.records and is_its(survey.records[number].row)
            }
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
    taken = survey.meters[-1].row
    last = survey.checks[-1] if survey.checks and survey.checks[-1].row >= taken else None
    if last is None and taken:
        return "another meter was taken"
    if last is not None and not last.is_good:
        return LAST_FAILED
    if survey.lead_changed > (last.row if last is not None else 0):
        return "lead or tips were changed"
    since = survey.next_record - 1 - (last.after if last is not None else 0)
    told = (survey.route.standard_every, survey.instrument.standard_every)
    every = min(filter(None, told), default=0)  # the stricter of the two
    return f"{since} readings since the last check" if every and since >= every else ""
