"""What must be settled before a session is closed. Nothing here forbids: what is left wants a reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from fieldtui.core.account.bracket import half_taken, readings_in_doubt
from fieldtui.core.account.discrepancies import is_paper_of_earlier_failure
from fieldtui.core.account.held_twice import held_twice
from fieldtui.core.account.paths import describe_path, judge_paths
from fieldtui.core.survey.ending import Signature
from fieldtui.core.survey.memory import LOWERED_BY_LIST
from fieldtui.core.survey.meters import is_same_meter, meter_at, meter_words
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev

# What each of the two says by signing.
STATEMENTS = {
    ev.Role.TECHNICIAN: "The readings were taken and recorded as told here.",
    ev.Role.INSPECTOR: "I have read the record and its exceptions.",
}

_RECONCILED = "reconciled"


class Group(Enum):
    """A part of the close-out, in the order in which it is worked through; the value is its heading."""

    POINTS = "points still open or not measured"
    FAILED = "failed points"
    PATHS = "points in series"
    RESTORE = "finishes and panels to restore"
    METER = "meter checked out"
    DOUBT = "readings in doubt"
    MEMORY = "record and memory"
    SIGNATURES = "signatures"


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the close-out; of point, record, run and role those that it is about."""

    group: Group
    what: str
    is_done: bool = False
    point: str = ""
    record: int = 0  # with points: of half a take; with the meter: the last of one given up since
    run: int = 0  # a memory run that is not reconciled; 0 with the memory group: a number check
    number: int | None = None  # with the memory group: a number of the run that several readings hold
    path: str = ""  # points in series that fail together, or have no sum
    role: ev.Role | None = None
    since: datetime | None = None  # UTC, when the surface of a point to restore was opened


def closing_items(survey: Survey) -> tuple[Item, ...]:
    """Every line of the close-out, group after group, what is done already included."""
    return (
        *_open_points(survey),
        *_half_taken(survey),
        *_failed_points(survey),
        *_paths(survey),
        *_to_restore(survey),
        *_meter(survey),
        *_in_doubt(survey),
        *_memory(survey),
        *_signatures(survey),
    )


def left_undone(survey: Survey) -> tuple[Item, ...]:
    """What is not settled as the survey stands."""
    return tuple(item for item in closing_items(survey) if not item.is_done)


def holding_signature(survey: Survey, role: ev.Role) -> Signature | None:
    """The last signature in a role, where nothing was changed after it."""
    last = survey.ending.signature(role)
    return last if last is not None and last.row > survey.last_change else None


def signature_words(signature: Signature) -> str:
    """``A. Prober (stamp T-12)``."""
    return f"{signature.event.by} ({signature.event.reason})"


# --- points --------------------------------------------------------------------------------


def _open_points(survey: Survey) -> Iterator[Item]:
    """Open and skipped ones are to do; those that could not be reached stand there, with why."""
    for point in survey.in_state(State.OPEN, State.SKIPPED, State.INACCESSIBLE):
        standing = survey.standings[point.id]
        is_out_of_reach = standing.state is State.INACCESSIBLE
        state = "not measured" if is_out_of_reach else standing.state.value
        why = f": {standing.reason}" if standing.reason else ""
        again = f"; {asked_words(survey, point.id)}" if standing.as_left is not None else ""
        yield Item(Group.POINTS, f"{point.title}, {state}{why}{again}", is_out_of_reach, point=point.id)


def _half_taken(survey: Survey) -> Iterator[Item]:
    """Points read again in part: their verdict is that of the take before."""
    for point_id, taken in half_taken(survey):
        point, left = survey.points[point_id], survey.standings[point_id].as_left
        read = f"; the verdict is of {left.value} before" if left is not None else ""
        part = f"{len(taken)} of {point.repeats} readings of another take (record {taken[-1].record})"
        yield Item(Group.POINTS, f"{point.title}, {part}{read}", point=point_id, record=taken[-1].record)


def asked_words(survey: Survey, point_id: str) -> str:
    """That a point was to be taken again and was not, and what it reads from before."""
    standing = survey.standings[point_id]
    left, taken = standing.as_left, len(survey.take_so_far(point_id))
    if left is None:
        return ""
    what = standing.awaited or "retake"
    part = f", {taken} of {survey.points[point_id].repeats} readings taken" if taken else ""
    records = ", ".join(str(record.record) for record in left.records)
    return f"{what} awaited{part}; before it {left.value}, {left.verdict.value} (record {records})"


def _failed_points(survey: Survey) -> Iterator[Item]:
    """The points that failed or were reworked: each has a paper."""
    for point_id in survey.order.ids:
        standing = survey.standings[point_id]
        if standing.state is not State.FAILED and not standing.retest:
            continue
        left = standing.as_left
        read = f", {left.value}" if left is not None else ""
        awaited = f"; {asked_words(survey, point_id)}" if standing.asked_again and left is not None else ""
        limit = limit_for(survey.points[point_id], retest=standing.retest)
        doubt = ", limit UNVERIFIED" if limit.is_unverified else ""
        paper = f"discrepancy {standing.discrepancy}" if standing.discrepancy else "no discrepancy reference"
        if is_paper_of_earlier_failure(standing):
            paper += ", raised before the retest failed"
        what = f"{survey.points[point_id].title}{read}, {standing.state.value}{doubt}{awaited}; {paper}"
        is_done = bool(standing.discrepancy) and not standing.asked_again
        yield Item(Group.FAILED, what, is_done, point=point_id)


