"""The meter's memory list, read out into a CSV file: ``run,number,value,unit,state``.

``state`` is empty, ``erased``, or ``no-value`` where the entry holds none, as of a try over range; the
value may then be what the display says. The order of the lines is the order in the meter's memory. A
meter that stores voltages lists them in ``uV``, ``mV`` or ``V``, with their sign; ``mV/100mA`` says the
current too.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from fieldtui.core.measurement.ohms import (
    NotAResistanceError,
    Resistance,
    Unit,
    no_value_called,
    parse_resistance,
)
from fieldtui.core.measurement.voltage import parse_volt_unit, parse_voltage
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.errors import BadInputError
from fieldtui.files.csv_lines import CsvLines

COLUMNS = ("run", "number", "value", "unit", "state")
NO_VALUE = "no-value"
_STATES = ("", "erased", NO_VALUE)
_OR_VOLTS = ", or uV, mV, V of a voltage"  # of units, beside those of a resistance


def parse_memory_list(
    data: bytes, file: str, default: Unit, currents: Sequence[Decimal] = ()
) -> list[MemoryEntry]:
    """The entries of a memory list; values without a unit are in ``default``.

    ``currents`` are the test currents, mA, at which voltages may have been read: a voltage that does not
    say its own was read at the only one.

    Raises:
        BadInputError: with every bad line.
    """
    table = CsvLines(file, COLUMNS, ("number", "value"))
    entries = [_entry(table, line, named, default, currents) for line, named in table.rows(data)]
    if not entries and not table.problems:
        table.find(1, "", "there is no entry below the header", "write one line for each memory number")
    if table.problems:
        count = len(table.problems)
        raise BadInputError(
            f"The memory list has {count} problem{'s' if count > 1 else ''}; nothing was compared",
            where=file,
            remedy="put them right and reconcile again",
            problems=table.problems,
        )
    return entries


def _entry(
    table: CsvLines, line: int, named: dict[str, str], default: Unit, currents: Sequence[Decimal]
) -> MemoryEntry:
    state = table.word(named["state"], _STATES, "state", line) if named["state"] else ""
    if not named["value"] and not state:
        remedy = f"write the value, or the state erased, or {NO_VALUE} where the meter shows none"
        table.find(line, "value", "an entry without a value", remedy)
    return MemoryEntry(
        run=table.whole(named, "run", line),
        number=table.whole(named, "number", line),
        reading=_reading(table, line, named, default, currents) if state != NO_VALUE else None,
        erased=state == "erased",
        line=line,
    )


def _reading(
    table: CsvLines, line: int, named: dict[str, str], default: Unit, currents: Sequence[Decimal]
) -> Resistance | None:
    """What the entry shows, None where it shows nothing or is wrong (and then noted)."""
    try:
        volts = parse_volt_unit(named["unit"])
    except NotAResistanceError:
        volts = None  # told as a unit that is none
    if volts is None:
        unit = table.unit(named["unit"], line, _OR_VOLTS) or default
    if not named["value"]:
        return None
    figure = table.figure(named["value"])
    try:
        if volts is None:
            return parse_resistance(figure, unit)
        current = volts[1] or (currents[0] if len(currents) == 1 else None)
        if current:
            return parse_voltage(figure, volts[0], current)
    except NotAResistanceError as error:
        shown = f"write the state {NO_VALUE} beside it" if no_value_called(figure) else ""
        table.find(line, "value", str(error), shown or "write the value as the meter shows it")
        return None
    at = ", ".join(f"{each:f} mA" for each in currents)
    what = f"a voltage of which current? This session reads voltages at {at}" if at else ""
    remedy = f"write the unit with its current, {volts[0].value}/100mA for 100 mA"
    table.find(line, "unit", what or "a voltage, and no point of this session is read in volt", remedy)
    return None
