"""The plain-text summary: what a person reads first, and copies on to the job card."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from fieldtui.core.position import State
from fieldtui.core.text import visible
from fieldtui.desk.reading import ReadSession
from fieldtui.report.finding import Finding, counted
from fieldtui.report.findings import find_exceptions
from fieldtui.report.identity import (
    Line,
    describe_counts,
    describe_identity,
    describe_meter,
    describe_signatures,
    describe_trust,
)

WIDTH = 80  # characters a line
_LABEL = 14  # and two blanks

DEFERENCE = (
    "Local codes, the approved maintenance data and licensed practice come first. This record says "
    "what was read and how it stood to the stated limits; it claims no compliance with any regulation."
)


def format_summary(session: ReadSession) -> str:
    """The whole summary, at most 80 characters a line, newline at its end."""
    survey = session.survey
    findings = find_exceptions(session)
    unsettled = survey.in_state(State.OPEN, State.SKIPPED)
    lines = [
        *_head(f"{session.facts.route.title}"),
        *_facts(describe_identity(session)),
        *_part("Meter and brief"),
        *_facts(describe_meter(session)),
        *_part("Result"),
        *_facts(describe_counts(survey)),
        *_part(f"Exceptions: {len(findings) or 'none'}"),
        *(line for finding in findings for line in _exception(finding)),
        *_part(f"Points not settled: {len(unsettled) or 'none'}"),
        *(line for point in unsettled for line in _wrapped(f"{point.id}  {point.title}", "  ", "      ")),
        *_part("Signatures"),
        *_facts(describe_signatures(survey)),
        *_part("Copy to the job card"),
        *_facts(describe_trust(session)),
        *_part("Cautions"),
        *_cautions(session),
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


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


def _exception(finding: Finding) -> Iterator[str]:
    where = f" [{finding.where}]" if finding.where else ""
    yield from _wrapped(f"{finding.kind.value}: {finding.what}{where}", "- ", "  ")
    if finding.reason:
        yield from _wrapped(finding.reason, "  reason: ", "    ")
    if finding.remedy:
        yield from _wrapped(finding.remedy, "  to do: ", "    ")


def _cautions(session: ReadSession) -> Iterator[str]:
    titles = "; ".join(caution.title for caution in session.facts.cautions)
    if titles:
        count = counted(len(session.facts.cautions), "caution")
        yield from _wrapped(f"{count} shown in the brief: {titles}.", "", "")
    yield from _wrapped(DEFERENCE, "", "")


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    lines = textwrap.wrap(
        visible(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return lines or [first]
