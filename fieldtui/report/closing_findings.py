"""Exceptions of the session's end: readings in doubt, what the close left undone, signatures."""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.core.bracket import readings_in_doubt
from fieldtui.core.closing import Group, holding_signature, left_undone, signature_words
from fieldtui.core.events import Role
from fieldtui.core.survey import Survey
from fieldtui.report.finding import Finding, Kind, place

_TOLD_ELSEWHERE = (Group.POINTS, Group.DOUBT, Group.SIGNATURES)


def find_in_doubt(survey: Survey) -> Iterator[Finding]:
    """Readings that a failed check of the meter reaches and nobody let stand."""
    for doubt in readings_in_doubt(survey):
        record = survey.records[doubt.record]
        yield Finding(
            Kind.IN_DOUBT,
            f"{record.reading}: {doubt.why}",
            where=place(point=doubt.point, record=doubt.record, row=record.row),
            remedy="take it again with a meter that is good, or let it stand for a reason",
        )


def find_left_undone(survey: Survey) -> Iterator[Finding]:
    """What was not settled when the session was closed; signatures from before a change at any time."""
    for role in Role:
        last = survey.ending.signature(role)
        if last is not None and holding_signature(survey, role) is None:
            what = f"{signature_words(last)} signed as {role.value}, and the record was changed afterwards"
            yield Finding(Kind.SIGNATURE, what, where=place(row=last.row))
        elif last is None and survey.closed:
            yield Finding(Kind.SIGNATURE, f"closed without the signature of the {role.value}")
    if survey.closed:
        for item in left_undone(survey):
            if item.group not in _TOLD_ELSEWHERE:
                what = f"{item.group.value}: {item.what}"
                yield Finding(Kind.UNDONE, what, where=place(point=item.point or None))
