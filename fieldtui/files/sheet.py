"""A paper capture sheet, typed into a CSV file: one line for each thing that happened.

Columns: ``action,point,record,value,unit,memory,reason,note,time``; ``action`` is one of
``reading skip redo void attempt number run standard lead paper rework waive note``. This module
understands each line by itself; whether the lines make a survey is for the desk to find out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Literal, get_args

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit
from fieldtui.core.measurement.voltage import VoltUnit, parse_volt_unit
from fieldtui.files.csv_lines import MAX_BYTES, CsvLines

__all__ = ["ACTIONS", "COLUMNS", "MAX_BYTES", "Action", "Sheet", "SheetLine", "parse_sheet"]

COLUMNS = ("action", "point", "record", "value", "unit", "memory", "reason", "note", "time")

Action = Literal[
    "reading", "skip", "redo", "void", "attempt", "number", "run", "standard", "lead", "paper", "rework",
    "waive", "note",
]  # fmt: skip
ACTIONS: tuple[Action, ...] = get_args(Action)

# Texts without which a line about a failed point says nothing.
_WANTED: Mapping[Action, Mapping[str, str]] = {
    "paper": {"point": "the failed point", "reason": "the reference of the paper"},
    "rework": {"point": "the reworked point", "reason": "what was done"},
    "waive": {
        "point": "the point let go",
        "reason": "who lets it go",
        "note": "the paper that says so",
    },
}
_OR_VOLTS = ", or uV, mV, V where voltages are read"  # of units, beside those of a resistance


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of the sheet. Empty cells are empty texts or None."""

    line: int  # in the file, counted from 1
    action: Action
    point: str = ""
    record: int | None = None
    value: str = ""
    unit: Unit | None = None
    volt_unit: VoltUnit | None = None  # where the unit is one of a voltage
    current_ma: Decimal | None = None  # mA, where the unit names a test current
    memory: int | None = None
    reason: str = ""
    note: str = ""
    time: datetime | None = None  # UTC


class Sheet(CsvLines):
    """What a sheet holds, and everything that is wrong with it."""

    def __init__(self, file: str) -> None:
        super().__init__(file, COLUMNS, ("action",))
        self.lines: list[SheetLine] = []


def parse_sheet(data: bytes, file: str) -> Sheet:
    """Understand a sheet line by line. Never raises: what is wrong is in ``problems``."""
    sheet = Sheet(file)
    for line, named in sheet.rows(data):
        _take_line(line, named, sheet)
    if not sheet.lines and not sheet.problems:
        sheet.find(
            1, "", "the sheet has no lines below its header", "write one line for each thing that happened"
        )
    return sheet


def _take_line(line: int, named: dict[str, str], sheet: Sheet) -> None:
    action = sheet.word(named["action"], ACTIONS, "action", line)
    volt_unit, current_ma = _voltage_unit(named["unit"])
    found = SheetLine(
        line=line,
        action=next((each for each in ACTIONS if each == action), "note"),
        point=named["point"],
        record=sheet.whole(named, "record", line),
        value=sheet.figure(named["value"]),
        unit=None if volt_unit is not None else sheet.unit(named["unit"], line, _OR_VOLTS),
        volt_unit=volt_unit,
        current_ma=current_ma,
        memory=sheet.whole(named, "memory", line),
        reason=named["reason"],
        note=named["note"],
        time=_time(named["time"], line, sheet),
    )
    if action:
        _want_cells(found, sheet)
        sheet.lines.append(found)


def _voltage_unit(text: str) -> tuple[VoltUnit | None, Decimal | None]:
    try:
        return parse_volt_unit(text) or (None, None)
    except NotAResistanceError:
        return None, None  # of no use, and told as a unit that is none


def _want_cells(line: SheetLine, sheet: Sheet) -> None:
    """What each action cannot do without, and what makes no sense with it."""
    if line.action == "reading" and not line.value:
        sheet.find(line.line, "value", "a reading without a value", "write the value, or make it an attempt")
    if line.action == "standard" and not line.value:
        sheet.find(line.line, "value", "a check standard without a value", "write what the meter read on it")
    if line.action not in ("reading", "standard") and line.value:
        sheet.find(
            line.line, "value", f"a value on a {line.action} line", "make it a reading, or take the value out"
        )
    if line.action in ("number", "run") and line.memory is None:
        what = "the last memory number" if line.action == "number" else "the run's first memory number"
        remedy = "write it in the column memory, or take the line out where no check was made"
        if line.action == "run":
            remedy = "write it in the column memory, or take the line out where no run was begun"
        sheet.find(line.line, "memory", f"{what} is missing", remedy)
    if line.action == "void" and line.record is None and not line.point:
        sheet.find(line.line, "record", "a void of nothing", "write the record number that was struck out")
    for column, what in _WANTED.get(line.action, {}).items():
        if not getattr(line, column):
            sheet.find(line.line, column, f"{what} is missing", f"write it in the column {column}")
    if line.action == "note" and not (line.note or line.reason):
        sheet.find(line.line, "note", "an empty note", "write the note, or take the line out")


def _time(text: str, line: int, sheet: Sheet) -> datetime | None:
    if not text:
        return None
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        sheet.find(line, "time", f"{text[:40]!a} is not a time", "write it like 2026-05-04T09:30:00Z")
        return None
    if time.tzinfo is None:
        time = time.replace(tzinfo=UTC)
    try:  # the trail keeps milliseconds
        return time.replace(microsecond=time.microsecond // 1000 * 1000).astimezone(UTC)
    except OverflowError:
        sheet.find(line, "time", f"{text[:40]!a} is out of range", "write it like 2026-05-04T09:30:00Z")
        return None
