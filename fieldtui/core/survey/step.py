"""What each kind of event does to the survey: one function an event kind."""

from __future__ import annotations

from dataclasses import replace
from functools import singledispatch

from fieldtui.core.plan.inserted import NotADefinitionError, parse_definition
from fieldtui.core.plan.session import Crew
from fieldtui.core.survey import contradictions, corrections
from fieldtui.core.survey.crew import Handover
from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.ending import COVERED, Reopening, Signature
from fieldtui.core.survey.memory import LOWERED_BY_LIST, Differed, begin_run, undecided_in
from fieldtui.core.survey.meter_checks import MeterCheck
from fieldtui.core.survey.meters import MeterInUse, NotAMeterError, meter_of, parse_meter
from fieldtui.core.survey.position import Position, State, detour, settle, wanted
from fieldtui.core.survey.standing import Standing, record_of
from fieldtui.core.trail import events as ev


def apply(event: ev.Event, draft: Draft) -> None:
    """Take one event in: the next row of the trail."""
    draft.rows += 1
    draft.recent.append(event.kind)
    if event.kind not in COVERED:
        draft.last_change = draft.rows
    if draft.closed and not isinstance(event, ev.Reopened):
        draft.find(f"a {event.kind} row stands after the close", "the trail was added to; ask who did")
    draft.last_time = event.time
    _STEPS[type(event)](event, draft)
    if draft.position.here is None:
        draft.position = settle(draft.position, draft.order, draft.waiting)


@singledispatch
def step(event: ev.Event, draft: Draft) -> None:
    """Events that change nothing but the row count: start, recovered, clock, note."""


@step.register
def _(event: ev.Opened, draft: Draft) -> None:
    draft.disturb("the session was opened again")


@step.register
def _(event: ev.Closed, draft: Draft) -> None:
    draft.closed = True
    draft.ending = replace(draft.ending, closed_row=draft.rows, close_reason=event.reason)


@step.register
def _(event: ev.Reopened, draft: Draft) -> None:
    if not draft.closed:
        draft.find("the session is reopened, but was not closed", "the row has no effect")
        return
    draft.closed = False
    reopening = Reopening(draft.rows, draft.ending.closed_row, event)
    draft.ending = replace(draft.ending, reopenings=(*draft.ending.reopenings, reopening))
    draft.disturb("the session was reopened")


@step.register
def _(event: ev.Signed, draft: Draft) -> None:
    draft.ending = replace(draft.ending, signatures=(*draft.ending.signatures, Signature(draft.rows, event)))


