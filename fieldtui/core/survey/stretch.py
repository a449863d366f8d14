"""The short way of the fold: plain rows, one after another, without a step of their own.

Nearly every row of nearly every trail is plain: the next record, at a point that wants no more than one
reading, with the verdict that its limit gives, filed in the memory run that goes on; or a memory number
that agrees. Of such rows is known beforehand what they change, and that they contradict nothing. What
they do to their points is worked out when somebody asks (``standings``), to the memory at the end.

A stretch ends before the first row that is anything else. What that one does is said in ``step``; a
plain row taken there would make the same survey, and the tests hold the two ways equal.
"""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.core.survey.draft import LONG_GAP, Draft
from fieldtui.core.survey.position import FINISHED, forward
from fieldtui.core.survey.standing import record_of
from fieldtui.core.survey.standings import InHand
from fieldtui.core.trail.events import Agreement, Event, NumberChecked, ReadingTaken


def take_stretch(events: Iterator[Event], draft: Draft) -> Event | None:
    """Take in plain rows as long as they come.

    Returns:
        the first row that is not plain, of which nothing is taken in yet; None where none is left.
    """
    time = draft.last_reading
    if time is None or not _is_even(draft):
        return next(events, None)
    filed = draft.runs[-1] if draft.runs else None
    run, number = (filed.run, filed.next_number - 1) if filed is not None else (None, None)
    in_hand, records = draft.standings.in_hand, draft.records.own
    before, waits = draft.rows, draft.waiting.has_any
    event: Event | None
    for event in events:
        if type(event) is ReadingTaken:
            record, reading = event.record, event.reading
            held = in_hand.get(event.point) or _take_in_hand(event.point, draft)
            said = held.verdicts.of(reading) if held is not None else None
            if (
                held is None
                or said is None
                or said[1] is not event.verdict
                or record != draft.next_record
                or (event.run != run and event.run is not None and event.number is not None)
                or event.time - time > LONG_GAP
            ):
                break
            draft.rows += 1
            draft.next_record = record + 1
            draft.last_reading = time = event.time
            if event.run is not None and event.number is not None:
                number = event.number
            _, verdict, state = said
            records[record] = record_of(
                record, draft.rows, time, event.by, event.point, reading, verdict, verdict,
                held.take, held.retest, event.run, event.number, event.reason, event.note, 0, False,
            )  # fmt: skip
            held.take += 1
            held.numbers.append(record)
            if state is not held.state:
                draft.count(held.point, held.state, state)
                held.state, waits = state, draft.waiting.has_any
            second = draft.position.second_pass
            draft.position = forward(event.point, draft.order, draft.waiting, second) if waits else FINISHED
            draft.readings_unchecked += 1
        elif type(event) is NumberChecked and event.verdict is Agreement.AGREE and event.number == number:
            draft.rows += 1
            draft.hear_number(event.run, event.number)
            draft.numbers_agree()
        else:
            break
        draft.last_time = event.time
        draft.recent.append(event.kind)
    else:
        event = None
    if draft.rows > before:
        draft.last_change = draft.rows
        draft.want_check_by_count()  # a check on the way would have made the count begin anew
        if filed is not None and number is not None:
            draft.runs[-1] = filed.after(number)
    return event


def _is_even(draft: Draft) -> bool:
    """Whether no earlier row marks the next reading, or leads the walk elsewhere."""
    is_read_on = bool(draft.runs) and draft.runs[-1].run in draft.reconciled
    is_marked = draft.is_disturbed or draft.attempts_since > 0
    last = draft.records.get(draft.next_record - 1)
    is_new_run = len(draft.runs) > 1 and (last is None or last.run != draft.runs[-1].run)
    return not (draft.closed or is_marked or is_read_on or is_new_run or draft.position.back)


def _take_in_hand(at: str, draft: Draft) -> InHand | None:
    """Begin to keep the readings of a point in hand; None where a reading there is not plain."""
    point = draft.points.get(at)
    if point is None or point.unplanned or point.repeats > 1 or point.current_ma is not None:
        return None
    standing = draft.standings[at]
    if standing.is_take_complete:
        return None
    held = InHand(point, standing, draft.judged.at(point, retest=standing.retest))
    draft.standings.in_hand[at] = held
    return held
