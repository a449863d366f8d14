"""What the meter's memory lists showed when the record was held against them, as their rows say it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.memory import undecided_in
from fieldtui.core.trail import events as ev
from fieldtui.desk.reconcile_words import ERASED, NO_RECORD, NO_VALUE, STANDARD, UNDECIDED
from fieldtui.report.findings.finding import Finding, Kind, place

_ALONE = re.compile(r"\b[1-9][0-9]* in the memory only\b")
_LISTED = re.compile(rf"; {NO_RECORD}(?P<entries>.+)")
_STANDING = re.compile(rf"; {ERASED}(?P<records>[^;]+)")
_EMPTY = re.compile(rf"; {NO_VALUE}(?P<records>[^;]+)")
_OTHERWISE = re.compile(rf"; {STANDARD}(?P<entries>[^;]+)")
_LEFT = re.compile(rf"; {UNDECIDED}(?P<lines>[^;]+)")
_ENTRY = re.compile(r"(?P<number>[0-9]+) = (?P<shown>[^|]+)")
_WITHOUT = ("no value", "erased")  # what an entry of a try shows
_REMEDY = "hold the list against the record again"


def find_in_lists(events: Sequence[ev.Event], draft: Draft) -> Iterator[Finding]:
    """What was left open of each memory run when it was last held against a list; ``draft`` is the survey."""
    rows = enumerate(events, 1)
    last = {event.run: (row, event) for row, event in rows if isinstance(event, ev.Reconciled)}
    for row, event in last.values():
        against = f"memory run {event.run} was held against {event.ref}"
        for kind, what, remedy in (
            (Kind.UNDECIDED, _undecided(event), f"see what was decided after that row; {_REMEDY}"),
            (
                Kind.NO_RECORD,
                _no_record(event, events),
                "find out what was measured there: a reading that nobody keyed, or one from before",
            ),
            (
                Kind.ERASED,
                _standing(_STANDING, "the meter shows the entry as erased", event, draft),
                "find out why it was deleted; strike the reading out, or take it again",
            ),
            (
                Kind.NO_VALUE,
                _standing(_EMPTY, "the meter shows no value there", event, draft),
                "find out what was read there; strike the reading out, or take it again",
            ),
            (
                Kind.STANDARD,
                _other_standard(event),
                "find out which is right: the meter was judged by the recorded one",
            ),
        ):
            if what:
                yield Finding(kind, f"{against}: {what}", where=place(row=row), remedy=remedy)


def _undecided(event: ev.Reconciled) -> str:
    """What was counted, and the lines that were left undecided, in words; empty where none were."""
    if not undecided_in(event.note):
        return ""
    counts = event.note
    for more in (ERASED, NO_VALUE, STANDARD, UNDECIDED, NO_RECORD):
        counts = counts.partition(f"; {more}")[0]
    left = _LEFT.search(event.note)
    return f"{counts}: {left['lines'].replace(' | ', ', ')}" if left else counts


def _other_standard(event: ev.Reconciled) -> str:
    """The check standard where the memory shows another value of it than was recorded, in words."""
    found = _OTHERWISE.search(event.note)
    if found is None:
        return ""
    return "the check standard is another there: number " + found["entries"].replace(" | ", ", number ")


def _no_record(event: ev.Reconciled, events: Sequence[ev.Event]) -> str:
    """The entries that are on no record, in words; those of a try or the check standard are known."""
    if _ALONE.search(event.note) is None:
        return ""
    listed = _LISTED.search(event.note)
    if listed is None:
        return event.note  # a row of an earlier program: it has the count alone
    known = {
        (each.run, each.number, shown)
        for each in events
        if isinstance(each, ev.AttemptFailed | ev.StandardRead)
        for shown in ([str(each.reading)] if isinstance(each, ev.StandardRead) else _WITHOUT)
    }
    entries = [
        entry
        for entry in listed["entries"].split(" | ")
        if (found := _ENTRY.fullmatch(entry)) is None
        or (event.run, int(found["number"]), found["shown"]) not in known
    ]
    return (
        f"in the meter's memory and on no record: {', '.join(map(_entry_words, entries))}" if entries else ""
    )


def _entry_words(entry: str) -> str:
    """``number 34 (9.99 mΩ)``."""
    number, is_entry, shown = entry.partition(" = ")
    if not is_entry:
        return entry
    return f"number {number} ({shown})" if number != "?" else f"an entry without a number ({shown})"


def _standing(named: re.Pattern[str], shows: str, event: ev.Reconciled, draft: Draft) -> str:
    """What the meter ``shows`` of the records that ``named`` finds and that stand still; empty for none."""
    found = named.search(event.note)
    if found is None:
        return ""
    words = found["records"].split(" | ")
    records = [draft.records.get(int(word)) for word in words if word.isdecimal() and len(word) < 10]
    left = [str(each.record) for each in records if each is not None and each.is_valid and not each.is_erased]
    more = [word for word in words if not word.isdecimal()]
    return f"{shows}, and the reading stands: record {', '.join(left + more)}" if left or more else ""
