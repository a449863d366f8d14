"""Exceptions about the papers of failed points: none raised, or rework still to come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldtui.core.account.discrepancies import (
    awaiting_rework,
    awaits_retest,
    is_paper_of_earlier_failure,
    without_discrepancy,
)
from fieldtui.core.plan.route import Point
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.report.findings.finding import Finding, Kind

_NAMED = 6  # point ids written out before "and N more"


def find_in_papers(facts: Session, survey: Survey) -> Iterator[Finding]:
    """Failed and reworked points without a discrepancy reference, and those that wait for their rework.

    A paper sheet has no column for references: of a session keyed from one nothing is missing here.
    """
    lacking = () if facts.transcribed_from else without_discrepancy(survey)
    if lacking:
        yield Finding(
            Kind.NO_PAPER,
            f"{counted(len(lacking), 'point')} failed or reworked without a discrepancy reference",
            where=_named(lacking),
            remedy="raise the discrepancy and put its reference on record",
        )
    yield from _find_awaited(survey)


def _find_awaited(survey: Survey) -> Iterator[Finding]:
    """What the failed points that have a paper wait for: one finding for those that wait for the same."""
    waiting: dict[tuple[str, str], list[Point]] = {}
    for point in awaiting_rework(survey):
        standing = survey.standings[point.id]
        words, remedy = "discrepancy raised, rework and retest to come", ""
        if awaits_retest(standing):
            words = "discrepancy raised and reworked, retest to come"
        elif is_paper_of_earlier_failure(standing):
            words = "failed again at the retest, and the discrepancy was raised before it"
            remedy = "see whether that paper covers it, or raise another; rework and retest, or a waiver"
        waiting.setdefault((words, remedy), []).append(point)
    for (words, remedy), points in waiting.items():
        what = f"{counted(len(points), 'failed point')}: {words}"
        yield Finding(Kind.AWAITED, what, where=_named(points), remedy=remedy)


def _named(points: Sequence[Point]) -> str:
    """``point SW-07``, or ``points SW-07, SW-09 and 3 more``."""
    more = f" and {len(points) - _NAMED} more" if len(points) > _NAMED else ""
    ids = ", ".join(point.id for point in points[:_NAMED])
    return f"point{'s' if len(points) > 1 else ''} {ids}{more}"