@step.register
def _(event: ev.Restored, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is not None:
        draft.ending = replace(draft.ending, restored={**draft.ending.restored, point.id: draft.rows})


@step.register
def _(event: ev.PathPapered, draft: Draft) -> None:
    contradictions.hold_path(event, draft)
    draft.ending = replace(draft.ending, path_papers={**draft.ending.path_papers, event.ref: event.reason})


@step.register
def _(event: ev.Briefed, draft: Draft) -> None:
    draft.brief = {**draft.brief, event.ref: event}
    if event.ref == ev.STANDARD_ITEM and event.reading is not None:  # a failed one that was overridden, too
        is_good = contradictions.hold_standard(event, draft)
        draft.checks = (*draft.checks, MeterCheck(draft.rows, draft.last_record, is_good))


@step.register
def _(event: ev.StandardRead, draft: Draft) -> None:
    is_good = contradictions.hold_standard(event, draft)
    draft.checks = (*draft.checks, MeterCheck(draft.rows, draft.last_record, is_good))
    draft.file_number(event.run, event.number)
    draft.is_disturbed = True  # it may have been filed without a word
    if event.ref is ev.CheckTime.INTERVAL:
        draft.want_check("after the check standard")


@step.register
def _(event: ev.LeadChanged, draft: Draft) -> None:
    draft.lead_changed = draft.rows
    draft.disturb("after a change of lead or tips")


@step.register
def _(event: ev.MeterTaken, draft: Draft) -> None:
    try:
        instrument = parse_meter(event.ref, event.definition)
    except NotAMeterError as error:
        draft.find(
            f"meter {event.ref}: {error}", "readings from here on count as taken with the meter before"
        )
        return
    draft.instrument = instrument
    draft.meters = (*draft.meters, MeterInUse(draft.rows, instrument, event.reason))
    draft.hold_conditions()
    draft.numbers_agree()  # the memory of this one is another
    draft.is_disturbed = True


@step.register
def _(event: ev.HandedOver, draft: Draft) -> None:
    crew = Crew(event.ref, event.by)
    draft.handovers = (*draft.handovers, Handover(draft.rows, draft.next_record, crew, event.reason))
    draft.disturb("after a handover")


@step.register
def _(event: ev.Released, draft: Draft) -> None:
    record = draft.record(event.ref)
    if record is not None:
        draft.let_stand(record, event.reason)


@step.register
def _(event: ev.RunStarted, draft: Draft) -> None:
    if event.run != len(draft.runs) + 1:
        draft.find(f"memory run {event.run} follows {len(draft.runs)}", "runs are counted 1, 2, 3")
    corrections.note_begun(event, draft)
    draft.runs.append(begin_run(draft.instrument, event.run, event.number, len(draft.meters) - 1))
    draft.numbers_agree()


@step.register
def _(event: ev.ReadingTaken, draft: Draft) -> None:
    number = event.record
    point = (
        draft.point(event.point) if number == draft.next_record else contradictions.hold_record(event, draft)
    )
    if number >= draft.next_record:
        draft.next_record = number + 1
    if point is None:
        return
    contradictions.hold_current(number, event.reading, point, draft)
    take, retest, taken = draft.next_take(point)
    is_long_gap = draft.is_long_gap(event.time)
    said = event.verdict
    record = record_of(
        number,
        draft.rows,
        event.time,
        event.by,
        point.id,
        event.reading,
        said,
        said if taken is None else draft.judge(point, taken, event.reading, retest=retest),
        take,
        retest,
        event.run,
        event.number,
        event.reason,
        event.note,
        draft.attempts_since,
        draft.is_disturbed or is_long_gap,
    )
    draft.file_number(event.run, event.number)
    draft.note_turn(number, point)
    is_done = draft.take_in(record, point, taken)
    if (computed := record.verdict if taken is not None else draft.records[number].verdict) is not said:
        contradictions.hold_verdict(f"record {number}", said, computed, draft)
    draft.want_check_after_reading(number, event.time, is_long_gap=is_long_gap)
    if draft.position.here != point.id:  # a reading written down elsewhere moves the walk there
        draft.position = Position(point.id, (), draft.position.second_pass)
    if is_done:
        draft.leave(point)


@step.register
def _(event: ev.AttemptFailed, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    draft.file_number(event.run, event.number)
    if not event.is_settling:  # where nothing could be reached, nothing was tried
        draft.attempts_since += 1
    standing = draft.standings[point.id]
    standing = replace(standing, attempts=standing.attempts + 1, reason=event.reason)
    if event.is_settling:
        draft.refresh(point, replace(standing, mark=State.INACCESSIBLE))
        draft.leave(point)
    else:
        draft.refresh(point, standing)


@step.register
def _(event: ev.Skipped, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    draft.refresh(point, replace(draft.standings[point.id], mark=State.SKIPPED, reason=event.reason))
    draft.disturb("after a skip")
    draft.leave(point)


@step.register
def _(event: ev.RedoAsked, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    draft.begin_take(point)
    draft.position = detour(draft.position, point.id)
    draft.disturb("after a redo")


@step.register
def _(event: ev.Voided, draft: Draft) -> None:
    record = draft.record(event.ref)
    if record is None:
        return
    if not record.is_valid:
        draft.find(f"record {record.record} is void already", "one void is enough")
        return
    standing = draft.standings[record.point]
    if not draft.is_take_over(standing, record):  # it is short of a reading again
        draft.standings[record.point] = replace(standing, take=record.take)
    draft.change(replace(record, void=event.reason))
    draft.disturb("after a void")


@step.register
def _(event: ev.PointInserted, draft: Draft) -> None:
    if event.point in draft.points:
        draft.find(f"point {event.point} is inserted, but is there already", "ids are used once")
        return
    try:
        point = parse_definition(event.point, event.definition)
    except NotADefinitionError as error:
        draft.find(f"inserted point {event.point}: {error}", "the point is left out")
        return
    draft.points = {**draft.points, point.id: point}
    draft.standings[point.id] = Standing()
    draft.counts[State.OPEN] += 1
    draft.reorder(draft.order.with_inserted(point.id, event.ref))
    draft.position = detour(draft.position, point.id)


@step.register
def _(event: ev.Jumped, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is not None:
        draft.position = detour(draft.position, point.id)


@step.register
def _(event: ev.SectionReversed, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    start = draft.order.place[point.id]
    draft.reorder(draft.order.with_rest_reversed(point.id, lambda other: draft.points[other].section))
    turned = draft.order.ids[start : draft.order.place[point.id] + 1]
    here = next((other for other in turned if draft.state_of(other) in wanted(draft.position)), point.id)
    draft.position = replace(draft.position, here=here)


@step.register
def _(event: ev.Paused, draft: Draft) -> None:
    draft.paused = True


@step.register
def _(event: ev.Proceeded, draft: Draft) -> None:
    draft.paused = False
    draft.disturb("after a pause")


@step.register
def _(event: ev.NumberChecked, draft: Draft) -> None:
    contradictions.hold_number(event, draft)
    if event.verdict is ev.Agreement.AGREE:
        draft.hear_number(event.run, event.number)
        draft.numbers_agree()
        return
    draft.out_of_step = True
    if draft.check_due == LOWERED_BY_LIST:  # that list lacks a line: it settled nothing
        draft.reconciled -= {event.run}
    times = draft.called[1] + 1 if draft.called[0] == event.number else 1
    draft.called = (event.number, times)
    by = event.number - (draft.runs[-1].next_number - 1) if draft.runs else None
    if by is not None and (draft.differed is None or draft.differed.by != by):
        draft.differed = Differed(by, draft.next_record, draft.attempts_since)


@step.register
def _(event: ev.Reconciled, draft: Draft) -> None:
    draft.reconciled, draft.read_on = draft.reconciled | {event.run}, draft.read_on - {event.run}
    left = {run: count for run, count in draft.undecided.items() if run != event.run}
    count = undecided_in(event.note)
    draft.undecided = {**left, event.run: count} if count else left


@step.register
def _(event: ev.Renumbered, draft: Draft) -> None:
    corrections.renumber(event, draft)


@step.register
def _(event: ev.Unfiled, draft: Draft) -> None:
    record = draft.record(event.ref)
    if record is not None:
        corrections.note_number(record, None, draft)
        draft.change(replace(record, number=None))


@step.register
def _(event: ev.Erased, draft: Draft) -> None:
    record = draft.record(event.ref)
    if record is None:
        return
    if record.number is None:
        draft.find(f"record {event.ref} has no entry on the meter to delete", "the row has no effect")
        return
    stays_used = meter_of(draft.meters, record).erased_number_stays_used
    if draft.runs and record.run == draft.runs[-1].run:
        draft.runs[-1] = draft.runs[-1].erased(record.number, stays_used=stays_used)
    draft.change(replace(record, is_erased=True, number=record.number if stays_used else None))
    draft.disturb("after an entry was deleted on the meter")


@step.register
def _(event: ev.Amended, draft: Draft) -> None:
    record = draft.record(event.ref)
    point = draft.point(event.point) if event.point is not None else None
    if record is None or (event.point is not None and point is None):
        return
    changed = replace(
        record,
        run=record.run if event.run is None else event.run,
        number=record.number if event.number is None else event.number,
        reading=event.reading or record.reading,
    )
    corrections.note_number(record, changed.number, draft)
    if point is not None and point.id != record.point:
        changed = draft.move(changed, point)
    if draft.change(changed):
        draft.leave(draft.points[changed.point])
    computed = draft.records[event.ref].verdict
    if event.reading is not None or event.point is not None:
        contradictions.hold_current(event.ref, changed.reading, draft.points[changed.point], draft)
    if event.verdict is not None:
        contradictions.hold_verdict(f"amended record {event.ref}", event.verdict, computed, draft)


@step.register
def _(event: ev.ReadingsShifted, draft: Draft) -> None:
    first, point = draft.record(event.ref), draft.point(event.point)
    if first is None or point is None or draft.record(event.record) is None:
        return
    by = draft.order.place[point.id] - draft.order.place[first.point]
    records = [record for record in draft.records.values() if event.ref <= record.record <= event.record]
    is_done = draft.reassign(records, lambda old: draft.order.place[old] + by)
    contradictions.hold_moved(records, draft)
    if is_done and event.record == max(draft.records) and not draft.position.back:
        draft.go_on_from(draft.points[draft.records[event.record].point])


@step.register
def _(event: ev.SectionMirrored, draft: Draft) -> None:
    first, point = draft.record(event.ref), draft.point(event.point)
    if first is None or point is None or draft.record(event.record) is None:
        return
    places = draft.order.section_around(first.point, lambda other: draft.points[other].section)
    before = draft.order.place
    records = [record for record in draft.records.values() if event.ref <= record.record <= event.record]
    if any(before[record.point] not in places for record in records):
        draft.find("readings of several sections are mirrored at once", "the row has no effect")
        return
    draft.reorder(draft.order.with_reversed(places))
    draft.reassign(records, lambda old: before[old])
    contradictions.hold_moved(records, draft)


@step.register
def _(event: ev.DiscrepancyRaised, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is not None:
        draft.standings[point.id] = _with_paper(draft.standings[point.id], event.ref, draft.rows)


@step.register
def _(event: ev.Reworked, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    draft.begin_take(point)
    standing = draft.standings[point.id]
    standing = _with_paper(standing, event.ref, draft.rows)
    draft.standings[point.id] = replace(standing, reworked=standing.reworked or draft.rows)


def _with_paper(standing: Standing, paper: str, row: int) -> Standing:
    """``paper`` named in ``row``; the one known already stays that of the row which named it first."""
    if not paper or paper == standing.discrepancy:
        return standing
    return replace(standing, discrepancy=paper, paper_row=row)


@step.register
def _(event: ev.Waived, draft: Draft) -> None:
    point = draft.point(event.point)
    if point is None:
        return
    if not event.reason.strip() or not event.ref.strip():
        draft.find(f"point {point.id} is waived without an authority and a paper", "the row has no effect")
        return
    draft.refresh(point, replace(draft.standings[point.id], mark=State.WAIVED, reason=event.reason))
    draft.leave(point)


_STEPS = {build: step.dispatch(build) for build in ev.KINDS.values()}
