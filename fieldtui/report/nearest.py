"""The points that come nearest to their limits, and what their verdicts rest on: for a glance."""

from __future__ import annotations

from collections.abc import Container, Iterator
from heapq import nlargest

from fieldtui.core.account.basis import basis_of, share_of, share_words
from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.survey.survey import Survey
from fieldtui.report.basis_words import probability_words, two_figures

NEAREST = 5  # points that are told


def nearest_lines(survey: Survey, unproven: Container[str] = ()) -> Iterator[str]:
    """The points that use most of their limits, the worst first, a sentence each.

    ``unproven`` are the points that rest on rows which are not known to be as they were written.
    """
    shares = [
        (share, point_id)
        for point_id in survey.order.ids
        if (left := survey.standings[point_id].as_left) is not None
        and (share := share_of(survey.points[point_id], left, survey.route.celsius)) is not None
    ]
    doubted = points_in_doubt(survey)
    for share, point_id in nlargest(NEAREST, shares, key=lambda each: each[0]):
        point, left = survey.points[point_id], survey.standings[point_id].as_left
        assert left is not None  # only such have a share
        basis = basis_of(point, left, survey.conditions)
        parts = [f"{point_id}  {left.value}"]
        if basis.judged.is_corrected:
            parts.append(f"judged at 20 °C as {basis.judged.value}")
        doubt = " IN DOUBT" if point_id in doubted else ""
        proof = " UNPROVEN" if point_id in unproven else ""
        rework = " after rework" if basis.limit is point.retest else ""
        limit = f"{basis.limit.words(left.value.unit)}{rework}"
        parts.append(f"{left.verdict.value}{proof}{doubt} against {limit}")
        if share.is_finite():
            used = share_words(point, left, survey.route.celsius)
            parts.append(f"{used} of it")  # of a window: of its half width
        if basis.expanded is not None:
            parts.append(f"U {two_figures(basis.expanded, left.value.unit)}")
        if basis.probability is not None:
            parts.append(f"conforms with {probability_words(basis.probability)}")
        yield ", ".join(parts)
