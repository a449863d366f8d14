"""Exceptions of a session that was keyed from a paper sheet: what the keying found doubtful in it."""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.desk.reading import ReadSession
from fieldtui.desk.transcribed import doubts_noted, times_noted
from fieldtui.report.findings.finding import Finding, Kind, place


def find_on_sheet(session: ReadSession) -> Iterator[Finding]:
    """Doubtful readings that nobody has confirmed, struck out or corrected since; a sheet without times."""
    if not session.facts.transcribed_from:
        return
    for note in dict.fromkeys(times_noted(session.events)):
        yield Finding(Kind.CLOCK, note, remedy="see the paper for when it was measured")
    for row, doubt in doubts_noted(session.events):
        record = session.survey.records.get(doubt.record)
        if record is None or not record.is_valid or record.reason:
            continue  # a confirmed one is told with its reason
        is_of_number = doubt.why.startswith(("memory number ", "no memory number"))
        is_reconciled = is_of_number and record.run in session.survey.reconciled
        if is_reconciled or any(changed > row for changed in record.changed_by):
            continue
        yield Finding(
            Kind.LOOK_AT,
            doubt.why,
            where=place(point=record.point, record=record.record, row=record.row),
            remedy=f"hold it against the paper of {session.facts.transcribed_from}; correct it, or void it, "
            "where that says otherwise",
        )
