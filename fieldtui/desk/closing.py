"""The close-out on the desk: finishes ticked off, points settled from the desk, signatures."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.account.closing import STATEMENTS, Group, holding_signature, left_undone
from fieldtui.core.text import is_same_name
from fieldtui.core.trail import events as ev
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import WrongUseError


def restored(desk: Desk, point: str) -> None:
    """The finish or panel of a point is as it was before its readings."""
    desk.append(ev.Restored(**desk.stamp(), point=point))


def restored_section(desk: Desk, section: str) -> int:
    """Tick off every finish and panel of a section that is still to restore; returns how many."""
    opened = [item.point for item in left_undone(desk.survey) if item.group is Group.RESTORE]
    points = [point for point in opened if desk.survey.points[point].section == section]
    for point in points:
        restored(desk, point)
    return len(points)


def inaccessible(desk: Desk, point: str, why: str) -> None:
    """A point that could not be reached, wherever the walk stands: settled as that."""
    reason = f"{ev.NOT_ACCESSIBLE}: {desk.wanted_text(why, 'A reason')}"
    desk.append(ev.AttemptFailed(**desk.stamp(), point=point, reason=reason))


def path_paper(desk: Desk, path: str, paper: str) -> None:
    """Note the paper of points in series that fail together or have no sum: a discrepancy, a waiver."""
    if path not in [each.id for each in desk.survey.route.paths]:
        raise WrongUseError(
            f"There is no path {path} on this route", remedy="give the id of one of its paths"
        )
    desk.append(ev.PathPapered(**desk.stamp(), ref=path, reason=desk.wanted_text(paper, "A reference")))


def rework(desk: Desk, point: str, reason: str, ref: str = "") -> None:
    """The bond was repaired: the walk goes to its point, and the next reading is the retest."""
    desk.rework(point, reason, ref)
    go_to(desk, point, "retest")


def go_to(desk: Desk, point: str, reason: str = "") -> None:
    """Let the walk stand at a point; afterwards it goes back to where it was."""
    if desk.survey.position.here != point:
        desk.append(ev.Jumped(**desk.stamp(), point=point, reason=reason))


def release_all(desk: Desk, reason: str) -> int:
    """Let every reading stand that a failed check of the meter left in doubt; returns how many."""
    doubts = readings_in_doubt(desk.survey)
    for doubt in doubts:
        desk.release(doubt.record, reason)
    return len(doubts)


def sign(desk: Desk, role: ev.Role, name: str, stamp: str) -> None:
    """Somebody read the statement of a role and signs it.

    Raises:
        WrongUseError: the same person, or the same stamp, signed in the other role.
        BadInputError: name or stamp is missing or cannot be recorded.
    """
    name, stamp = desk.wanted_text(name, "A name"), desk.wanted_text(stamp, "A stamp or licence")
    for other in ev.Role:
        held = holding_signature(desk.survey, other)
        if other is role or held is None:
            continue
        if is_same_name(name, held.event.by) or is_same_name(stamp, held.event.reason):
            raise WrongUseError(
                f"{held.event.by} signed as {other.value} already",
                remedy="two different people sign, each with a stamp or licence of their own",
            )
    time = desk.stamp()["time"]
    desk.append(ev.Signed(time=time, by=name, ref=role, reason=stamp, note=STATEMENTS[role]))


def lasting(desk: Desk, since: datetime) -> timedelta:
    """How long ago something was, by the session's own clock."""
    return desk.stamp()["time"] - since
