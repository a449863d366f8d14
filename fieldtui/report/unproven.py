"""Words on a trail that is broken or not finished: the same in every report and on the review screen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldtui.core.text import counted
from fieldtui.desk.reading import ReadSession, unproven_points, unproven_records
from fieldtui.desk.verifying import TORN_REMEDY
from fieldtui.files.durable import TRAIL_NAME
from fieldtui.report.findings.finding import Finding, Kind, place

UNPROVEN = "UNPROVEN"  # not known to be as it was written: the trail is broken before it


@dataclass(frozen=True, slots=True)
class Unproven:
    """Points and readings that rest on rows which are not known to be as they were written."""

    points: frozenset[str] = frozenset()
    records: frozenset[int] = frozenset()

    @classmethod
    def of(cls, session: ReadSession) -> Unproven:
        """Those of a session; none where its trail is whole."""
        return cls(unproven_points(session), unproven_records(session))


ALL_PROVEN = Unproven()


def chain_words(session: ReadSession) -> str:
    """The state of the chain, after "chain"."""
    if 0 < session.unproven_from <= session.rows:  # a row's content, or session.toml, is not what it says
        return f"holds, but PROVES NOTHING from row {session.unproven_from} on, see the exceptions"
    if session.unproven_from:
        return f"BROKEN from row {session.unproven_from} on, see the exceptions"
    if session.torn:
        return f"intact up to row {session.rows}; the row after it is INCOMPLETE, see the exceptions"
    if not session.is_intact:
        return "intact in every cell; the FILE WAS SAVED AGAIN in another form, see the exceptions"
    return "intact"


def unproven_words(session: ReadSession) -> str:
    """How many points and readings rest on rows that are not proven; empty where none does."""
    resting = _resting(session)
    return "; ".join(filter(None, (f"UNPROVEN: {resting}" if resting else "", _unread_words(session))))


def _resting(session: ReadSession) -> str:
    points, records = len(unproven_points(session)), len(unproven_records(session))
    told = [counted(points, "point") if points else "", counted(records, "reading") if records else ""]
    return " and ".join(filter(None, told))


def unproven_readings(session: ReadSession) -> str:
    """What to add to the number of readings: how many are unproven, how many could not be read."""
    unproven, unread = len(unproven_records(session)), session.unread.readings
    said = f", {unproven} of them UNPROVEN" if unproven else ""
    return f"{said}; {counted(unread, 'more reading')} NOT READ" if unread else said


def _unread_words(session: ReadSession) -> str:
    rows, readings, is_all = session.unread
    if not rows:
        return ""
    there = f"{'' if is_all else 'at least '}{counted(readings, 'reading')}"
    stand = "stands" if readings == 1 else "stand"
    return f"{there} {stand} in {counted(rows, 'row')} that could not be read"


def find_unproven(session: ReadSession) -> Iterator[Finding]:
    """That rows are not proven, in one finding, and what rests on them."""
    if session.unproven_from:
        first, last = session.unproven_from, session.rows_found
        rows = f"rows {first} to {last} are" if last > first else f"row {first} is"
        what = f"{rows} UNPROVEN" if last else "no row can be read"
        used = f"only the rows before row {first}" if first > 1 else "nothing of it"
        yield Finding(
            Kind.TRAIL,
            "; ".join(filter(None, (what, _resting(session), _unread_words(session)))),
            where=place(row=first),
            remedy=f"look for an untouched copy; compare, trend and a point's history use {used}",
        )


def find_torn(session: ReadSession) -> Iterator[Finding]:
    """A last row that is not finished, and why nobody can tell more of it."""
    if session.torn:
        yield Finding(
            Kind.TORN,
            f"the last row is incomplete: {counted(len(session.torn), 'byte')} of it stand after row "
            f"{session.rows}",
            where=f"end of {TRAIL_NAME}",
            remedy=f"{TORN_REMEDY[0].lower()}{TORN_REMEDY[1:].rstrip('.')}",
        )
