"""Exceptions of the session's end: readings in doubt, what the close left undone, signatures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.account.closing import Group, Item, holding_signature, left_undone, signature_words
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import is_same_name
from fieldtui.core.trail.events import Role
from fieldtui.report.findings.finding import Finding, Kind, place

_TOLD_ELSEWHERE = (Group.POINTS, Group.FAILED, Group.PATHS, Group.DOUBT, Group.SIGNATURES)
_NAMED = 4  # things written out before "and N more"


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


def find_left_undone(facts: Session, survey: Survey) -> Iterator[Finding]:
    """What was not settled when the session was closed; signatures from before a change at any time.

    A paper sheet has its own lines for finishes, the check of the meter and signatures: of a session
    keyed from one it is only said where to look.
    """
    is_paper = bool(facts.transcribed_from)
    for role in Role:
        last = survey.ending.signature(role)
        if last is not None and holding_signature(survey, role) is None:
            what = f"{signature_words(last)} signed as {role.value}, and the record was changed afterwards"
            yield Finding(Kind.SIGNATURE, what, where=place(row=last.row))
        elif last is None and survey.closed and not is_paper:
            yield Finding(Kind.SIGNATURE, f"closed without the signature of the {role.value}")
    yield from _find_one_signer(survey)
    if survey.closed and is_paper:
        what = "keyed from paper: finishes restored, meter checked out and signatures are not in this record"
        yield Finding(Kind.UNDONE, what, remedy=f"look at the paper of {facts.transcribed_from}")
    elif survey.closed:
        yield from _find_groups(left_undone(survey))


def _find_one_signer(survey: Survey) -> Iterator[Finding]:
    """The program refuses it, an edited trail may have it: one person in both roles."""
    technician, inspector = (survey.ending.signature(role) for role in (Role.TECHNICIAN, Role.INSPECTOR))
    if technician is None or inspector is None:
        return
    one, other = technician.event, inspector.event
    is_one_stamp = bool(one.reason.strip()) and is_same_name(one.reason, other.reason)
    if is_same_name(one.by, other.by) or is_one_stamp:
        yield Finding(
            Kind.SIGNATURE,
            f"{signature_words(technician)} signed as technician and {signature_words(inspector)} as "
            "inspector: that is one person, or one stamp",
            where=place(row=max(technician.row, inspector.row)),
            remedy="two different people sign; ask both",
        )


def _find_groups(items: Sequence[Item]) -> Iterator[Finding]:
    """One finding a group: a route may have hundreds of finishes."""
    for group in Group:
        inside = [item for item in items if item.group is group]
        if inside and group not in _TOLD_ELSEWHERE:
            more = f" and {len(inside) - _NAMED} more" if len(inside) > _NAMED else ""
            what = "; ".join(item.what for item in inside[:_NAMED])
            points = ", ".join(item.point for item in inside[:_NAMED] if item.point)
            where = f"point{'s' if len(inside) > 1 else ''} {points}{more}" if points else ""
            yield Finding(Kind.UNDONE, f"{group.value}: {what}{more}", where=where)
