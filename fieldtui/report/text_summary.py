"""The plain-text summary: what a person reads first, and copies on to the job card."""

from __future__ import annotations

import textwrap
from collections.abc import Container, Iterable, Iterator

from fieldtui.core.survey.brief import CAUTIONS
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted, visible
from fieldtui.core.trail.events import Answer
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.desk.remarks import NO_REMARKS, Remarks
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Finding
from fieldtui.report.identity import (
    Line,
    describe_counts,
    describe_identity,
    describe_meter,
    describe_signatures,
    describe_trust,
)
from fieldtui.report.nearest import nearest_lines
from fieldtui.report.remark_words import remark_head, remark_notes, remarks_title, trouble_lines
from fieldtui.report.sections import SectionCount, count_sections, state_words
from fieldtui.report.unproven import UNPROVEN

WIDTH = 80  # characters a line
_LABEL = 14  # and two blanks

DEFERENCE = (
    "Local codes, the approved maintenance data and licensed practice come first. This record says "
    "what was read and how it stood to the stated limits; it claims no compliance with any regulation."
)


def format_summary(session: ReadSession, remarks: Remarks = NO_REMARKS) -> str:
    """The whole summary, at most 80 characters a line, newline at its end; remarks where there are any."""
    survey, unproven = session.survey, unproven_points(session)
    findings = find_exceptions(session)
    unsettled = [point for point in survey.order.ids if not survey.standings[point].is_settled]
    lines = [
        *_head(f"{session.facts.route.title}"),
        *_facts(describe_identity(session)),
        *_part("Meter and brief"),
        *_facts(describe_meter(session)),
        *_part("Result"),
        *_facts(describe_counts(session)),
        *_part("Sections"),
        *(line for section in count_sections(survey, unproven) for line in _section(section)),
        *_part("Nearest to their limits"),
        *_listed(nearest_lines(survey, unproven), "nothing was judged"),
        *_part(f"Exceptions: {len(findings) or 'none'}"),
        *(line for finding in findings for line in _exception(finding)),
        *_part(f"Points not settled: {len(unsettled) or 'none'}"),
        *(line for point in unsettled for line in _unsettled(survey, point, unproven)),
        *_remarks(remarks),
        *_part("Signatures"),
        *_facts(describe_signatures(survey)),
        *_part("Copy to the job card"),
        *_facts(describe_trust(session)),
        *_part("Cautions"),
        *_cautions(session),
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _unsettled(survey: Survey, point_id: str, unproven: Container[str]) -> list[str]:
    standing = survey.standings[point_id]
    again = ", to be taken again" if standing.asked_again and standing.as_left is not None else ""
    what = f"{point_id}  {survey.points[point_id].title}: {standing.state.value}{again}"
    what += f" {UNPROVEN}" if point_id in unproven else ""
    return _wrapped(what, "  ", "      ")


def _head(title: str) -> Iterator[str]:
    yield from _wrapped(title, "", "")
    yield "=" * WIDTH


def _part(title: str) -> Iterator[str]:
    yield ""
    yield title
    yield "-" * len(title)


def _facts(facts: Iterable[Line]) -> Iterator[str]:
    for label, text in facts:
        yield from _wrapped(text, f"{visible(label):<{_LABEL}}  ", " " * (_LABEL + 2))


def _section(section: SectionCount) -> list[str]:
    name = f"{section.id}  {section.title}".strip() or "no section"
    done = f"{section.settled} of {section.points} settled"
    return _wrapped(f"{name}: {done}; {state_words(section)}", "  ", "      ")


def _listed(texts: Iterable[str], nothing: str) -> Iterator[str]:
    lines = [line for text in texts for line in _wrapped(text, "  ", "      ")]
    yield from lines or [f"  {nothing}"]


def _exception(finding: Finding) -> Iterator[str]:
    where = f" [{finding.where}]" if finding.where else ""
    yield from _wrapped(f"{finding.kind.value}: {finding.what}{where}", "- ", "  ")
    if finding.reason:
        yield from _wrapped(finding.reason, "  reason: ", "    ")
    if finding.remedy:
        yield from _wrapped(finding.remedy, "  to do: ", "    ")


def _remarks(remarks: Remarks) -> Iterator[str]:
    if not remarks:
        return
    yield from _part(remarks_title(remarks))
    for entry in remarks.entries:
        yield from _wrapped(remark_head(entry), "- ", "  ")
        yield from _wrapped(entry.remark.text, "  ", "  ")
        for note in remark_notes(entry):
            yield from _wrapped(note, "  note: ", "    ")
    for line in trouble_lines(remarks):
        yield from _wrapped(line, "- NOT READ: ", "  ")


def _cautions(session: ReadSession) -> Iterator[str]:
    titles = "; ".join(caution.title for caution in session.facts.cautions)
    if titles:
        count = counted(len(session.facts.cautions), "caution")
        read = session.survey.brief.get(CAUTIONS)
        is_shown = read is not None and read.verdict is Answer.GOOD
        told = "shown in the brief" if is_shown else "kept with this record, which does not say who read them"
        yield from _wrapped(f"{count} {told}: {titles}.", "", "")
    yield from _wrapped(DEFERENCE, "", "")


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    lines = textwrap.wrap(
        visible(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return lines or [first]
