"""How comparison, coverage and trend are laid out: lines of at most 80 characters, and their words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from decimal import Decimal

from fieldtui.core.between.history import Reading, Seen
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.text import visible
from fieldtui.desk.sources import Source

WIDTH = 80  # characters a line

_INDENT = "    "


def format_figure(number: Decimal | float) -> str:
    """Three significant digits, never in exponent form: for statistics, not for readings."""
    return format(Decimal(f"{float(number):#.3g}"), "f") if number else "0"


def format_exact(ohms: Decimal, unit: Unit) -> str:
    return str(Resistance(ohms, Unit.OHM).to(unit))


def describe_value(reading: Reading) -> str:
    """``5.35 mΩ pass``, with the value at 20 C where that was judged, and IN DOUBT where it is."""
    doubt = " IN DOUBT" if reading.is_in_doubt else ""
    return f"{value_words(reading)} {reading.verdict.value}{doubt}"


def value_words(reading: Reading) -> str:
    """``5.35 mΩ``, or ``2.39 mΩ (2.50004 mΩ at 20 °C)``."""
    at_20 = f" ({reading.at_20} at 20 °C)" if reading.at_20 is not None else ""
    return f"{reading.value}{at_20}"


def format_day(when: datetime) -> str:
    return when.astimezone(UTC).date().isoformat()


def describe_source(source: Source) -> str:
    return f"{source.id}, started {format_day(source.started)}, {source.meter}"


def note_lines(notes: Sequence[str]) -> Iterator[str]:
    for note in notes:
        yield from wrapped_lines(note, "note  ", "      ")


def part_lines(title: str) -> list[str]:
    return ["", title, "-" * len(title)]


def named_lines(seen: Seen, text: str = "") -> list[str]:
    doubt = "limit UNVERIFIED" if seen.limit.is_unverified else ""
    parts = (seen.point, seen.title, doubt, text)
    return wrapped_lines("  ".join(part for part in parts if part), "", _INDENT)


def indented_lines(text: str) -> list[str]:
    return wrapped_lines(text, _INDENT, _INDENT + "  ")


def left_out_lines(left_out: Sequence[str]) -> Iterator[str]:
    """What was not used, each with why; nothing where all was."""
    if left_out:
        yield from part_lines(f"Left out: {len(left_out)}")
        for why in left_out:
            yield from wrapped_lines(why, "- ", "  ")


def wrapped_lines(text: str, first: str, rest: str) -> list[str]:
    lines = textwrap.wrap(
        visible(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return lines or [first.rstrip()]


def joined_lines(lines: Iterable[str]) -> str:
    return "\n".join(line.rstrip() for line in lines).rstrip("\n") + "\n"


def describe_unread(seen: Seen | None) -> str:
    if seen is None:
        return "not on the route"
    return f"{seen.state.value} ({seen.reason})" if seen.reason else seen.state.value
