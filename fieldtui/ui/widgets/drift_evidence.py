"""Why the drift watch spoke up: readings against what two points should read."""

from __future__ import annotations

import math

from textual.content import Content

from fieldtui.core.drift.expectations import Expectation
from fieldtui.core.drift.watch import Alarm, Evidence
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.drift_words import percent

_POINT_WIDTH = 11


def alarm_in_words(alarm: Alarm) -> str:
    """What may have happened, how likely it is, and where it began."""
    sure = f"{alarm.cause}: {percent(alarm.probability)}"
    since = f"since record {alarm.began_at}"
    earliest = f", not before record {alarm.not_before}" if alarm.not_before < alarm.began_at else ""
    return f"{sure[0].upper()}{sure[1:]}, {since}{earliest}."


def elsewhere(shift: int | None) -> str:
    """Where the readings would belong, for the head of a column."""
    if shift is None:
        return "from the far end"
    if shift == 0:
        return "in step"
    return f"{counted(abs(shift), 'point')} {'further' if shift > 0 else 'back'}"


def evidence_table(alarm: Alarm, survey: Survey) -> Content:
    """One line a reading: what was read, what its point should read, and what the other one should."""
    head = f"{'record':>6} {'read':>12}  {'as recorded, about':<25}{elsewhere(alarm.shift)}, about"
    lines = [Content.styled(head, "bold")]
    lines += [_line(each, survey.records[each.record].reading.unit, survey) for each in alarm.evidence]
    return Content("\n").join(lines)


def _line(evidence: Evidence, unit: Unit, survey: Survey) -> Content:
    record = survey.records[evidence.record]
    there = evidence.as_shifted
    closer = there is not None and _far(evidence, there) < _far(evidence, evidence.as_recorded)
    parts = [
        Content(f"{evidence.record:>6} {record.reading!s:>12}  "),
        _expected(evidence.as_recorded, unit).truncate(25, ellipsis=True, pad=True),
        _expected(there, unit) if there is not None else Content("off the route"),
        Content("  ◀ closer" if closer else ""),
    ]
    return Content("").join(parts)


def _expected(expectation: Expectation, unit: Unit) -> Content:
    """A point and the middle of what it should read; for looking at, so three figures do."""
    value = f"{expectation.ohms / 10**unit.exponent:.3g} {unit.symbol}"
    name = shown(expectation.point, "bold").truncate(_POINT_WIDTH, ellipsis=True, pad=True)
    return name + Content(f" {value}")


def _far(evidence: Evidence, expectation: Expectation) -> float:
    """How many spreads the reading is away from what is expected."""
    if evidence.ohms <= 0:
        return math.inf
    return abs(math.log(evidence.ohms) - expectation.mean) / expectation.spread
