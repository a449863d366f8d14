"""The capture sheet as CSV, to be keyed into afterwards and read by ``fieldtui transcribe``."""

from __future__ import annotations

import csv
import io

from fieldtui.core.measurement.voltage import default_volt_unit
from fieldtui.core.plan.route import Point
from fieldtui.files.sheet import COLUMNS
from fieldtui.report.capture.sheet import CaptureSheet, CheckLine, Line, ReadingLine, RunLine


def format_capture_csv(sheet: CaptureSheet) -> bytes:
    """One line for each that is printed; values and the numbers of number checks are empty.

    Ids stand as they are, so that they are found on the route again: none can hold a formula.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(cells for line in sheet.lines if (cells := _cells(line)))
    return text.getvalue().encode()


def _unit(point: Point) -> str:
    """The unit of a value keyed without one, as the printed sheets say it in symbols."""
    volts = default_volt_unit(point.unit) if point.current_ma is not None else None
    return point.unit.value if volts is None else volts.value


def _cells(line: Line) -> dict[str, object]:
    match line:
        case ReadingLine():
            return {
                "action": "reading",
                "point": line.point.id,
                "record": line.record,
                "unit": _unit(line.point),
                "memory": "" if line.memory is None else line.memory,
            }
        case RunLine():
            return {"action": "run", "memory": line.number, "reason": line.reason}
        case CheckLine():
            return {"action": "number"}
        case _:
            return {}
