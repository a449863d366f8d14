"""Exceptions about what readings were taken with: which meter, how sure, how fine, calibrated until when; and
at which temperature."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fieldtui.core.account.paths import judge_paths
from fieldtui.core.plan.resolving import coarse_limits, coarse_words
from fieldtui.core.survey.brief import CALIBRATION
from fieldtui.core.survey.meters import MeterInUse, is_unnamed, meter_at, meter_words
from fieldtui.core.survey.standing import Record, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.trail.events import Answer
from fieldtui.core.verdict.judging import lacks_accuracy
from fieldtui.core.verdict.temperature import lacks_temperature
from fieldtui.report.findings.finding import Finding, Kind, place
from fieldtui.report.findings.points import some_points


def find_in_meters(survey: Survey) -> Iterator[Finding]:
    """What the readings that hold lack for the meter they were taken with, and for a temperature."""
    taken: list[list[Record]] = [[] for _ in survey.meters]
    for record in survey.records.values():
        if record.is_valid:
            taken[meter_at(survey.meters, record.row)].append(record)
    for meter, records in zip(survey.meters, taken, strict=True):
        if not records:
            continue
        if is_unnamed(meter.instrument):
            yield _no_meter(records)
        else:
            yield from _find_calibration(survey, meter, records)
    yield from _find_simple(survey)
    yield from _find_as_measured(survey)
    for meter, records in zip(survey.meters, taken, strict=True):
        yield from _find_coarse(survey, meter, records)


def _no_meter(records: list[Record]) -> Finding:
    numbers = sum(record.number is not None for record in records)
    kept = f", {numbers} of them with a memory number" if numbers else ""
    return Finding(
        Kind.NO_METER,
        f"no meter was named for {counted(len(records), 'reading')}{kept}: there is no uncertainty U, no "
        "calibration, no bracket of checks on its standard, and the size of its memory is not known",
        remedy="transcribe the sheet again with --meter ID, an id of shared/instruments.toml, and put this "
        "session away",
    )


# --- calibration -------------------------------------------------------------------------------


def _find_calibration(survey: Survey, meter: MeterInUse, records: list[Record]) -> Iterator[Finding]:
    """Readings from after its last day; what the brief or the change of meters says is not said again."""
    due = meter.instrument.calibration_due
    is_first = meter is survey.meters[0]
    answer = survey.brief.get(CALIBRATION)
    is_told = answer is not None and answer.verdict is not Answer.GOOD if is_first else due is None
    late = [record for record in records if _is_late(due, record)]
    if late and not is_told:
        since = f"lapsed on {due.isoformat()}" if due is not None else "no date is known for it"
        yield Finding(
            Kind.CALIBRATION,
            f"{meter_words(meter.instrument)}: {since}; {counted(len(late), 'reading')} taken all the same",
            where=place(point=late[0].point, record=late[0].record, row=late[0].row),
            remedy="find out whether the meter was good then, or take them again with one that is",
        )


def _is_late(due: date | None, record: Record) -> bool:
    return due is None or due < record.time.date()


# --- uncertainty -------------------------------------------------------------------------------


def _find_simple(survey: Survey) -> Iterator[Finding]:
    """Limits with a guard band that judged without one: a finding a rule, with its points."""
    judged: dict[str, dict[str, None]] = {}
    for point_id in survey.order.ids:
        point = survey.points[point_id]
        for number in survey.standings[point_id].records:
            record = survey.records[number]
            limit = limit_for(point, retest=record.retest)
            if record.is_valid and lacks_accuracy(limit, survey.conditions.of(record).accuracy):
                judged.setdefault(limit.rule_words, {})[point_id] = None
    for rule, points in judged.items():
        are = "is" if len(points) == 1 else "are"
        yield _simple(f"{counted(len(points), 'point')} {are}", rule, some_points(list(points)))
    for result in judge_paths(survey):
        path = result.path
        if result.verdict is not None and result.expanded is None and path.limit.rule_words:
            yield _simple(f"path {path.id} is", path.limit.rule_words, some_points(path.points))


def _simple(what: str, rule: str, where: str) -> Finding:
    return Finding(
        Kind.SIMPLE,
        f"{what} to be judged with {rule}, and no accuracy is stated for the meter: the limit alone judged",
        where=where,
        remedy="find the meter's accuracy, and hold the values against the limit less the guard band by hand",
    )


def _find_as_measured(survey: Survey) -> Iterator[Finding]:
    """Points to be judged at 20 C of which nobody knows how warm they were; a path sums them as measured."""
    judged = [
        point
        for point in survey.order.ids
        if lacks_temperature(survey.points[point], survey.conditions.celsius)
        and any(survey.records[number].is_valid for number in survey.standings[point].records)
    ]
    if judged:
        are = "is" if len(judged) == 1 else "are"
        yield Finding(
            Kind.AS_MEASURED,
            f"{counted(len(judged), 'point')} {are} to be judged at 20 °C, and no temperature was taken: the "
            "values as measured judged",
            where=some_points(judged),
            remedy="find the temperature of what was measured, and hold the values at 20 °C against the "
            "limits by hand; a sheet can be transcribed again with --conductor",
        )


def _find_coarse(survey: Survey, meter: MeterInUse, records: list[Record]) -> Iterator[Finding]:
    points = [survey.points[point] for point in dict.fromkeys(record.point for record in records)]
    coarse = [point.id for point, _ in coarse_limits(points, meter.instrument)]
    if coarse:
        words = coarse_words(points, meter.instrument).removeprefix("TOO COARSE ")
        yield Finding(
            Kind.COARSE,
            f"{meter_words(meter.instrument)}, {words}",
            where=some_points(coarse),
            remedy="a finer meter, or a verdict that says how sure it is; see U and the probability",
        )
