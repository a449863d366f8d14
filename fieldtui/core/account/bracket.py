"""The meter's bracket: which readings a failed check puts in doubt, and when a check is due.

Readings between two good checks are bracketed. A failed check puts every reading back to the last
good one in doubt, and so are readings taken after it until a good one (common practice, no
source). A check that failed in the brief and was overridden is a failed one: the reason let the walk
begin, it made the meter no better. A doubt ends with a release for a reason, with a void, or with a
later take of the same point that is complete and of which no reading is in doubt itself. Half a take
replaces nothing.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass

from fieldtui.core.survey.meter_checks import doubted_runs
from fieldtui.core.survey.meters import MeterInUse, is_same_meter, meter_at
from fieldtui.core.survey.standing import Record, Result
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
    found: tuple[InDoubt, ...] | None = survey.worked_out.get("readings in doubt")
    if found is None:
        found = survey.worked_out["readings in doubt"] = _find_in_doubt(survey)
    return found


def _find_in_doubt(survey: Survey) -> tuple[InDoubt, ...]:
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
    sound: dict[str, int] = {}
    return tuple(
        InDoubt(number, record.point, whys[number])
        for number in sorted(whys)
        if (record := survey.records[number]).is_valid
        and number not in survey.released
        and number > _replaced_to(survey, record.point, whys, sound)
    )


def _replaced_to(survey: Survey, point: str, whys: Container[int], known: dict[str, int]) -> int:
    """The first record of the point's last take that is complete and that no failed check reaches; else 0."""
    if point not in known:
        takes = takes_of(survey, point)
        size = survey.points[point].repeats
        firsts = [
            taken[0].record
            for taken in takes
            if len(taken) >= size and all(record.record not in whys for record in taken)
        ]
        known[point] = max(firsts, default=0)
    return known[point]


def takes_of(survey: Survey, point: str) -> list[list[Record]]:
    """The readings of a point that hold, take by take, in the order in which the takes began."""
    takes: dict[int, list[Record]] = {}
    for number in survey.standings[point].records:
        record = survey.records[number]
        if record.is_valid:
            takes.setdefault(record.take, []).append(record)
    return list(takes.values())


def whole_takes(survey: Survey, point: str) -> list[list[Record]]:
    """Those of them that are complete."""
    size = survey.points[point].repeats
    return [taken for taken in takes_of(survey, point) if len(taken) >= size]


def short_takes(survey: Survey) -> Iterator[tuple[str, list[Record]]]:
    """Takes that lack a reading and so count for nothing, each with its point, in walking order.

    Of a point without any complete take only those before the one that is being taken.
    """
    for point in survey.order.ids:
        size, standing = survey.points[point].repeats, survey.standings[point]
        if size == 1 or len(standing.records) == 0:
            continue
        for taken in takes_of(survey, point):
            is_under_way = standing.as_left is None and taken[0].take == standing.take
            if len(taken) < size and not is_under_way:
                yield point, taken


def half_taken(survey: Survey) -> Iterator[tuple[str, list[Record]]]:
    """Those of them that came after the take which the point's verdict rests on, and that nobody awaits.

    What was read last says something else, or the same, but gives no verdict.
    """
    for point, taken in short_takes(survey):
        standing = survey.standings[point]
        left = standing.as_left
        if left is None or standing.asked_again or standing.kept > taken[-1].row:
            continue
        if taken[0].record > left.last.record:
            yield point, taken


def is_in_doubt(result: Result | None, doubts: Container[int]) -> bool:
    """Whether a result rests on a reading in doubt; ``doubts`` are the numbers of all such readings."""
    return result is not None and any(record.record in doubts for record in result.records)


def points_in_doubt(survey: Survey) -> frozenset[str]:
    """The points whose last verdict rests on a reading in doubt."""
    doubts = readings_in_doubt(survey)
    if not doubts:
        return frozenset()
    found: frozenset[str] | None = survey.worked_out.get("points in doubt")
    if found is None:
        found = survey.worked_out["points in doubt"] = _find_points(survey, doubts)
    return found


def _find_points(survey: Survey, doubts: Sequence[InDoubt]) -> frozenset[str]:
    numbers = {doubt.record for doubt in doubts}
    points = {doubt.point for doubt in doubts}
    return frozenset(point for point in points if is_in_doubt(survey.standings[point].as_left, numbers))


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
