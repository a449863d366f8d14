"""Failed points and their papers."""

from __future__ import annotations

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Standing
from fieldtui.core.survey.survey import Survey


def without_discrepancy(survey: Survey) -> tuple[Point, ...]:
    """The points that failed or were reworked and have no discrepancy reference, in walking order."""
    return tuple(
        survey.points[point]
        for point in survey.order.ids
        if (standing := survey.standings[point]).state is State.FAILED or standing.retest
        if not standing.discrepancy
    )


def awaiting_rework(survey: Survey) -> tuple[Point, ...]:
    """The failed points whose paper is raised: they wait for the repair and the retest."""
    return tuple(point for point in survey.in_state(State.FAILED) if survey.standings[point.id].discrepancy)


def awaits_retest(standing: Standing) -> bool:
    """Whether a failed point was repaired, and the reading after the repair is still to come."""
    left = standing.as_left
    return standing.retest and (standing.asked_again or left is None or not left.last.retest)


def is_paper_of_earlier_failure(standing: Standing) -> bool:
    """Whether a retest failed after the point's paper was raised: the paper knows nothing of it."""
    left = standing.as_left
    return (
        bool(standing.discrepancy)
        and left is not None
        and left.verdict.is_failed
        and left.last.retest
        and standing.paper_row < left.last.row
    )
