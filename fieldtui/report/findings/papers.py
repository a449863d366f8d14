"""Exceptions about the papers of failed points: none raised, or rework still to come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldtui.core.account.discrepancies import awaiting_rework, without_discrepancy
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
    waiting = awaiting_rework(survey)
    if waiting:
        yield Finding(
            Kind.AWAITED,
            f"{counted(len(waiting), 'failed point')}: discrepancy raised, rework and retest to come",
            where=_named(waiting),
        )


def _named(points: Sequence[Point]) -> str:
    """``point SW-07``, or ``points SW-07, SW-09 and 3 more``."""
    more = f" and {len(points) - _NAMED} more" if len(points) > _NAMED else ""
    ids = ", ".join(point.id for point in points[:_NAMED])
    return f"point{'s' if len(points) > 1 else ''} {ids}{more}"
