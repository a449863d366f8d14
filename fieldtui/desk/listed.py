"""A line of the meter's memory list as it is keyed with the record out of sight."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit
from fieldtui.core.measurement.voltage import (
    VoltageReading,
    VoltUnit,
    default_volt_unit,
    parse_volt_unit,
    parse_voltage,
)
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.entry import weigh_value
from fieldtui.desk.reconciling import currents_of
from fieldtui.errors import BadInputError

ERASED = "-"
NO_VALUE = ("x", "ol", ".")  # over range or the like was filed; the point alone is on a numeric keypad
_VOLTAGE = re.compile(r"(?P<figure>[^V]*?) ?(?P<unit>[uµμm]?V.*)")
_IN_OHM = frozenset("ohRrKkML")  # of these letters none stands in a voltage


@dataclass(frozen=True, slots=True)
class ListUnits:
    """What a value without a unit is in: ``volts`` where only voltages can be meant, else ``unit``.

    ``currents`` are the test currents, mA, at which the session reads voltages.
    """

    unit: Unit
    currents: tuple[Decimal, ...] = ()
    volts: VoltUnit | None = None

    @property
    def symbol(self) -> str:
        """The unit of a value keyed without one."""
        return (self.volts or self.unit).symbol

    @property
    def example(self) -> str:
        """How a voltage is keyed; empty where the session reads none."""
        if not self.currents:
            return ""
        return "-0.52mV" if len(self.currents) == 1 else f"-0.52mV/{self.currents[0]:f}mA"


def list_units(survey: Survey, run: int, unit: Unit) -> ListUnits:
    """The units of the list of a memory run on a meter that shows ``unit``.

    A value without a unit is a voltage where every reading of the run is one, in the unit that it is keyed
    in at their points.
    """
    records = [record for record in survey.records.values() if record.run == run]
    keyed_in = {default_volt_unit(survey.points[record.point].unit) for record in records}
    is_all = bool(records) and all(isinstance(record.reading, VoltageReading) for record in records)
    volts = keyed_in.pop() if len(keyed_in) == 1 else default_volt_unit(unit)
    return ListUnits(unit, tuple(currents_of(survey)), volts if is_all else None)


def weigh_listed(text: str, run: int | None, number: int | None, units: ListUnits) -> MemoryEntry:
    """The entry that ``text`` says: a value, ``-`` where it is erased, ``x`` where it has no value.

    Raises:
        BadInputError: it is none of these; the reason in words.
    """
    if text == ERASED:
        return MemoryEntry(run, number, None, erased=True)
    has_value = text.casefold() not in NO_VALUE
    return MemoryEntry(run, number, _reading(text, units) if has_value else None)


def _reading(text: str, units: ListUnits) -> Resistance:
    found = _VOLTAGE.fullmatch(text)
    if found is None and (text.startswith("-") or (units.volts and not _IN_OHM & set(text))):
        # A sign is that of a voltage; so is a value without a unit, where nothing but voltages was read.
        volts = units.volts or default_volt_unit(units.unit)
        return _voltage(text, volts, None, units.currents)
    if found is None:
        return weigh_value(text, units.unit)
    try:
        said = parse_volt_unit(found["unit"])
    except NotAResistanceError as error:
        raise BadInputError(f"{text}: {error}") from error
    if said is None:
        raise BadInputError(f"{text}: a voltage is keyed in uV, mV or V, with its current as in mV/100mA")
    return _voltage(found["figure"], said[0], said[1], units.currents)


def _voltage(figure: str, volts: VoltUnit, current: Decimal | None, known: tuple[Decimal, ...]) -> Resistance:
    """A voltage at the current that it says, else at the only one of the session."""
    if current is None and len(known) == 1:
        current = known[0]
    if not current:
        at = ", ".join(f"{each:f} mA" for each in known)
        why = f"this session reads them at {at}" if at else "no point of this session is read in volt"
        raise BadInputError(f"a voltage of which current? Key it as in {volts.value}/100mA: {why}")
    try:
        return parse_voltage(figure, volts, current)
    except NotAResistanceError as error:
        raise BadInputError(str(error), remedy="key it again") from error
