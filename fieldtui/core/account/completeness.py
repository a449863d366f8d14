"""Whether a survey is complete, and what it lacks in words. Nothing here forbids anything."""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.core.account.bracket import half_taken, points_in_doubt
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey

COMPLETE = "COMPLETE"


def lacking(survey: Survey) -> Iterator[str]:
    """What keeps the points of a survey from being complete, a few words each: ``2 open``.

    Complete is a survey of which every point was measured or waived, no failed point lacks its paper, no
    retake or retest that was asked for is awaited, no verdict is in doubt for the meter, and none has part of
    another take after it.
    """
    standings = [survey.standings[point] for point in survey.order.ids]
    failed = [each for each in standings if each.state is State.FAILED]
    counts = {
        "open": survey.counts[State.OPEN],
        "skipped": survey.counts[State.SKIPPED],
        "not accessible": survey.counts[State.INACCESSIBLE],
        "failed without a paper": sum(not each.discrepancy for each in failed),
        "to be taken again": sum(
            each.asked_again and each.as_left is not None and each.state is not State.WAIVED
            for each in standings
        ),
        "in doubt for the meter": len(points_in_doubt(survey)),
        "with half a take": len({point for point, _ in half_taken(survey)}),
    }
    return (f"{count} {words}" for words, count in counts.items() if count)


def completeness(survey: Survey) -> str:
    """``COMPLETE``, or ``not complete: 2 open, 1 failed without a paper``."""
    words = ", ".join(lacking(survey))
    return f"not complete: {words}" if words else COMPLETE
