"""The meter's memory list, read out into a CSV file: ``run,number,value,unit,state``.

``state`` is empty or ``erased``. The order of the lines is the order in the meter's memory.
"""

from __future__ import annotations

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, parse_resistance
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.errors import BadInputError
from fieldtui.files.csv_lines import CsvLines

COLUMNS = ("run", "number", "value", "unit", "state")
_STATES = ("", "erased")


def parse_memory_list(data: bytes, file: str, default: Unit) -> list[MemoryEntry]:
    """The entries of a memory list; values without a unit are in ``default``.

    Raises:
        BadInputError: with every bad line.
    """
    table = CsvLines(file, COLUMNS, ("number", "value"))
    entries = [
        _entry(table, line, named, table.unit(named["unit"], line) or default)
        for line, named in table.rows(data)
    ]
    if table.problems:
        count = len(table.problems)
        raise BadInputError(
            f"The memory list has {count} problem{'s' if count > 1 else ''}; nothing was compared",
            where=file,
            remedy="put them right and reconcile again",
            problems=table.problems,
        )
    return entries


def _entry(table: CsvLines, line: int, named: dict[str, str], unit: Unit) -> MemoryEntry:
    erased = bool(named["state"]) and table.word(named["state"], _STATES, "state", line) == "erased"
    reading: Resistance | None = None
    if named["value"]:
        try:
            reading = parse_resistance(table.figure(named["value"]), unit)
        except NotAResistanceError as error:
            table.find(line, "value", str(error), "write the value as the meter shows it")
    elif not erased:
        table.find(line, "value", "an entry without a value", "write the value, or the state erased")
    return MemoryEntry(
        run=table.whole(named, "run", line),
        number=table.whole(named, "number", line),
        reading=reading,
        erased=erased,
    )
