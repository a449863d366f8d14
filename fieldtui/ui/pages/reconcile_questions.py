"""What the reconcile page asks, and what it says of what was done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import Enum

from textual.content import Content

from fieldtui.core.account.closing import run_state
from fieldtui.core.pairing.alignment import MemoryEntry, Option, Undecided
from fieldtui.core.survey.memory import MemoryRun
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.phrases import VERDICTS
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.widgets.reconcile_rows import option_in_words

PICKS = "A digit picks. Esc or -: back."
_NAMED = 3  # lines and verdicts that are named one by one


class Source(Enum):
    """Where the list comes from."""

    FILE = "file"
    BLIND = "blind"
    ANEW = "anew"  # blind, and what was keyed so far is given up


def ways_to_list(keyed: str) -> Iterator[tuple[Row, Source]]:
    """The ways to a list; ``keyed`` says what was keyed so far, which is gone on with."""
    go_on = f" ({keyed}: go on)" if keyed else ", the record out of sight"
    yield Row(1, Content("from a file: run,number,value,unit,state")), Source.FILE
    yield Row(2, Content(f"keyed from the meter{go_on}")), Source.BLIND
    if keyed:
        yield Row(9, Content("keyed anew from its first line; those so far are lost")), Source.ANEW


def run_words(run: MemoryRun, survey: Survey) -> str:
    """``memory run 1: 12 readings, not reconciled``, with its meter where there are several."""
    count = sum(record.run == run.run for record in survey.records.values())
    meter = f", {survey.meters[run.meter].instrument.title}" if len(survey.meters) > 1 else ""
    return f"memory run {run.run}: {count} readings, {run_state(survey, run.run)}{meter}"


def why_take_over(count: int, left: Sequence[str], *, is_settled: bool) -> Content:
    """Asks for the reason; ``left`` is what stays undecided, named because the run is settled over it."""
    what = counted(count, "correction") if count else "nothing to correct"
    then = "the run is settled" if is_settled else "the run is NOT settled by it"
    heading = shown(f"Take over what is certain ({what}); {then}: why?", "bold")
    return Content("\n").join([heading, *(shown(f"! {line}", "bold $text-warning") for line in _left(left))])


def _left(left: Sequence[str]) -> Iterator[str]:
    for line in left[:_NAMED]:
        yield f"UNDECIDED STILL: {line}"
    if len(left) > _NAMED:
        yield f"and {len(left) - _NAMED} more undecided"


def changed_verdicts(before: Survey, after: Survey) -> list[str]:
    """Readings whose verdict is another now: record, point, verdict before and after."""
    pairs = ((before.records[number], record) for number, record in after.records.items())
    return [
        f"record {new.record} at {new.point} was {VERDICTS[old.verdict].word}, "
        f"is {VERDICTS[new.verdict].word} now"
        for old, new in pairs
        if old.verdict is not new.verdict
    ]


def changes_words(changed: Sequence[str]) -> str:
    """``VERDICT CHANGED: record 4 at SW-04 was FAIL, is pass now``; empty where there is none."""
    if not changed:
        return ""
    more = f"; and {len(changed) - _NAMED} more" if len(changed) > _NAMED else ""
    return f"VERDICT CHANGED: {'; '.join(changed[:_NAMED])}{more}"


def which_is_it(undecided: Undecided, survey: Survey, memory: Sequence[MemoryEntry]) -> PickDialog[Option]:
    """Which of the possibilities it was."""
    rows = [
        (Row(number, shown(option_in_words(option, survey, memory))), option)
        for number, option in enumerate(undecided.options, start=1)
    ]
    return PickDialog("Undecided: which is it?", rows, hint=PICKS, enter_picks=False, is_unforeseen=True)


def is_it_there(record: int, number: int | None, why: str) -> PickDialog[bool]:
    """Whether the meter has the entry of a reading that its list lacks; nothing but a look at it tells."""
    heading = Content.styled(f"Record {record} is not in the list: was it kept?", "bold")
    heading = Content("\n").join([heading, shown(f"{why}.")])
    rows = [
        (Row(1, Content(f"number {number} is on the meter: the list lost its line, the record stays")), True),
        (Row(2, Content("it is not on the meter: this reading was not kept")), False),
    ]
    return PickDialog(heading, rows, hint=PICKS, enter_picks=False, is_unforeseen=True)
