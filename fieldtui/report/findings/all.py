"""What is not as planned in a session, first things first. Pure; the review screen, the summary
and every report read this one list.

A finding blames nobody and decides nothing: it says what the record shows, where, and why
according to the crew.
"""

from __future__ import annotations

from dataclasses import replace

from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.desk.reading import ReadSession, seal_problems
from fieldtui.errors import Problem
from fieldtui.report.findings.closing import find_in_doubt, find_left_undone
from fieldtui.report.findings.finding import Finding, Kind, place, place_of
from fieldtui.report.findings.from_paper import find_on_sheet
from fieldtui.report.findings.meter import find_in_meters
from fieldtui.report.findings.papers import find_in_papers
from fieldtui.report.findings.points import describe_result, find_in_brief, find_in_points
from fieldtui.report.findings.trail import find_in_rows
from fieldtui.report.rhythm import LONG_GAP, find_pace
from fieldtui.report.unproven import find_torn, find_unproven

__all__ = ["LONG_GAP", "Finding", "Kind", "find_exceptions"]


def find_exceptions(session: ReadSession) -> list[Finding]:
    """Everything a reviewer has to look at, by kind and within a kind in the order of the record."""
    found = [
        *_find_in_form(session),
        *find_in_brief(session.survey),
        *find_in_meters(session.survey),
        *find_on_sheet(session),
        *find_in_points(session.survey),
        *find_in_papers(session.facts, session.survey),
        *(
            _with_what_came_of_it(finding, session.survey)
            for finding in find_in_rows(session.facts, session.events, LONG_GAP)
        ),
        *find_pace(session),
        *_find_at_end(session),
        *find_in_doubt(session.survey),
        *find_left_undone(session.facts, session.survey),
    ]
    order = list(Kind)
    return sorted(found, key=lambda finding: order.index(finding.kind))


def _with_what_came_of_it(finding: Finding, survey: Survey) -> Finding:
    """A waiver that no longer holds says how the point stands since: its row tells it as it was then."""
    at = place_of(finding)
    standing = survey.standings.get(at.point)
    if finding.kind is not Kind.WAIVED or standing is None or standing.state is State.WAIVED:
        return finding
    told, left = f"since then {standing.state.value}", standing.as_left
    if left is not None and left.last.row > (at.row or 0):
        told += f": {describe_result(survey.points[at.point], left, survey.route.celsius)}"
    return replace(finding, what=f"{finding.what}; {told}")


def _find_in_form(session: ReadSession) -> list[Finding]:
    """Chain, order and form of the trail; what its rows say is found by going through them."""
    of_form = session.problems[: len(session.problems) - len(session.survey.problems)]
    found = [_of_problem(problem) for problem in (*of_form, *seal_problems(session))]
    return [*find_unproven(session), *found, *find_torn(session)]


def _of_problem(problem: Problem) -> Finding:
    return Finding(Kind.TRAIL, problem.what, where=problem.where, remedy=problem.remedy)


def _find_at_end(session: ReadSession) -> list[Finding]:
    """What the last row leaves unsaid."""
    survey = session.survey
    found = []
    unchecked = _unchecked(survey) if survey.runs and survey.readings_unchecked else 0
    if unchecked:
        found.append(
            Finding(
                Kind.NUMBER,
                f"{counted(unchecked, 'reading')} since the memory numbers were last known to agree",
                where=place(row=session.rows),
                remedy="hold the meter's memory list against the record",
            )
        )
    for run in sorted(survey.read_on):
        found.append(
            Finding(
                Kind.NUMBER,
                f"memory run {run} was reconciled and got further entries afterwards: it no longer is",
                where=place(row=session.rows),
                remedy="hold the meter's memory list against the record again",
            )
        )
    if not survey.closed:
        found.append(
            Finding(
                Kind.NOT_CLOSED,
                "the session is not closed; more rows may follow",
                where=place(row=session.rows),
            )
        )
    return found


def _unchecked(survey: Survey) -> int:
    """Readings since the memory numbers were known to agree; a run held against its list knows them."""
    return sum(
        record.run not in survey.reconciled
        for record in survey.records.values()
        if record.record >= survey.first_unchecked
    )
