"""A reviewer's remarks in words, the same on the review screen and in every report."""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.core.remarks import Since
from fieldtui.core.text import counted
from fieldtui.core.trail.chain import seal_groups
from fieldtui.desk.remarks import Entry, Remarks
from fieldtui.report.identity import format_minute


def remarks_title(remarks: Remarks) -> str:
    """``Remarks of reviewers: 3, 1 of them withdrawn``."""
    count = len(remarks.entries)
    gone = sum(not entry.still_holds for entry in remarks.entries)
    withdrawn = f", {gone} of them withdrawn" if gone else ""
    return f"Remarks of reviewers: {count or 'none'}{withdrawn}"


def remark_head(entry: Entry) -> str:
    """``Ivo Marr, 2026-05-04 09:30 UTC [point SW-07]``; ``WITHDRAWN`` comes first where it is."""
    remark = entry.remark
    gone = "" if entry.still_holds else "WITHDRAWN  "
    return f"{gone}{remark.by}, {format_minute(remark.time)} [{remark.about.words}]"


def remark_notes(entry: Entry) -> Iterator[str]:
    """Why it was withdrawn, and whether the record is another one since."""
    remark, gone = entry.remark, entry.withdrawn
    if gone is not None:
        yield f"withdrawn {format_minute(gone.time)}: {gone.text}"
    if entry.since is not Since.SAME:
        yield f"{entry.since.value}; it had {counted(remark.rows, 'row')}, seal {seal_groups(remark.seal)}"


def trouble_lines(remarks: Remarks) -> list[str]:
    """What is wrong with files of remarks that cannot be used."""
    return [f"{problem.where}: {problem.what}" for problem in remarks.problems]
