"""Words on a record and on a cell of the trail, the same on the review screen and in every report."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from fieldtui.core.account.basis import basis_of, is_met, judged_of
from fieldtui.core.account.bracket import takes_of
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Point
from fieldtui.core.survey.crew import crew_at
from fieldtui.core.survey.meters import meter_of, meter_words
from fieldtui.core.survey.standing import Record, Result, limit_for, take_result
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import ReadSession
from fieldtui.report.basis_words import two_figures


def memory_words(run: int | None, number: int | None) -> str:
    """``run 1, 17``; empty where the meter keeps none."""
    parts = [f"run {run}" if run is not None else "", str(number) if number is not None else ""]
    return ", ".join(part for part in parts if part)


def prober_of(session: ReadSession, record: Record) -> str:
    """Who probed a reading: the prober at work in its row."""
    return crew_at(session.facts.crew, session.survey.handovers, record.row).prober


def meter_named(session: ReadSession, record: Record) -> str:
    """The meter a reading was taken with; empty where the session had one only."""
    meters = session.survey.meters
    return meter_words(meter_of(meters, record)) if len(meters) > 1 else ""


def remarks_on(record: Record) -> Iterator[str]:
    """What is to be said of a reading besides its value: struck out, corrected, retest, confirmed."""
    if record.void is not None:
        yield f"void: {record.void}"
    if record.original is not None:
        yield from _was(record.original, record)
    if record.changed_by:
        yield f"changed in row {', '.join(map(str, record.changed_by))}"
    if record.retest:
        yield "retest"
    if record.take > 1:
        yield f"take {record.take}"
    if record.reason:
        yield f"doubtful, confirmed: {record.reason}"
    if record.note:
        yield record.note


def rests_on(survey: Survey, record: Record) -> Iterator[str]:
    """What has to be said beside a reading's verdict: let stand, the value judged, a limit from memory."""
    if record.is_valid and record.record in survey.released:
        yield f"let stand: {survey.released[record.record]}"
    if not record.is_valid or record.verdict is Verdict.NOTED:
        return
    point, result = survey.points[record.point], _take_so_far(survey, record)
    value = result.value
    if value != record.reading:
        voltages = point.current_ma is not None  # each stands in its own record
        yield f"R {value.digits} {value.unit.symbol}" if voltages else f"{point.rule} {value}"
    judged = judged_of(point, result, survey.route.celsius)
    if judged.is_corrected:
        yield f"at 20 °C {judged.value}"
    limit = limit_for(point, retest=record.retest)
    if limit.rule_words:
        yield from _decided_by_band(survey, point, result)
    if limit.is_unverified:
        yield "limit UNVERIFIED"


def _take_so_far(survey: Survey, record: Record) -> Result:
    """What the verdict on a valid record was given for: its take up to and including it."""
    point = survey.points[record.point]
    if point.repeats == 1:
        return Result((record,), record.reading, record.verdict)
    own = (taken for taken in takes_of(survey, record.point) if record in taken)
    taken = next(own, [record])
    numbers = [each.record for each in taken]
    return take_result(point, taken[: numbers.index(record.record) + 1], survey.conditions)


def _decided_by_band(survey: Survey, point: Point, result: Result) -> Iterator[str]:
    """The width of the guard band where the limit alone would have given another verdict."""
    plain = Verdict.PASS if is_met(point, result, survey.route.celsius) else Verdict.FAIL
    if result.verdict is plain:
        return
    band = basis_of(point, result, survey.conditions).band
    if band:
        yield f"guard band {two_figures(band, result.last.reading.unit)}"


def let_stand_words(survey: Survey, result: Result | None) -> str:
    """Why readings of a result were let stand; empty where none of them had to be."""
    records = result.records if result is not None else ()
    reasons = [survey.released[each.record] for each in records if each.record in survey.released]
    return f"let stand: {'; '.join(dict.fromkeys(reasons))}" if reasons else ""


def cell_text(value: object) -> str:
    """A field of an event as the trail has it."""
    match value:
        case None:
            return ""
        case Enum():
            return str(value.value)
        case _:
            return str(value)


def _was(before: Record, now: Record) -> Iterator[str]:
    if before.reading != now.reading:
        yield f"was {before.reading}"
    if before.point != now.point:
        yield f"was at {before.point}"
    if (before.run, before.number) != (now.run, now.number):
        yield f"memory was {memory_words(before.run, before.number) or 'none'}"


def accuracy_words(accuracy: Accuracy) -> str:
    """What the meter's maker or certificate states."""
    words = f"{accuracy.percent} % of the reading plus {accuracy.floor}"
    if accuracy.resolution is not None:
        words += f", display steps of {accuracy.resolution}"
    return f"{words}, coverage factor k = {accuracy.coverage}"
