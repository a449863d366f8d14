"""What a paper sheet says of a failed point: its paper, its rework, or who lets it go."""

from __future__ import annotations

from datetime import datetime

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.files.sheet import Sheet, SheetLine


def paper_written(
    line: SheetLine, point: Point, survey: Survey, sheet: Sheet, *, time: datetime, by: str
) -> ev.DiscrepancyRaised | None:
    """The reference of a failed point's paper; None where it is none, with the reason noted."""
    if survey.standings[point.id].state is not State.FAILED:
        what = f"{point.id} has not failed above this line, so it needs no paper"
        sheet.find(line.line, "point", what, "write the point meant, or make it a note")
        return None
    if not line.reason:
        return None  # told already
    return ev.DiscrepancyRaised(time=time, by=by, point=point.id, ref=line.reason, note=line.note)


def rework_written(
    line: SheetLine, point: Point, survey: Survey, sheet: Sheet, *, time: datetime, by: str
) -> ev.Reworked | None:
    """A bond repaired: readings below are retests. None where no paper says so, with the reason noted."""
    paper = line.note or survey.standings[point.id].discrepancy
    if not paper:
        what = f"{point.id} is reworked without a paper"
        sheet.find(line.line, "note", what, "write the reference of its paper, or a paper line above")
    if not paper or not line.reason:
        return None  # a missing reason is told already
    return ev.Reworked(time=time, by=by, point=point.id, reason=line.reason, ref=paper)


def waiver_written(line: SheetLine, point: Point, *, time: datetime, by: str) -> ev.Waived | None:
    """A point let go: on whose authority, by which paper. None where one is missing: told already."""
    if not line.reason or not line.note:
        return None
    return ev.Waived(time=time, by=by, point=point.id, reason=line.reason, ref=line.note)
