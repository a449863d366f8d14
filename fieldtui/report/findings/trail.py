"""Exceptions that show in what happened, found by going through the trail row by row.

The survey is built up again on the way, so that what a row changed can be told as it was before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import singledispatch

from fieldtui.core.plan.inserted import NotADefinitionError, parse_definition
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.meters import NotAMeterError, calibration_trouble, meter_words, parse_meter
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.step import apply
from fieldtui.core.text import counted
from fieldtui.core.trail import events as ev
from fieldtui.core.trail.chain import seal_groups
from fieldtui.report.findings.finding import Finding, Kind, place
from fieldtui.report.findings.memory_lists import find_in_lists
from fieldtui.report.findings.points import describe_result
from fieldtui.report.rhythm import lasting_words


def find_in_rows(facts: Session, events: Sequence[ev.Event], long_gap: timedelta) -> Iterator[Finding]:
    """The exceptions of every row, in row order."""
    draft = Draft.fresh(facts.route, facts.instrument)
    for row, event in enumerate(events, 1):
        if draft.last_time is not None and not draft.paused:
            yield from _find_gap(draft.last_time, event, row, long_gap)
        yield from _find(event, row, draft)
        known = len(draft.problems)
        before = _may_change(event, draft)
        apply(event, draft)
        yield from _find_contradictions(draft, event, row, known)
        yield from _find_changed_verdicts(before, draft, row)
    yield from find_in_lists(events, draft)


def _may_change(event: ev.Event, draft: Draft) -> Mapping[int, Record]:
    """The records whose verdict the row may change, as they stand before it.

    Only those of the points it speaks of: a long trail may hold thousands of such rows.
    """
    match event:
        case ev.ReadingsShifted() | ev.SectionMirrored():
            return dict(draft.records)
        case ev.Voided() | ev.Amended() if event.ref in draft.records:
            named = (draft.records[event.ref].point, event.point)
            points = {point for point in named if point is not None and point in draft.standings}
            numbers = sorted(number for point in points for number in draft.standings[point].records)
            return {number: draft.records[number] for number in numbers}
        case _:
            return {}


def _find_changed_verdicts(before: Mapping[int, Record], draft: Draft, row: int) -> Iterator[Finding]:
    """Readings whose verdict is another one after the row, or that had failed and are struck out."""
    for number, was in before.items():
        now = draft.records[number]
        where = place(point=now.point, record=number, row=row)
        if was.is_valid and not now.is_valid and was.verdict.is_failed:
            what = f"{was.reading}, {was.verdict.value}, was struck out: a failure no longer counts"
            yield Finding(Kind.CHANGED, what, where=where, reason=now.void or "")
        elif now.is_valid and now.verdict is not was.verdict:
            what = f"{was.reading}, {was.verdict.value}, became {now.reading}, {now.verdict.value}"
            yield Finding(Kind.CHANGED, what, where=where)


def _find_gap(before: datetime, event: ev.Event, row: int, long_gap: timedelta) -> Iterator[Finding]:
    gap = event.time - before
    if gap > long_gap:
        after = ", then the session was opened again" if isinstance(event, ev.Opened) else ""
        yield Finding(
            Kind.GAP,
            f"{lasting_words(gap)} without a row and without a pause{after}",
            where=f"rows {row - 1} to {row}",
        )


def _find_contradictions(draft: Draft, event: ev.Event, row: int, known: int) -> Iterator[Finding]:
    """What the row itself gets wrong. A verdict that differs is the last thing found in a row."""
    problems = draft.problems[known:]
    for position, problem in enumerate(problems, 1):
        is_verdict = position == len(problems) and _verdict_differs(event, draft)
        yield Finding(
            Kind.VERDICT if is_verdict else Kind.CONTRADICTION,
            problem.what,
            where=place(row=row),
            remedy=problem.remedy,
        )


def _verdict_differs(event: ev.Event, draft: Draft) -> bool:
    match event:
        case ev.ReadingTaken():
            record = draft.records.get(event.record)
            return record is not None and record.row == draft.rows and record.verdict is not event.verdict
        case ev.Amended() if event.verdict is not None:
            record = draft.records.get(event.ref)
            return record is not None and record.verdict is not event.verdict
        case _:
            return False


# --- one function an event kind; ``draft`` is the survey before the row --------------------


@singledispatch
def _find(event: ev.Event, row: int, draft: Draft) -> Iterator[Finding]:
    """Most kinds of event are part of the plan."""
    return iter(())


@_find.register
def _(event: ev.Recovered, row: int, draft: Draft) -> Iterator[Finding]:
    yield Finding(
        Kind.RECOVERED,
        event.note or "an unfinished last row was set aside",
        where=place(row=row),
        remedy=f"the bytes set aside are kept in {event.ref}",
    )


@_find.register
def _(event: ev.ClockStepped, row: int, draft: Draft) -> Iterator[Finding]:
    yield Finding(Kind.CLOCK, event.note or "the machine's clock was stepped", where=place(row=row))


@_find.register
def _(event: ev.ReadingTaken, row: int, draft: Draft) -> Iterator[Finding]:
    if event.reason:
        yield Finding(
            Kind.CONFIRMED,
            f"{event.reading} was doubtful and confirmed",
            where=place(point=event.point, record=event.record, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.RedoAsked, row: int, draft: Draft) -> Iterator[Finding]:
    before = draft.records.get(event.ref) if event.ref is not None else None
    yield Finding(
        Kind.REDO,
        f"asked to be taken again after {before.reading}" if before else "asked to be taken again",
        where=place(point=event.point, record=event.ref, row=row),
        reason=event.reason,
    )


@_find.register
def _(event: ev.Voided, row: int, draft: Draft) -> Iterator[Finding]:
    record = draft.records.get(event.ref)
    if record is not None:
        yield Finding(
            Kind.VOID,
            f"{record.reading} struck out",
            where=place(point=record.point, record=event.ref, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.Reworked, row: int, draft: Draft) -> Iterator[Finding]:
    paper = f", discrepancy {event.ref}" if event.ref else ""
    yield Finding(
        Kind.REWORK, f"repaired{paper}", where=place(point=event.point, row=row), reason=event.reason
    )


@_find.register
def _(event: ev.Amended, row: int, draft: Draft) -> Iterator[Finding]:
    record = draft.records.get(event.ref)
    if record is not None:
        yield Finding(
            Kind.AMENDED,
            "; ".join(_changes(record, event)) or "nothing changed",
            where=place(point=record.point, record=event.ref, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.ReadingsShifted | ev.SectionMirrored, row: int, draft: Draft) -> Iterator[Finding]:
    first = draft.records.get(event.ref)
    if first is None:
        return
    is_shift = isinstance(event, ev.ReadingsShifted)
    far = abs(draft.order.place.get(event.point, 0) - draft.order.place.get(first.point, 0))
    how = (
        f"moved {counted(far, 'point')} along the walk"
        if is_shift
        else "took each other's ends of the section"
    )
    several = f"the readings of records {event.ref} to {event.record}"
    which = several if event.record != event.ref else f"the reading of record {event.ref}"
    yield Finding(
        Kind.SHIFTED,
        f"{which} {how}: the first from {first.point} to {event.point}",
        where=place(record=event.ref, row=row),
        reason=event.reason,
    )


@_find.register
def _(event: ev.Renumbered, row: int, draft: Draft) -> Iterator[Finding]:
    expected = draft.runs[-1].next_number if draft.runs else None
    records = f", records from {event.ref} on moved with it" if event.ref is not None else ""
    yield Finding(
        Kind.MOVED,
        f"next memory number {_number(expected)} became {event.number} in run {event.run}{records}",
        where=place(record=event.ref, row=row),
        reason=event.reason,
    )


@_find.register
def _(event: ev.Unfiled, row: int, draft: Draft) -> Iterator[Finding]:
    record = draft.records.get(event.ref)
    if record is not None:
        yield Finding(
            Kind.MOVED,
            f"the meter did not keep this reading; memory number {_number(record.number)} taken off",
            where=place(point=record.point, record=event.ref, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.Erased, row: int, draft: Draft) -> Iterator[Finding]:
    record = draft.records.get(event.ref)
    if record is not None:
        yield Finding(
            Kind.MOVED,
            f"the entry under memory number {_number(record.number)} was deleted on the meter",
            where=place(point=record.point, record=event.ref, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.NumberChecked, row: int, draft: Draft) -> Iterator[Finding]:
    if event.verdict is ev.Agreement.DIFFER:
        yield Finding(
            Kind.NUMBER,
            f"the meter showed {event.number}, the record expected {_number(event.ref)}",
            where=place(row=row),
            reason=event.note,
        )


@_find.register
def _(event: ev.PointInserted, row: int, draft: Draft) -> Iterator[Finding]:
    before = f"before {event.ref}" if event.ref else "at the end"
    yield Finding(
        Kind.UNPLANNED,
        f"{_inserted(event)}, {before}",
        where=place(point=event.point, row=row),
        reason=event.reason,
    )


@_find.register
def _(event: ev.Waived, row: int, draft: Draft) -> Iterator[Finding]:
    point = draft.points.get(event.point)
    if point is not None:
        left = draft.standings[event.point].as_left
        read = describe_result(point, left, draft.route.celsius) if left is not None else "not measured"
        yield Finding(
            Kind.WAIVED,
            f"{point.title}: {read}; let go by paper {event.ref}",
            where=place(point=event.point, row=row),
            reason=event.reason,
        )


@_find.register
def _(event: ev.StandardRead, row: int, draft: Draft) -> Iterator[Finding]:
    if event.verdict is not ev.Answer.GOOD:
        yield Finding(Kind.METER, event.note or f"read {event.reading}: not good", where=place(row=row))


@_find.register
def _(event: ev.MeterTaken, row: int, draft: Draft) -> Iterator[Finding]:
    where = place(row=row)
    try:
        instrument = parse_meter(event.ref, event.definition)
    except NotAMeterError:
        return  # told as a contradiction
    yield Finding(
        Kind.ANOTHER_METER,
        f"{meter_words(instrument)} took over from {meter_words(draft.instrument)}, "
        f"from record {draft.next_record} on",
        where=where,
        reason=event.reason,
    )
    if trouble := calibration_trouble(instrument, event.time.date()):
        yield Finding(
            Kind.OVERRIDE, f"{meter_words(instrument)}: {trouble}", where=where, reason=event.reason
        )


@_find.register
def _(event: ev.HandedOver, row: int, draft: Draft) -> Iterator[Finding]:
    yield Finding(
        Kind.HANDED_OVER,
        f"{event.by} recorded and {event.ref} probed from record {draft.next_record} on",
        where=place(row=row),
        reason=event.reason,
    )


@_find.register
def _(event: ev.Released, row: int, draft: Draft) -> Iterator[Finding]:
    record = draft.records.get(event.ref)
    if record is not None:
        yield Finding(
            Kind.RELEASED,
            f"{record.reading} was {_let_stand(record, draft)}",
            where=place(point=record.point, record=event.ref, row=row),
            reason=event.reason,
        )


def _let_stand(record: Record, draft: Draft) -> str:
    """What a reading stands in spite of."""
    standing = draft.standings[record.point]
    left = standing.as_left
    is_asked = standing.asked_again and left is not None and record in left.records
    has_failed = any(not check.is_good for check in draft.checks)
    words = ["in doubt for a failed check of the meter"] if has_failed or not is_asked else []
    return " and ".join([*words, *(["to be taken again"] if is_asked else [])])


@_find.register
def _(event: ev.Closed, row: int, draft: Draft) -> Iterator[Finding]:
    if event.reason:
        yield Finding(
            Kind.UNDONE, "closed with things left undone", where=place(row=row), reason=event.reason
        )


@_find.register
def _(event: ev.Reopened, row: int, draft: Draft) -> Iterator[Finding]:
    yield Finding(
        Kind.REOPENED,
        f"closed with seal {seal_groups(event.ref)} at row {draft.ending.closed_row}, "
        f"reopened by {event.by}; signatures before it no longer cover the record",
        where=place(row=row),
        reason=event.reason,
        remedy="the job card wants the seal and the rows of the last close, and signatures after it",
    )


def _inserted(event: ev.PointInserted) -> str:
    """Title and limit of an inserted point; its definition as it stands where that says nothing."""
    try:
        point = parse_definition(event.point, event.definition)
    except NotADefinitionError:
        return event.definition
    return f"{point.title or 'no title'}: {point.limit}"


# --- words ---------------------------------------------------------------------------------


def _changes(record: Record, event: ev.Amended) -> Iterator[str]:
    """What an amendment set, old and new."""
    if event.reading is not None:
        yield f"value {record.reading} became {event.reading}"
    if event.point is not None:
        yield f"point {record.point} became {event.point}"
    if event.run is not None and event.run != record.run:
        yield f"memory run {_number(record.run)} became {event.run}"
    if event.number is not None:
        yield f"memory number {_number(record.number)} became {event.number}"


def _number(number: int | None) -> str:
    return "none" if number is None else str(number)
