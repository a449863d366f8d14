"""One thing that is not as planned, and the kinds there are."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from fieldtui.core.remarks import WHOLE, Place

_PLACE = re.compile(
    r"(?:point ([^ ,]{1,40}))?(?:, |^)?(?:record ([1-9][0-9]{0,8}))?(?:, |^)?(?:row ([1-9][0-9]{0,8}))?"
)


class Kind(Enum):
    """What sort of exception; the value is the word on screens and in reports.

    The order here is the order they are listed in: what shakes the whole record first.
    """

    TRAIL = "trail"  # chain, order or form broken: edited or damaged
    TORN = "unfinished row"
    REOPENED = "reopened"  # after a close: the seal on the job card is another one
    CONTRADICTION = "contradiction"  # a row that cannot be true
    VERDICT = "verdict differs"
    OVERRIDE = "override"  # the brief said no, and the crew went on for a reason
    BRIEF = "brief"  # answered badly, or not at all
    NO_METER = "meter not named"  # of a sheet keyed from paper: nothing is known of what measured
    CALIBRATION = "calibration"  # lapsed, or not known, when readings were taken
    METER = "meter check"  # the meter was not good on its check standard
    IN_DOUBT = "in doubt"  # readings that a failed check of the meter reaches
    SIMPLE = "simple acceptance"  # where the decision rule wants an uncertainty that nobody stated
    AS_MEASURED = "judged as measured"  # where the route wants values at 20 C and no temperature stands
    COARSE = "meter too coarse"  # for the limits of points read with it
    SHIFTED = "readings moved"  # to other points than they were keyed at
    FAILED = "failed"
    NO_PAPER = "no discrepancy"  # a failed or reworked point without a reference
    AWAITED = "rework awaited"
    CHANGED = "verdict changed"  # by a void or a correction; a failure may lie beneath
    UNSETTLED = "unsettled"  # open or skipped, or a retake that was asked for and not taken
    INCOMPLETE = "incomplete take"  # readings that count for nothing: their take lacks one
    INACCESSIBLE = "inaccessible"
    WAIVED = "waived"
    TURNED = "failed at first"  # as-found failed, as-left did not
    VOID = "void"
    REDO = "taken again"
    REWORK = "rework"
    AMENDED = "corrected"
    UNDECIDED = "undecided"  # which entry of the meter's list belongs to which reading
    NO_RECORD = "not on the record"  # an entry of the meter's memory that no reading is
    ERASED = "erased on the meter"  # the entry of a reading that stands, and the record does not say why
    NO_VALUE = "no value on the meter"  # where the record has a reading that stands
    STANDARD = "check standard differs"  # in the memory from what was recorded under its number
    HELD_TWICE = "number held twice"  # one memory number, several records
    MOVED = "numbers moved"  # memory numbers of the record or of what was to come
    ANOTHER_METER = "another meter"  # in the middle of the session
    HANDED_OVER = "handover"  # somebody else recorded or probed from there on
    NUMBER = "number check"
    LOOK_AT = "look at it"  # doubtful on a paper sheet, and nobody has said since that it is right
    CONFIRMED = "doubt confirmed"  # a suspect value was recorded for a reason
    RELEASED = "let stand"  # in doubt for the meter, and kept for a reason
    UNPLANNED = "unplanned point"
    UNVERIFIED = "limit unverified"
    CLOCK = "clock"
    GAP = "gap in time"
    PACE = "too close in time"  # readings between which the meter cannot have settled
    RECOVERED = "recovered"  # an unfinished row was set aside when the session was opened again
    UNDONE = "left undone"  # at the close
    SIGNATURE = "signature"  # missing, or from before a later change
    NOT_CLOSED = "not closed"


@dataclass(frozen=True, slots=True)
class Finding:
    """One exception: what, where (``point SW-07, record 12, row 31``), why, what to do."""

    kind: Kind
    what: str
    where: str = ""
    reason: str = ""  # as the crew gave it
    remedy: str = ""


def place(*, point: str | None = None, record: int | None = None, row: int | None = None) -> str:
    """Where in the survey: ``point SW-07, record 12, row 31``, of which any part may be missing."""
    parts = [
        f"point {point}" if point else "",
        f"record {record}" if record is not None else "",
        f"row {row}" if row is not None else "",
    ]
    return ", ".join(part for part in parts if part)


def place_of(finding: Finding) -> Place:
    """Where a finding is, as :func:`place` wrote it; the whole session where that is no single place."""
    found = _PLACE.fullmatch(finding.where)
    if found is None:
        return WHOLE
    point, record, row = found.groups()
    return Place(point=point or "", record=int(record) if record else None, row=int(row) if row else None)
