"""The brief: what the crew answers before the walk, and what keeps the walk from beginning.

A lapsed calibration, a failed check standard, a weak battery or worn tips block the walk. Each
can be overridden for a reason; the override is a row of the trail and stands on every report.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Route
from fieldtui.core.plan.session import Crew, measured_at
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.trail.events import STANDARD_ITEM, Answer, Briefed
from fieldtui.core.verdict.judging import lacks_accuracy

CALIBRATION = "calibration"
STANDARD = STANDARD_ITEM
BATTERY = "battery"
TIPS = "probe tips"
CAUTIONS = "cautions read"
ITEMS = (CAUTIONS, CALIBRATION, STANDARD, BATTERY, TIPS)
DECISION = "decision rule"
TEMPERATURE = "temperature"
ROUTE_ITEMS = (DECISION, TEMPERATURE)  # asked only where the route needs an answer

_CELSIUS = re.compile(r"-?[0-9]{1,3}(\.[0-9]{1,2})?", re.ASCII)
_COLDEST, _HOTTEST = Decimal(-60), Decimal(80)  # °C; beyond it is a slip, not weather
CELSIUS_FORM = f"degrees Celsius from {_COLDEST} to {_HOTTEST}, such as 18.5"


def parse_celsius(text: str) -> Decimal | None:
    """A temperature as keyed, degrees Celsius; None where it is none, see ``CELSIUS_FORM``."""
    if _CELSIUS.fullmatch(text) is None or not _COLDEST <= Decimal(text) <= _HOTTEST:
        return None
    return Decimal(text)


@dataclass(frozen=True, slots=True)
class Brief:
    """What was answered. ``overrides`` holds the reason for going on, by item."""

    job: str
    crew: Crew
    instrument: Instrument
    next_number: int | None  # memory number the first reading will get; None without a memory
    ambient_c: Decimal | None = None
    conductor_c: Decimal | None = None  # of what is measured, where it is not the air's
    standard: Resistance | None = None  # the check standard as read before the walk
    battery_good: bool = True
    tips_good: bool = True
    cautions_read: bool = True
    overrides: Mapping[str, str] = field(default_factory=dict)

    def override(self, item: str) -> str:
        """Why a bad item is gone on with all the same; empty where nobody said."""
        return self.overrides.get(item, "").strip()


def findings(brief: Brief, today: date, route: Route | None = None) -> dict[str, str]:
    """What is not as it should be, by item: a sentence each. Empty where all is good.

    With ``route`` also what its verdicts would rest on and lack.
    """
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
    if route is not None:
        celsius = measured_at(brief.conductor_c, brief.ambient_c)
        found |= lacking(route.at_temperature(celsius), instrument)
    return found


def lacking(route: Route, instrument: Instrument) -> dict[str, str]:
    """What the route's verdicts should rest on and do not, by item: a sentence each.

    Without an accuracy every decision rule is simple acceptance; without a temperature values are
    judged as measured. Neither is done without this being said.
    """
    found: dict[str, str] = {}
    limits = [limit for point in route.points for limit in (point.limit, point.retest) if limit is not None]
    limits += [path.limit for path in route.paths]
    rules = {limit.rule.kind.value for limit in limits if lacks_accuracy(limit, instrument.accuracy)}
    if rules:
        found[DECISION] = (
            f"the route asks for the decision rule {' and '.join(sorted(rules))}, and no accuracy is known "
            "for this meter: verdicts are by simple acceptance"
        )
    if route.wants_temperature and route.celsius is None:
        found[TEMPERATURE] = (
            "the route asks for values at 20 °C, and no temperature was taken: they are judged as measured"
        )
    return found


def blocks(brief: Brief, today: date, route: Route | None = None) -> dict[str, str]:
    """The findings that nobody has overridden: while there is one, the walk does not begin."""
    return {item: why for item, why in findings(brief, today, route).items() if not brief.override(item)}


def answers(brief: Brief, today: date, time: datetime, route: Route | None = None) -> list[Briefed]:
    """The brief as events, one an item."""
    found = findings(brief, today, route)
    rows = []
    for item in (*ITEMS, *ROUTE_ITEMS):
        if item == STANDARD and brief.instrument.check_standard is None:
            continue
        if item in ROUTE_ITEMS and item not in found:
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
    return standard_finding(standard, brief.standard)


def standard_finding(standard: CheckStandard, reading: Resistance) -> str:
    """What is wrong with a reading of the check standard; empty where it is within its tolerance."""
    if abs(reading.ohms - standard.value.ohms) <= standard.tolerance.ohms:
        return ""
    return f"the check standard reads {reading}, not within {standard.tolerance} of {standard.value}"
