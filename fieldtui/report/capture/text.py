"""The capture sheet as plain text, 80 columns wide, for any printer."""

from __future__ import annotations

from textwrap import wrap

from fieldtui.core.text import visible
from fieldtui.report.capture.sheet import (
    CONDUCTOR_TEMPERATURE,
    DEFERENCE,
    EXCEPTIONS,
    HOW_NUMBERS_HOLD,
    CaptureSheet,
    CheckLine,
    Line,
    ReadingLine,
    RunLine,
    SectionLine,
)

WIDTH = 80
_RULED = 16  # empty lines for what is not as planned
_TICKS = 2  # boxes for verdicts that have room on the line of the value
_INDENT = " " * 11


def format_capture_text(sheet: CaptureSheet) -> str:
    """The whole sheet; every text of a file made visible."""
    lines = [*_head(sheet), *(text for line in sheet.lines for text in _line(line)), *_exceptions(sheet)]
    return "\n".join(visible(line).rstrip() for line in lines) + "\n"


def _head(sheet: CaptureSheet) -> list[str]:
    route, meter = sheet.route, sheet.meter
    named = f"{meter.title} {meter.serial}".strip() if meter is not None else "_" * 40
    lines = [
        "=" * WIDTH,
        *wrap(route.title, WIDTH),
        *wrap(f"{route.asset}, revision {route.revision or 'not stated'}, route {route.name}", WIDTH),
        "=" * WIDTH,
        f"Meter      {named}",
        f"Job        {'_' * 30}   Date       {'_' * 24}",
        f"Prober     {'_' * 30}   Recorder   {'_' * 24}",
        f"Ambient    {'_' * 10} °C",
    ]
    if route.wants_temperature:
        lines[-1] += f"   {CONDUCTOR_TEMPERATURE} {'_' * 10} °C"
    standard = meter.check_standard if meter is not None else None
    if standard is not None:
        lines.append(f"Check standard {standard.value} within {standard.tolerance}")
        lines.append(f"           before {'_' * 20}   after {'_' * 20}")
    for caution in sheet.tables.cautions:
        lines += wrap(f"! {caution.title}: {caution.text}", WIDTH, subsequent_indent="  ")
    lines += wrap(f"! {DEFERENCE}", WIDTH) if not sheet.tables.cautions else []
    return [*lines, "", *wrap(HOW_NUMBERS_HOLD, WIDTH), "", " rec   mem  point"]


def _line(line: Line) -> list[str]:
    match line:
        case SectionLine():
            return ["", f"--- {line.title} ".ljust(WIDTH, "-")]
        case RunLine():
            return ["", f"  >>> memory run {line.run}: {line.reason}; it begins with number {line.number}"]
        case CheckLine():
            return ["", "  >>> number check: the prober reads out the last memory number  [________]"]
        case ReadingLine():
            return _reading(line)


def _reading(line: ReadingLine) -> list[str]:
    point = line.point
    part = f"  reading {line.part} of {line.parts}" if line.parts > 1 else ""
    memory = "" if line.memory is None else str(line.memory)
    ticks = [f"{word} [ ]" for word in line.verdicts]
    verdict = "  ".join(ticks) or "record only"
    is_long = len(ticks) > _TICKS
    beside = "" if is_long else verdict
    room = [f"{_INDENT}[__________________] {point.keyed_in:<4}{beside:<19}other no. [_____] [_____]"]
    room += [f"{_INDENT}{verdict}"] if is_long else []
    head = ["", f"{line.record:>4}  {memory:>4}  {point.id}{part}"]
    if line.part > 1:
        return [*head, *room]
    texts = [
        point.title,
        point.where,
        f"A: {point.a}   B: {point.b}" if point.a or point.b else "",
        f"limit {line.limits}",
        f"condition: {point.condition}" if point.condition else "",
        f"prepare: {point.prepare}" if point.prepare else "",
        f"restore: {point.restore}" if point.restore else "",
        f"CAUTION: {point.caution}" if point.caution else "",
    ]
    told = [
        piece
        for text in texts
        if text
        for piece in wrap(text, WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT)
    ]
    return [*head, *told, *room]


def _exceptions(sheet: CaptureSheet) -> list[str]:
    lines = ["", "=" * WIDTH, "Not as planned", "=" * WIDTH]
    for word, what in EXCEPTIONS:
        lines += wrap(f"{word:<8} {what}", WIDTH, subsequent_indent=" " * 9)
        offered = ", ".join(sheet.tables.reasons.of(word))
        lines += wrap(offered, WIDTH, initial_indent=" " * 9, subsequent_indent=" " * 9) if offered else []
    lines += ["", "what      point          record  memory  reason, note"]
    lines += ["  ".join("_" * width for width in (8, 13, 6, 6, 39)), ""] * _RULED
    signed = "_" * 26
    return [*lines, f"Prober     {signed}     Recorder   {signed}", "           two different people"]
