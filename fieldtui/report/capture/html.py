"""The capture sheet as one HTML file: nothing is loaded from elsewhere, and it prints on A4 and Letter."""

from __future__ import annotations

from fieldtui.report.capture.sheet import (
    CONDUCTOR_TEMPERATURE,
    DEFERENCE,
    EXCEPTIONS,
    HOW_NUMBERS_HOLD,
    CaptureSheet,
)
from fieldtui.report.templates import render_page

_RULED = 18  # empty lines for what is not as planned


def format_capture_html(sheet: CaptureSheet) -> str:
    """The whole page; every text of a file is escaped, and what cannot be seen made visible."""
    return render_page(
        "capture_sheet.html",
        sheet=sheet,
        route=sheet.route,
        meter=sheet.meter,
        standard=sheet.meter.check_standard if sheet.meter is not None else None,
        lines=[(type(line).__name__, line) for line in sheet.lines],
        exceptions=[(word, what, sheet.tables.reasons.of(word)) for word, what in EXCEPTIONS],
        conductor=f"{CONDUCTOR_TEMPERATURE} °C" if sheet.route.wants_temperature else "",
        numbers=HOW_NUMBERS_HOLD,
        deference=DEFERENCE,
        ruled=_RULED,
    )
