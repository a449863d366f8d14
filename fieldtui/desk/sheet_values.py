"""The value on a line of a paper sheet: a resistance, or a voltage where the route has it so."""

from __future__ import annotations

from decimal import Decimal

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, parse_resistance
from fieldtui.core.measurement.voltage import VoltageReading, default_volt_unit, parse_voltage
from fieldtui.core.plan.route import Point
from fieldtui.files.sheet import Sheet, SheetLine

_AS_CALLED = "write the value as it was called out"


def value_at(line: SheetLine, point: Point | None, unit: Unit, sheet: Sheet) -> Resistance | None:
    """What was read at ``point``; None where there is no such value, with the reason noted.

    Without a point, which is told elsewhere, ``unit`` is the one of a bare value, and a voltage is let pass.
    """
    if not line.value:
        return None  # told already
    if point is None:
        return (
            None
            if line.volt_unit is not None or _is_voltage(line.value)
            else resistance_on(line, unit, sheet)
        )
    if point.current_ma is not None:
        return _voltage_on(line, point, point.current_ma, sheet)
    if line.volt_unit is not None:
        what = f"{point.id} is read in {point.unit.value}; {line.volt_unit.value} is a unit of voltage"
        sheet.find(
            line.line,
            "unit",
            what,
            f"write the unit called out, or leave the cell empty for {point.unit.value}",
        )
        return None
    return resistance_on(line, point.unit, sheet)


def resistance_on(line: SheetLine, unit: Unit, sheet: Sheet) -> Resistance | None:
    """A value in ohm, in ``unit`` where neither it nor the line says one; None with the reason noted."""
    try:
        reading = parse_resistance(line.value, line.unit or unit)
    except NotAResistanceError as error:
        sheet.find(line.line, "value", str(error), _AS_CALLED)
        return None
    if line.unit is not None and reading.unit is not line.unit:
        _find_two_units(line, line.unit.value, sheet)
        return None
    return reading


def _voltage_on(line: SheetLine, point: Point, current_ma: Decimal, sheet: Sheet) -> Resistance | None:
    usual = default_volt_unit(point.unit)
    if line.unit is not None:
        what = f"{point.id} is read in voltages (±{usual.value}), not in {line.unit.value}"
        remedy = f"write {usual.value} here and the voltage with its sign as the value, such as -0.52"
        sheet.find(line.line, "unit", what, remedy)
        return None
    if line.current_ma is not None and line.current_ma != current_ma:
        what = f"{line.current_ma:f} mA, but the test current at {point.id} is {current_ma:f} mA"
        sheet.find(line.line, "unit", what, f"write {usual.value}, or put current_ma right on the route")
        return None
    try:
        reading: VoltageReading = parse_voltage(line.value, line.volt_unit or usual, current_ma)
    except NotAResistanceError as error:
        sheet.find(line.line, "value", str(error), "write the voltage as it was called out, with its sign")
        return None
    if line.volt_unit is not None and reading.volt_unit is not line.volt_unit:
        _find_two_units(line, line.volt_unit.value, sheet)
        return None
    return reading


def _find_two_units(line: SheetLine, beside: str, sheet: Sheet) -> None:
    what = f"{line.value}: its own letter says another unit than {beside} in the column unit"
    sheet.find(line.line, "value", what, f"empty the unit cell, or write the value in {beside}")


def _is_voltage(text: str) -> bool:
    try:
        parse_voltage(text, default_volt_unit(Unit.MOHM), Decimal(1))
    except NotAResistanceError:
        return False
    return True
