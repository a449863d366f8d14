"""How limits, verdicts and states are put to the recorder: a word and a shape, never colour alone."""

from __future__ import annotations

import math
from collections.abc import Container
from dataclasses import dataclass

from textual.content import Content

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Comparator, CriterionStatus, Limit, Point
from fieldtui.core.survey.memory import MemoryRun
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.copying import CopyState
from fieldtui.report.told import rests_on
from fieldtui.ui.shown import shown


@dataclass(frozen=True, slots=True)
class Mark:
    """A state or verdict on the screen. ``style`` only repeats what shape and word say."""

    shape: str
    word: str
    style: str

    def as_content(self, count: int | None = None) -> Content:
        """``✓ pass``, or with a count ``✓ 12 passed``."""
        words = [self.shape, *([] if count is None else [str(count)]), self.word]
        return Content.styled(" ".join(words), self.style)


VERDICTS = {
    Verdict.PASS: Mark("✓", "pass", "$text-success"),
    Verdict.CONDITIONAL_PASS: Mark("≈", "cond. pass", "$text-success"),
    Verdict.CONDITIONAL_FAIL: Mark("≠", "COND. FAIL", "bold $text-error"),
    Verdict.FAIL: Mark("✗", "FAIL", "bold $text-error"),
    Verdict.NOTED: Mark("•", "recorded", "$foreground"),
}
VOID = Mark("/", "VOID", "bold $text-warning")
DOUBT = Mark("?", "IN DOUBT", "bold $text-warning")  # for the meter, beside the word of the verdict
UNPROVEN = Mark("!", "UNPROVEN", "bold $text-error")  # the trail proves nothing of it

STATES = {
    State.PASSED: Mark("✓", "passed", "$text-success"),
    State.FAILED: Mark("✗", "FAILED", "bold $text-error"),
    State.RECORDED: Mark("•", "recorded", "$foreground"),
    State.WAIVED: Mark("~", "waived", "$text-warning"),
    State.INACCESSIBLE: Mark("#", "inaccessible", "$text-warning"),
    State.SKIPPED: Mark("»", "skipped", "bold $text-warning"),
    State.OPEN: Mark("○", "open", "$foreground"),
}

LAST_MINUTE_S = 60


def keyed_unit(point: Point) -> str:
    """The unit of a value keyed without one: ``mΩ``, or ``±mV at 100 mA`` where voltages are keyed."""
    at = f" at {point.current_ma:f} mA" if point.current_ma is not None else ""
    return f"{point.keyed_in}{at}"


_COMPARISONS = {
    Comparator.LESS: "less than",
    Comparator.AT_MOST: "at most",
    Comparator.MORE: "more than",
    Comparator.AT_LEAST: "at least",
}
_STATUSES = {
    CriterionStatus.UNVERIFIED: "UNVERIFIED",
    CriterionStatus.SECOND_HAND: "cited second-hand",
}


def limit_in_words(limit: Limit, unit: Unit | None = None) -> str:
    """``at most 0.003 Ω = 3 mΩ, guard band 1 U``, or that nothing is judged; ``unit`` is the entry's."""
    bounds = []
    if limit.minimum is not None:
        bounds.append(f"{_COMPARISONS[limit.lower]} {limit.minimum.in_both(unit)}")
    if limit.maximum is not None:
        bounds.append(f"{_COMPARISONS[limit.upper]} {limit.maximum.in_both(unit)}")
    if limit.record_only or not bounds:
        return "none: record only"
    return ", ".join(filter(None, (" and ".join(bounds), limit.rule_words)))


def limit_with_source(limit: Limit, unit: Unit | None = None) -> Content:
    """The limit with its decision rule, how far it can be trusted, and where it is published."""
    parts = [shown(limit_in_words(limit, unit), "bold")]
    if status := _STATUSES.get(limit.status):
        parts.append(Content.styled(status, "bold $text-warning"))
    if limit.source:
        parts.append(shown(limit.source))
    return Content("  ").join(parts)


def doubtful(mark: Mark, *, is_in_doubt: bool, is_unproven: bool = False) -> Mark:
    """``? IN DOUBT, pass`` where a failed check of the meter reaches what ``mark`` says; else ``mark``.

    ``! UNPROVEN, pass`` where the trail proves nothing of it.
    """
    for reason, holds in ((DOUBT, is_in_doubt), (UNPROVEN, is_unproven)):
        mark = Mark(reason.shape, f"{reason.word}, {mark.word}", reason.style) if holds else mark
    return mark


def reading_row(
    record: Record, survey: Survey | None = None, doubts: Container[int] = frozenset()
) -> Content:
    """One reading in a line: record, point, value, verdict, memory number; void ones say so.

    With ``survey`` also what the verdict rests on, where that is to be said; ``doubts`` are the numbers of
    the readings in doubt for the meter.
    """
    number = "" if record.number is None else f"memory {record.number}"
    is_in_doubt = record.record in doubts
    mark = doubtful(VERDICTS[record.verdict], is_in_doubt=is_in_doubt) if record.is_valid else VOID
    text_style = "" if record.is_valid else "strike"
    said = ", ".join(rests_on(survey, record)) if survey is not None else ""
    word = mark.as_content()
    parts = [
        Content(f"{record.record:>4}  "),
        shown(record.point).truncate(12, ellipsis=True, pad=True),
        Content(" "),
        shown(f"{record.reading!s:>12}", text_style),
        Content("  "),
        word + Content("  ") if is_in_doubt else word.truncate(max(12, len(word) + 1), pad=True),
        Content(f"{number:<13}" if not said else f"{number}  "),
        shown(f"{said}  " if said else "", "bold"),
    ]
    if record.void is not None:
        parts.append(shown(record.void))
    elif record.original is not None:
        parts.append(shown(_was(record, record.original)))
    return Content("").join(parts)


def _was(record: Record, first: Record) -> str:
    """What an amended reading was at first: value, point and memory number, as far as they changed."""
    was = [str(first.reading)] if first.reading != record.reading else []
    was += [f"at {first.point}"] if first.point != record.point else []
    was += [f"memory {first.number}"] if first.number not in (None, record.number) else []
    return f"was {', '.join(was)}" if was else ""


def sleep_in_words(seconds: float | None) -> str:
    """A countdown for the meter's last minute before it switches itself off; else nothing."""
    if seconds is None or seconds >= LAST_MINUTE_S:
        return ""
    if seconds <= 0:
        return "The meter has switched itself off by now."
    return f"The meter switches itself off in {math.ceil(seconds)} s unless something is read."


def copy_in_words(state: CopyState) -> str:
    """How the second copy stands, for the title."""
    if state.trouble:
        return "COPY FAILED"
    if state.behind:
        return f"COPY {state.behind} BEHIND"
    return "COPY ON SAME DISK" if state.is_on_same_disk else "COPY OK"


def room_in_words(run: MemoryRun | None) -> str:
    """How much the meter's memory still takes."""
    if run is None:
        return "no memory"
    if run.room is None:
        return "room not known"
    return "FULL" if run.is_full else f"room for {run.room}"
