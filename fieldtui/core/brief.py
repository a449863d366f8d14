"""The brief: what the crew answers before the walk, and what keeps the walk from beginning.

A lapsed calibration, a failed check standard, a weak battery or worn tips block the walk. Each
can be overridden for a reason; the override is a row of the trail and stands on every report.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from fieldtui.core.events import Answer, Briefed
from fieldtui.core.ohms import Resistance
from fieldtui.core.session import Crew
from fieldtui.core.tables import Instrument

CALIBRATION = "calibration"
STANDARD = "check standard"
BATTERY = "battery"
TIPS = "probe tips"
CAUTIONS = "cautions read"
ITEMS = (CAUTIONS, CALIBRATION, STANDARD, BATTERY, TIPS)


@dataclass(frozen=True, slots=True)
class Brief:
    """What was answered. ``overrides`` holds the reason for going on, by item."""

    job: str
    crew: Crew
    instrument: Instrument
    next_number: int | None  # memory number the first reading will get; None without a memory
    ambient_c: Decimal | None = None
    standard: Resistance | None = None  # the check standard as read before the walk
    battery_good: bool = True
    tips_good: bool = True
    cautions_read: bool = True
    overrides: Mapping[str, str] = field(default_factory=dict)

    def override(self, item: str) -> str:
        """Why a bad item is gone on with all the same; empty where nobody said."""
        return self.overrides.get(item, "").strip()


def findings(brief: Brief, today: date) -> dict[str, str]:
    """What is not as it should be, by item: a sentence each. Empty where all is good."""
    found: dict[str, str] = {}
    instrument = brief.instrument
    if not brief.cautions_read:
        found[CAUTIONS] = "the cautions were not read"
    if instrument.calibration_due is None:
        found[CALIBRATION] = "no calibration date is known for this meter"
    elif instrument.calibration_due < today:
        found[CALIBRATION] = f"calibration lapsed on {instrument.calibration_due.isoformat()}"
    if sentence := _standard_finding(brief):
        found[STANDARD] = sentence
    if not brief.battery_good:
        found[BATTERY] = "the battery is weak"
    if not brief.tips_good:
        found[TIPS] = "the probe tips are worn or dirty"
    return found


def blocks(brief: Brief, today: date) -> dict[str, str]:
    """The findings that nobody has overridden: while there is one, the walk does not begin."""
    return {item: why for item, why in findings(brief, today).items() if not brief.override(item)}


def answers(brief: Brief, today: date, time: datetime) -> list[Briefed]:
    """The brief as events, one an item."""
    found = findings(brief, today)
    rows = []
    for item in ITEMS:
        if item == STANDARD and brief.instrument.check_standard is None:
            continue
        reason = brief.override(item) if item in found else ""
        good = Answer.OVERRIDE if reason else Answer.BAD
        rows.append(
            Briefed(
                time=time,
                by=brief.crew.recorder,
                ref=item,
                verdict=good if item in found else Answer.GOOD,
                reading=brief.standard if item == STANDARD else None,
                reason=reason,
                note=found.get(item, ""),
            )
        )
    return rows


def _standard_finding(brief: Brief) -> str:
    standard = brief.instrument.check_standard
    if standard is None:
        return ""
    if brief.standard is None:
        return f"the check standard of {standard.value} was not read"
    off = abs(brief.standard.ohms - standard.value.ohms)
    if off > standard.tolerance.ohms:
        return (
            f"the check standard reads {brief.standard}, not within {standard.tolerance} of {standard.value}"
        )
    return ""
