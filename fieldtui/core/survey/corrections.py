"""Numbers that are moved, what moved them, and so what it takes to go back on it.

Going back is further rows of the same kinds: nothing is taken out of the trail. A row that moves numbers to
an earlier run of the meter in use says that this run goes on: its memory was not cleared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fieldtui.core.survey.draft import CORRECTIONS_KEPT, Draft
from fieldtui.core.survey.memory import LIST_ENDS, LOWERED_BY_LIST, Correction
from fieldtui.core.survey.standing import Record
from fieldtui.core.trail import events as ev


def renumber(event: ev.Renumbered, draft: Draft) -> None:
    """Move the next number, and with it those of the readings from ``event.ref`` on."""
    run = draft.runs[-1] if draft.runs else None
    to = next((each for each in reversed(draft.runs) if each.run == event.run), None)
    if run is None or to is None or to.meter != run.meter:
        draft.find(f"numbers of memory run {event.run} are moved outside it", "the row has no effect")
        return
    if event.ref is not None and draft.record(event.ref) is None:
        return
    by = event.number - run.next_number
    behind = [r for r in draft.records.values() if event.ref is not None and r.record >= event.ref]
    were = {r.record: r.number for r in behind if r.run == run.run and r.number is not None}
    if min(were.values(), default=0) + (by if were else 0) < 0:
        draft.find("memory numbers would fall below nought", "the row has no effect")
        return
    if to is not run:  # what is left of the other one ends before the first that goes
        left = replace(run, next_number=min(were.values(), default=run.next_number))
        draft.runs = [*(each for each in draft.runs if each not in (to, run)), left, to]
        if to.run in draft.reconciled:  # the list it was held against does not have these entries
            draft.reconciled, draft.read_on = draft.reconciled - {to.run}, draft.read_on | {to.run}
    draft.runs[-1] = replace(to, next_number=event.number)
    first = event.ref if event.ref is not None else draft.next_record
    is_doubtful = _by_list_alone(event, by)
    moved = Correction(draft.rows, to.run, run.run, by, first, draft.first_unchecked)
    _note(moved, draft, is_doubtful=is_doubtful)
    draft.numbers_agree()
    if is_doubtful:
        draft.want_check(LOWERED_BY_LIST)
    for record, number in were.items():
        draft.change(replace(draft.records[record], run=to.run, number=number + by))


def _by_list_alone(event: ev.Renumbered, by: int) -> bool:
    """Whether the next number is a lower one and nobody read it out: a list that lacks a line says so too."""
    return by < 0 and event.reason == LIST_ENDS


def first_moved(records: Mapping[int, Record], correction: Correction) -> int | None:
    """The first record whose number moves again where the last correction is gone back on, None for none.

    Readings taken since are among them: their numbers followed.
    """
    moved = (
        number
        for number, record in records.items()
        if number >= correction.first and record.run == correction.run and record.number is not None
    )
    return min(moved, default=None)


def note_begun(event: ev.RunStarted, draft: Draft) -> None:
    """Remember the run that was left for the one that begins; nothing where the meter is another."""
    left = draft.runs[-1] if draft.runs else None
    if left is None or left.meter != len(draft.meters) - 1:
        draft.corrections = ()
        return
    first = draft.next_record
    if draft.out_of_step:  # an answer gives readings to the run before it begins it
        first = min((r.record for r in draft.records.values() if r.run == event.run), default=first)
    by = event.number - left.next_number
    _note(Correction(draft.rows, event.run, left.run, by, first, draft.first_unchecked), draft)


def note_number(was: Record, number: int | None, draft: Draft) -> None:
    """Remember that a reading lost its number, or got one, where that is part of an answer."""
    if draft.out_of_step and (was.number is None) is not (number is None) and was.run is not None:
        part = Correction(draft.rows, was.run, was.run, 0, 0, had=((was.record, was.number),))
        draft.corrections = (*draft.corrections, part)[-CORRECTIONS_KEPT:]


def _note(correction: Correction, draft: Draft, *, is_doubtful: bool = False) -> None:
    """Remember what moved the numbers, with the rows just before it that are part of it."""
    whole = [each for each in draft.corrections if not each.is_part]
    had: list[tuple[int, int | None]] = []
    row = correction.row
    for each in reversed(draft.corrections):
        if not each.is_part or each.row != row - 1:
            break
        had, row = [*each.had, *had], each.row
    is_answer, is_move = draft.out_of_step, correction.run == correction.was_run
    # Without numbers that differed a list told so, or the crew of itself.
    is_agreed = is_move and not is_answer and not is_doubtful
    noted = replace(correction, had=tuple(had), is_answer=is_answer, is_agreed=is_agreed)
    draft.corrections = (*whole, noted)[-CORRECTIONS_KEPT:]
