"""Where the prober has to be led: to a point that is not the next one along the way."""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.survey.position import UNSETTLED, Position, State
from fieldtui.core.survey.survey import Survey


@dataclass(frozen=True, slots=True)
class SectionLeft:
    """A section that the walk went out of with points still to be read, in walking order."""

    section: str
    open: tuple[str, ...]
    skipped: tuple[str, ...]
    points: tuple[str, ...]  # both


@dataclass(frozen=True, slots=True)
class Lead:
    """What the prober must be told; ``point`` is None where no point is left to take."""

    point: str | None
    why: str = ""  # ``second pass``; empty where the recorder has just chosen the point
    left: SectionLeft | None = None


def lead(before: Survey | None, after: Survey) -> Lead | None:
    """What to tell a prober who was at the point of ``before``, None where going on is right.

    Going on is right to the point after it in walking order and in the same section. ``before`` is None
    where a session is taken up again: then the prober is taken to be where the last reading was.
    """
    was, here = _was_at(before, after), after.position.here
    if was == here or (before is None and (was is None or here is None)):
        return None
    if here is None:
        return Lead(None)
    if was is not None and _is_next(was, here, after):
        return None
    position = before.position if before is not None else after.position
    return Lead(here, _why(was, position, after), _left(position, after) if before is not None else None)


def _was_at(before: Survey | None, after: Survey) -> str | None:
    if before is not None:
        return before.position.here
    last = after.last_records(1)
    return last[-1].point if last else None


def _is_next(was: str, here: str, survey: Survey) -> bool:
    place = survey.order.place
    return place[here] == place[was] + 1 and survey.points[was].section == survey.points[here].section


def _why(was: str | None, position: Position, after: Survey) -> str:
    here, now = after.points[str(after.position.here)], after.position
    if after.standings[here.id].asked_again:
        return "again"
    if len(now.back) < len(position.back):
        return "back from the detour"
    if now.second_pass and not now.back:
        return "second pass"
    is_other = was is not None and after.points[was].section != here.section
    return f"section {here.section}" if is_other and here.section else ""


def _left(position: Position, after: Survey) -> SectionLeft | None:
    """The section that the walk itself has left, detours aside, where something in it was not read."""
    start, stop = _on_the_way(position), _on_the_way(after.position)
    if start is None or stop is None or after.points[start].section == after.points[stop].section:
        return None
    section, end = after.points[start].section, after.order.place[stop]
    points = [
        point
        for place, point in enumerate(after.order.ids)
        if after.points[point].section == section
        and after.standings[point].state in UNSETTLED
        and (place < end or after.position.second_pass)  # of a section in two parts the other comes yet
    ]
    if not points:
        return None
    by_state = {
        state: tuple(point for point in points if after.standings[point].state is state)
        for state in (State.OPEN, State.SKIPPED)
    }
    return SectionLeft(section, by_state[State.OPEN], by_state[State.SKIPPED], tuple(points))


def _on_the_way(position: Position) -> str | None:
    """Where the walk stands, or stood when it went on a detour."""
    return position.back[0] if position.back else position.here
