"""The meters of a session, and how the definition of one that comes later is written in the trail.

The definition is one line of JSON (RFC 8259) in the trail's note column, readable by eye, so that
the session can be judged with nothing else at hand:
``{"title": "Spare bond meter", "serial": "0041", "unit": "mohm", "memory_size": "40", …}``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, parse_number, parse_unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.named_texts import NotNamedTextsError, format_texts, parse_texts
from fieldtui.core.plan.route import Route
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.survey.memory import MemoryRun
from fieldtui.core.survey.standing import Conditions, Record

UNLISTED = "unlisted"  # id of a meter that no table knows: nothing but its name is known
UNNAMED = Instrument(id="unknown", title="not stated")  # of a paper sheet keyed without naming its meter
_FLAGS = ("erased_number_stays_used", "spoiled_number_stays_used")
_WHOLES = ("memory_size", "first_number", "auto_off_s", "settle_s", "standard_every")
_FIELDS = frozenset(
    {
        *("title", "serial", "unit", "calibration_due", "standard", "tolerance", "standard_unit"),
        *("standard_title", "percent", "floor", "resolution", "coverage", *_FLAGS, *_WHOLES),
    }
)


class NotAMeterError(ValueError):
    """The text does not define a meter; the message says why."""


@dataclass(frozen=True, slots=True)
class MeterInUse:
    """A meter, and the row it was taken in: 0 for the one that the session began with."""

    row: int
    instrument: Instrument
    reason: str = ""


def meter_at(meters: Sequence[MeterInUse], row: int) -> int:
    """The place among ``meters`` of the one in use in ``row``."""
    return next(place for place in range(len(meters) - 1, -1, -1) if meters[place].row <= row)


def meter_of(meters: Sequence[MeterInUse], record: Record) -> Instrument:
    """The meter that a reading was taken with."""
    return meters[meter_at(meters, record.row)].instrument


def is_same_meter(one: Instrument, other: Instrument) -> bool:
    """Whether two definitions are of one and the same meter."""
    return (one.id, one.serial, one.title) == (other.id, other.serial, other.title)


def left_at(meters: Sequence[MeterInUse], runs: Sequence[MemoryRun], meter: Instrument) -> int | None:
    """The number that a meter showed as its last one when it was laid aside; None where it was not in use."""
    own = [run for run in runs if is_same_meter(meters[run.meter].instrument, meter)]
    return own[-1].filed_last if own else None


def is_unnamed(instrument: Instrument) -> bool:
    """Whether nobody said which meter it is: then nothing is known of it, its memory neither."""
    return is_same_meter(instrument, UNNAMED)


def conditions_with(meters: Sequence[MeterInUse], route: Route) -> Conditions:
    """What verdicts depend on: of a reading taken now, and :meth:`Conditions.of` earlier ones."""
    stated = tuple((each.row, each.instrument.accuracy) for each in meters)
    return Conditions(meters[-1].instrument.accuracy, route.celsius, stated if len(meters) > 1 else ())


def meter_words(instrument: Instrument) -> str:
    """``Spare bond meter, serial 0041``."""
    return f"{instrument.title}, serial {instrument.serial}" if instrument.serial else instrument.title


def calibration_trouble(instrument: Instrument, today: date) -> str:
    """What is wrong with a meter's calibration on the day, in words; empty where it is in date."""
    due = instrument.calibration_due
    if due is None:
        return "no calibration date is known for this meter"
    return f"calibration lapsed on {due.isoformat()}" if due < today else ""


def unlisted_meter(name: str, like: Instrument) -> Instrument:
    """A meter of which nothing but its name is known; it shows values in the unit of ``like``."""
    return Instrument(id=UNLISTED, title=name, unit=like.unit)


def format_meter(instrument: Instrument) -> str:
    """The one line of JSON that the trail carries. What is as usual is left out."""
    usual = Instrument(id="", title="")
    fields = {"title": instrument.title, "serial": instrument.serial, "unit": instrument.unit.value}
    for name in _WHOLES:
        if getattr(instrument, name) != getattr(usual, name):
            fields[name] = str(getattr(instrument, name))
    for name in _FLAGS:
        if not getattr(instrument, name):
            fields[name] = "no"
    if instrument.calibration_due is not None:
        fields["calibration_due"] = instrument.calibration_due.isoformat()
    standard, accuracy = instrument.check_standard, instrument.accuracy
    if standard is not None:
        unit = standard.value.unit
        fields |= {"standard": standard.value.digits, "tolerance": standard.tolerance.to(unit).digits}
        fields |= {"standard_unit": unit.value, "standard_title": standard.title}
    if accuracy is not None:
        fields |= {"percent": f"{accuracy.percent:f}", "floor": accuracy.floor.to(instrument.unit).digits}
        if accuracy.resolution is not None:
            fields["resolution"] = accuracy.resolution.to(instrument.unit).digits
        fields["coverage"] = f"{accuracy.coverage:f}"
    return format_texts(fields)


def parse_meter(meter: str, text: str) -> Instrument:
    """The meter with the id ``meter`` behind a definition from the trail.

    Raises:
        NotAMeterError: with the reason in words.
    """
    try:
        fields = parse_texts(text)
    except NotNamedTextsError as error:
        raise NotAMeterError(str(error)) from error
    if unknown := sorted(fields.keys() - _FIELDS):
        raise NotAMeterError(f"{unknown[0]} is nothing that a meter has")
    if not fields.get("title"):
        raise NotAMeterError("the meter has no title")
    try:
        return _meter_of(meter, fields)
    except (NotAResistanceError, ValueError) as error:
        raise NotAMeterError(str(error)) from error


def _meter_of(meter: str, fields: dict[str, str]) -> Instrument:
    unit = parse_unit(fields.get("unit", ""))

    def value(name: str) -> Resistance:
        return Resistance(parse_number(fields.get(name, "")), unit)

    standard = accuracy = None
    if "standard" in fields:
        of = parse_unit(fields.get("standard_unit", ""))
        standard = CheckStandard(
            Resistance(parse_number(fields["standard"]), of),
            Resistance(parse_number(fields.get("tolerance", "")), of),
            fields.get("standard_title", ""),
        )
    if "percent" in fields:
        accuracy = Accuracy(
            percent=_number(fields["percent"]),
            floor=value("floor"),
            resolution=value("resolution") if "resolution" in fields else None,
            coverage=_number(fields.get("coverage", "2")),
        )
        if not accuracy.coverage:
            raise NotAMeterError("a coverage factor of nought is none")
    wholes: dict[str, Any] = {name: _whole(fields[name]) for name in _WHOLES if name in fields}
    flags: dict[str, Any] = {name: fields[name] != "no" for name in _FLAGS if name in fields}
    due = fields.get("calibration_due")
    return Instrument(
        id=meter,
        title=fields["title"],
        serial=fields.get("serial", ""),
        unit=unit,
        calibration_due=date.fromisoformat(due) if due is not None else None,
        check_standard=standard,
        accuracy=accuracy,
        **wholes,
        **flags,
    )


def _number(text: str) -> Decimal:
    number = parse_number(text)
    if number < 0:
        raise NotAMeterError(f"{text} is below nought")
    return number


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 5):
        raise NotAMeterError(f"{text!r} is not a whole number of at most five digits")
    return int(text)
