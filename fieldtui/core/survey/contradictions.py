"""What was said at the time and what the record gives: a row in which they differ is noted.

Such a row keeps what it said; the survey goes by what the record gives.
"""

from __future__ import annotations

from collections.abc import Iterable

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.voltage import current_of
from fieldtui.core.plan.route import Point
from fieldtui.core.survey.brief import standard_finding
from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.standing import Record
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict


def hold_verdict(what: str, said: Verdict, gives: Verdict, draft: Draft) -> None:
    """The verdict said of a reading; ``what`` names the record."""
    if gives is not said:
        told = f"{what}: the verdict said is {said.value}, the limit gives {gives.value}"
        draft.find(told, "judge this point again by hand")


def hold_record(event: ev.ReadingTaken, draft: Draft) -> Point | None:
    """The point of a reading whose record number is not the next, None where it cannot be taken in."""
    draft.find(
        f"record {event.record} stands where {draft.next_record} is next", "records are counted 1, 2, 3"
    )
    point = draft.point(event.point)
    return None if event.record in draft.records else point


def hold_current(record: int, reading: Resistance, point: Point, draft: Draft) -> None:
    """A reading in volt where the point has another test current or none, or the other way round."""
    at = current_of(reading)
    if at != point.current_ma:
        currents = at, point.current_ma
        keyed, wanted = ("in ohm" if each is None else f"in volt at {each} mA" for each in currents)
        draft.find(
            f"record {record}: {reading} was keyed {keyed}, {point.id} is read {wanted}",
            "judge this point again by hand",
        )


def hold_moved(records: Iterable[Record], draft: Draft) -> None:
    """Readings, as they were before, that now stand at another point: it has to be read in their way."""
    for before in records:
        record = draft.records[before.record]
        if record.is_valid and record.point != before.point:
            hold_current(record.record, record.reading, draft.points[record.point], draft)


def hold_standard(event: ev.Briefed | ev.StandardRead, draft: Draft) -> bool:
    """The answer to a check of the meter on its standard; whether it says that the meter is good."""
    said_good = event.verdict is ev.Answer.GOOD
    standard = draft.instrument.check_standard
    if standard is None or event.reading is None:
        return said_good
    is_good = not standard_finding(standard, event.reading)
    if is_good is not said_good:
        gives = ev.Answer.GOOD if is_good else ev.Answer.BAD
        said = f"check standard {event.reading}: the verdict said is {event.verdict.value}"
        draft.find(
            f"{said}, its tolerance gives {gives.value}",
            "judge the readings since the last good check by hand",
        )
    return said_good


def hold_path(event: ev.PathPapered, draft: Draft) -> None:
    """The paper of a path that the route has."""
    if all(path.id != event.ref for path in draft.route.paths):
        draft.find(f"path {event.ref} is not on the route", "look for what the paper is about by hand")


def hold_number(event: ev.NumberChecked, draft: Draft) -> None:
    """A memory number that is said to agree."""
    run = draft.runs[-1] if draft.runs else None
    if event.verdict is ev.Agreement.AGREE and (run is None or event.number != run.next_number - 1):
        expected = "none" if run is None else str(run.next_number - 1)
        what = f"memory number {event.number} is said to agree, the record expects {expected}"
        draft.find(what, "hold the meter's memory list against the record")
