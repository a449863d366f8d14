"""Every row of the trail that touched a point, by point, with what the row changed there.

One way through the trail finds them for all points at once; a page of one point only looks them up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import singledispatch

from fieldtui.core.plan.session import Session
from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.step import apply
from fieldtui.core.trail import events as ev
from fieldtui.report.told import cell_text, memory_words

Touches = Mapping[str, Sequence["Touch"]]

_NO_TOUCH = frozenset({"time", "by", "point", "note", "reason"})


@dataclass(frozen=True, slots=True)
class Touch:
    """One row that touched the point. ``what`` says what it did there, in words."""

    row: int
    event: ev.Event
    what: str
    reason: str = ""


def find_touches(facts: Session, events: Sequence[ev.Event]) -> Touches:
    """The rows that touched each point, in row order; points that none touched are left out."""
    draft = Draft.fresh(facts.route, facts.instrument)
    found: dict[str, list[Touch]] = {}
    for row, event in enumerate(events, 1):
        before = {number: draft.records[number] for number in _reached(event, draft)}
        told = _words(event, draft)
        apply(event, draft)
        points: dict[str, list[str]] = {}
        named = _point_named(event, draft)
        if told and named in draft.standings:
            points[named] = [told]
        for number, was in before.items():
            _add_changes(points, was, draft.records[number])
        for point, parts in points.items():
            reason = getattr(event, "reason", "")
            found.setdefault(point, []).append(Touch(row, event, "; ".join(parts), reason))
    return found


def _point_named(event: ev.Event, draft: Draft) -> str:
    if isinstance(event, ev.Released | ev.Erased | ev.Unfiled):
        record = draft.records.get(event.ref)
        return record.point if record is not None else ""
    return getattr(event, "point", "") or ""


def _add_changes(points: dict[str, list[str]], was: Record, now: Record) -> None:
    """What a row made of one record, told at the point it was at and at the one it is at."""
    changes = list(_changes(was, now))
    if changes:
        for point in dict.fromkeys((was.point, now.point)):
            points.setdefault(point, []).append(f"record {was.record}: {', '.join(changes)}")


def _changes(was: Record, now: Record) -> Iterator[str]:
    """Old and new of whatever differs."""
    if was.is_valid and not now.is_valid:
        yield f"{was.reading}, {was.verdict.value}, struck out"
    if was.point != now.point:
        yield f"{was.reading}, {was.verdict.value}, moved from {was.point} to {now.point}"
    if was.reading != now.reading:
        yield f"value {was.reading} became {now.reading}"
    if (was.run, was.number) != (now.run, now.number):
        before, after = (memory_words(each.run, each.number) or "none" for each in (was, now))
        yield f"memory {before} became {after}"
    if was.verdict is not now.verdict and now.is_valid:
        yield f"verdict {was.verdict.value} became {now.verdict.value}"


def _reached(event: ev.Event, draft: Draft) -> Sequence[int]:
    """The records that a row may change, as they are numbered before it."""
    match event:
        case ev.Voided() | ev.Unfiled() | ev.Erased() | ev.Amended():
            numbers: Sequence[int] = (event.ref,)
        case ev.ReadingsShifted() | ev.SectionMirrored():
            numbers = range(event.ref, event.record + 1)
        case ev.Renumbered() if event.ref is not None:
            numbers = range(event.ref, draft.next_record)
        case _:
            return ()
    return [number for number in numbers if number in draft.records]


# --- what a row says of the point it names; ``draft`` is the survey before the row --------------


@singledispatch
def _words(event: ev.Event, draft: Draft) -> str:
    """A kind of event that nobody has words for yet is told field by field."""
    if not getattr(event, "point", ""):
        return ""
    told = ((each.name, cell_text(getattr(event, each.name))) for each in fields(event))
    parts = [f"{name} {text}" for name, text in told if text and name not in _NO_TOUCH]
    return ", ".join(parts) or event.kind


@_words.register
def _(event: ev.ReadingTaken, draft: Draft) -> str:
    standing = draft.standings.get(event.point)
    parts = [f"record {event.record}: {event.reading}, {event.verdict.value}"]
    if memory := memory_words(event.run, event.number):
        parts.append(f"memory {memory}")
    if standing is not None and standing.retest:
        parts.append("retest")
    if standing is not None and standing.take > 1:
        parts.append(f"take {standing.take}")
    if event.reason:
        parts.append("doubtful, and confirmed")
    return ", ".join(parts)


@_words.register
def _(event: ev.AttemptFailed, draft: Draft) -> str:
    memory = memory_words(event.run, event.number)
    return "no value" + (f", and the meter filed something under {memory}" if memory else "")


@_words.register
def _(event: ev.Skipped, draft: Draft) -> str:
    return "left for later"


@_words.register
def _(event: ev.RedoAsked, draft: Draft) -> str:
    before = draft.records.get(event.ref) if event.ref is not None else None
    return f"asked to be taken again after {before.reading}" if before else "asked to be taken again"


@_words.register
def _(event: ev.Voided | ev.Amended | ev.ReadingsShifted | ev.SectionMirrored, draft: Draft) -> str:
    return ""  # told by what it did to its records


@_words.register
def _(event: ev.Erased, draft: Draft) -> str:
    return f"the meter's entry of record {event.ref} was deleted on the meter"


@_words.register
def _(event: ev.Unfiled, draft: Draft) -> str:
    return f"the meter had not kept record {event.ref}"


@_words.register
def _(event: ev.Released, draft: Draft) -> str:
    return f"record {event.ref} let stand, in spite of a failed check of the meter or of a retake asked for"


@_words.register
def _(event: ev.Jumped, draft: Draft) -> str:
    return "the walk came here out of turn"


@_words.register
def _(event: ev.SectionReversed, draft: Draft) -> str:
    return "the rest of the section was walked from its far end"


@_words.register
def _(event: ev.PointInserted, draft: Draft) -> str:
    return "unplanned point, " + (f"put in before {event.ref}" if event.ref else "put in at the end")


@_words.register
def _(event: ev.Noted, draft: Draft) -> str:
    return "remark"


@_words.register
def _(event: ev.DiscrepancyRaised, draft: Draft) -> str:
    return f"discrepancy {event.ref}"


@_words.register
def _(event: ev.Reworked, draft: Draft) -> str:
    paper = f", discrepancy {event.ref}" if event.ref else ""
    return f"repaired{paper}; readings from here on are retests"


@_words.register
def _(event: ev.Waived, draft: Draft) -> str:
    return f"let go by paper {event.ref}"


@_words.register
def _(event: ev.Restored, draft: Draft) -> str:
    return "finish and panel restored"