def _paths(survey: Survey) -> Iterator[Item]:
    """Points in series whose sum fails, or that have none: each of the points may be as planned."""
    for result in judge_paths(survey):
        if result.verdict is None or result.verdict.is_failed:
            paper = survey.ending.path_papers.get(result.path.id, "")
            doubt = ", limit UNVERIFIED" if result.path.limit.is_unverified else ""
            told = f"{describe_path(result)}{doubt}; {f'paper {paper}' if paper else 'no paper'}"
            what = f"path {result.path.id}, {result.path.title}: {told}"
            yield Item(Group.PATHS, what, is_done=bool(paper), path=result.path.id)


def _to_restore(survey: Survey) -> Iterator[Item]:
    """A surface was opened where readings were taken, void ones too, after it was last restored."""
    for point_id in survey.order.ids:
        point, restored = survey.points[point_id], survey.ending.restored.get(point_id, 0)
        records = [survey.records[number] for number in survey.standings[point_id].records]
        opened = [record.time for record in records if record.row > restored]
        if point.restore and opened:
            what = f"{point.title}: {point.restore}"
            yield Item(Group.RESTORE, what, point=point_id, since=min(opened))


# --- meter and memory ----------------------------------------------------------------------


def _meter(survey: Survey) -> Iterator[Item]:
    """The check standard is read once more after the last reading, and after the last change of lead."""
    yield from _earlier_meters(survey)
    if survey.instrument.check_standard is None:
        return
    last, records = (survey.checks[-1] if survey.checks else None), survey.next_record - 1
    if last is None or last.after < records or survey.lead_changed > last.row:
        yield Item(Group.METER, "the check standard was not read after the last reading")
    else:
        found = "good" if last.is_good else "NOT GOOD"
        yield Item(Group.METER, f"check standard read after the last reading: {found}", is_done=True)


def _earlier_meters(survey: Survey) -> Iterator[Item]:
    """Meters that were given up before their last readings stood between two checks."""
    for place, meter in enumerate(survey.meters[:-1]):
        instrument, until = meter.instrument, survey.meters[place + 1].row
        taken = [record.record for record in survey.records.values() if meter.row <= record.row < until]
        own = [
            check.after
            for check in survey.checks
            if is_same_meter(survey.meters[meter_at(survey.meters, check.row)].instrument, instrument)
        ]
        if instrument.check_standard is not None and taken and max(own, default=0) < taken[-1]:
            missing = f"its check standard was not read after record {taken[-1]}; y takes it again"
            what = f"{meter_words(instrument)}: {missing}"
            yield Item(Group.METER, what, record=taken[-1])


def _in_doubt(survey: Survey) -> Iterator[Item]:
    for doubt in readings_in_doubt(survey):
        reading = survey.records[doubt.record].reading
        what = f"record {doubt.record}, {reading}: {doubt.why}"
        yield Item(Group.DOUBT, what, point=doubt.point, record=doubt.record)


def run_state(survey: Survey, run: int) -> str:
    """How far a memory run is reconciled, in words."""
    if run in survey.reconciled:
        left = survey.undecided.get(run, 0)
        return f"{_RECONCILED}, {left} undecided" if left else _RECONCILED
    return "read on after it was reconciled" if run in survey.read_on else "not reconciled"


def _memory(survey: Survey) -> Iterator[Item]:
    """Each filled memory run is held against the meter's list; until then the numbers must agree."""
    filled = {record.run for record in survey.records.values() if record.number is not None}
    for run in survey.runs:
        if run.run in filled:
            state = run_state(survey, run.run)
            yield Item(Group.MEMORY, f"memory run {run.run}: {state}", state == _RECONCILED, run=run.run)
    for held in held_twice(survey):
        what = f"memory run {held.run}: {held.words}"
        yield Item(Group.MEMORY, what, run=held.run, number=held.number)
    if survey.run is None:
        return
    if survey.out_of_step:
        yield Item(Group.MEMORY, "the memory numbers differ, and nothing has explained it yet")
    elif survey.check_due == LOWERED_BY_LIST or (
        survey.check_due and survey.run.run not in survey.reconciled
    ):
        yield Item(Group.MEMORY, f"a number check is due: {survey.check_due}")


# --- signatures ----------------------------------------------------------------------------


def _signatures(survey: Survey) -> Iterator[Item]:
    for role in ev.Role:
        last = survey.ending.signature(role)
        if last is None:
            yield Item(Group.SIGNATURES, f"{role.value}: not signed", role=role)
        elif holding_signature(survey, role) is None:
            what = f"{role.value}: {signature_words(last)}, but the record changed since; sign again"
            yield Item(Group.SIGNATURES, what, role=role)
        else:
            yield Item(Group.SIGNATURES, f"{role.value}: {signature_words(last)}", is_done=True, role=role)
