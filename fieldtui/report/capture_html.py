"""The capture sheet as one HTML file: nothing is loaded from elsewhere, and it prints on A4 and Letter."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from fieldtui.core.text import visible
from fieldtui.report.capture_sheet import DEFERENCE, EXCEPTIONS, HOW_NUMBERS_HOLD, CaptureSheet

_RULED = 18  # empty lines for what is not as planned


def format_capture_html(sheet: CaptureSheet) -> str:
    """The whole page; every text of a file is escaped, and what cannot be seen made visible."""
    return (
        _environment()
        .get_template("capture_sheet.html")
        .render(
            sheet=sheet,
            route=sheet.route,
            meter=sheet.meter,
            standard=sheet.meter.check_standard if sheet.meter is not None else None,
            lines=[(type(line).__name__, line) for line in sheet.lines],
            exceptions=[(word, what, sheet.tables.reasons.of(word)) for word, what in EXCEPTIONS],
            numbers=HOW_NUMBERS_HOLD,
            deference=DEFERENCE,
            ruled=_RULED,
        )
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("fieldtui.report", "page"),
        autoescape=True,
        finalize=lambda value: visible(value) if type(value) is str else value,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
