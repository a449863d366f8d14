"""Words on a record and on a cell of the trail, the same on the review screen and in every report."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from fieldtui.core.account.basis import basis_of
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.survey.crew import crew_at
from fieldtui.core.survey.meters import meter_of, meter_words
from fieldtui.core.survey.standing import Record, Result, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict, is_within
from fieldtui.core.verdict.temperature import judged_value
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
    point, standing = survey.points[record.point], survey.standings[record.point]
    takes = (take for take in (standing.as_left, standing.as_found) if take is not None)
    value = next((take.value for take in takes if take.last.record == record.record), record.reading)
    if value != record.reading:
        voltages = point.current_ma is not None  # each stands in its own record
        yield f"R {value.digits} {value.unit.symbol}" if voltages else f"{point.rule} {value}"
    judged = judged_value(point, value, survey.route.celsius)
    if judged.is_corrected:
        yield f"at 20 °C {judged.value}"
    limit = limit_for(point, retest=record.retest)
    if limit.rule_words:
        yield from _decided_by_band(survey, record, value)
    if limit.is_unverified:
        yield "limit UNVERIFIED"


def _decided_by_band(survey: Survey, record: Record, value: Resistance) -> Iterator[str]:
    """The width of the guard band where the limit alone would have given another verdict."""
    point, standing = survey.points[record.point], survey.standings[record.point]
    takes = (take for take in (standing.as_left, standing.as_found) if take is not None)
    own = Result((record,), value, record.verdict)
    basis = basis_of(
        point, next((take for take in takes if take.last.record == record.record), own), survey.conditions
    )
    plain = Verdict.PASS if is_within(basis.limit, basis.judged.value.ohms) else Verdict.FAIL
    if basis.band and record.verdict is not plain:
        yield f"guard band {two_figures(basis.band, record.reading.unit)}"


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
