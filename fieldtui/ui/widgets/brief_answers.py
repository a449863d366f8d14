"""What was keyed in the brief, understood: the brief itself, and what cannot be taken as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, parse_resistance
from fieldtui.core.plan.route import Route
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import (
    BATTERY,
    CAUTIONS,
    CELSIUS_FORM,
    STANDARD,
    TIPS,
    Brief,
    blocks,
    parse_celsius,
)
from fieldtui.core.text import normal, refusal
from fieldtui.desk.entry import parse_memory_number
from fieldtui.errors import BadInputError

JOB = "job reference"
PROBER = "prober"
RECORDER = "recorder"
NUMBER = "next memory number"
AMBIENT = "ambient temperature"
CONDUCTOR = "conductor temperature"  # of what is measured, where it is not the air's


@dataclass(frozen=True, slots=True)
class Keyed:
    """The form as it stands. ``None`` where a question was not answered yet."""

    instrument: Instrument
    texts: Mapping[str, str]  # by field name
    battery_good: bool | None = None
    tips_good: bool | None = None
    cautions_read: bool = False
    overrides: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Understood:
    """The brief, and by field what must be keyed again or is missing."""

    brief: Brief
    mistakes: Mapping[str, str]

    def stops(self, today: date, route: Route | None = None) -> dict[str, str]:
        """Everything that keeps the walk from beginning, by field or item."""
        return {
            **self.mistakes,
            **{k: v for k, v in blocks(self.brief, today, route).items() if k not in self.mistakes},
        }


def understand(keyed: Keyed) -> Understood:
    """Every answer read; nothing is thrown away because another one is bad."""
    mistakes: dict[str, str] = {}
    texts = {name: _clean(name, text, mistakes) for name, text in keyed.texts.items()}
    for name in (PROBER, RECORDER, JOB):
        if not texts.get(name) and name not in mistakes:
            mistakes[name] = "missing"
    reasons = {item: _clean(item, text, mistakes) for item, text in keyed.overrides.items()}
    if keyed.battery_good is None:
        mistakes[BATTERY] = "say whether it is good"
    if keyed.tips_good is None:
        mistakes[TIPS] = "say whether they are good"
    brief = Brief(
        job=texts.get(JOB, ""),
        crew=Crew(prober=texts.get(PROBER, ""), recorder=texts.get(RECORDER, "")),
        instrument=keyed.instrument,
        next_number=_number(texts.get(NUMBER, ""), keyed.instrument, mistakes),
        ambient_c=_celsius(AMBIENT, texts, mistakes),
        conductor_c=_celsius(CONDUCTOR, texts, mistakes),
        standard=_standard(texts.get(STANDARD, ""), keyed.instrument, mistakes),
        battery_good=keyed.battery_good is not False,
        tips_good=keyed.tips_good is not False,
        cautions_read=keyed.cautions_read,
        overrides={item: reason for item, reason in reasons.items() if reason and item != CAUTIONS},
    )
    return Understood(brief, mistakes)


def _clean(name: str, text: str, mistakes: dict[str, str]) -> str:
    text = normal(text)
    why = refusal(text)
    if why is not None:
        mistakes[name] = why
        return ""
    return text


def _number(text: str, instrument: Instrument, mistakes: dict[str, str]) -> int | None:
    if not instrument.memory_size:
        return None
    last = instrument.first_number + instrument.memory_size - 1
    if not text:
        mistakes.setdefault(NUMBER, f"look at the meter; {instrument.first_number} where its memory is empty")
        return None
    try:
        number = parse_memory_number(text)
    except BadInputError as error:
        mistakes.setdefault(NUMBER, error.what)
        return None
    if not instrument.first_number <= number <= last:
        mistakes[NUMBER] = f"{number}: this memory goes from {instrument.first_number} to {last}"
        return None
    return number


def _celsius(name: str, texts: Mapping[str, str], mistakes: dict[str, str]) -> Decimal | None:
    text = texts.get(name, "")
    if not text:
        return None
    celsius = parse_celsius(text)
    if celsius is None:
        mistakes[name] = f"{text}: {CELSIUS_FORM}"
    return celsius


def _standard(text: str, instrument: Instrument, mistakes: dict[str, str]) -> Resistance | None:
    if instrument.check_standard is None or not text:
        return None
    try:
        return parse_resistance(text, instrument.check_standard.value.unit)
    except NotAResistanceError as error:
        mistakes[STANDARD] = str(error)
        return None
