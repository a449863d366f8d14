"""What a display showed for a value that was written down with fewer digits.

``1.2`` keyed for a display of ``1.23`` is a slip, not a rounding: a pairing that allowed for the step of the
last digit keyed would call the two the same. So each value is taken with the digits of its display: by the
resolution of the meter, where that is known, else by what values of its size usually stand with.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from statistics import median_low

from fieldtui.core.measurement.ohms import EXACT, Resistance
from fieldtui.core.pairing.model import MemoryEntry, RecordEntry
from fieldtui.core.slips import Ticks


def record_as_shown(record: Sequence[RecordEntry]) -> list[RecordEntry]:
    """The record with what the display would have shown beside each reading keyed with fewer digits."""
    usual = _usual_steps(entry.reading for entry in record)
    shown = []
    for entry in record:
        keyed = entry.reading
        reading = _filled_up(keyed, entry.resolution or usual[_size(keyed)])
        shown.append(entry if reading is keyed else replace(entry, shown=reading))
    return shown


def list_as_shown(memory: Sequence[MemoryEntry]) -> list[MemoryEntry]:
    """A memory list, which a spreadsheet may have stripped of zeros, with the digits of the display.

    The meter's resolution says nothing here: a whole list may be shown with fewer digits.
    """
    usual = _usual_steps(entry.reading for entry in memory if entry.reading is not None)
    shown = []
    for entry in memory:
        reading = entry.reading
        if reading is not None:
            reading = _filled_up(reading, usual[_size(reading)])
        shown.append(entry if reading is entry.reading else replace(entry, reading=reading))
    return shown


def is_short_of(short: Ticks, value: Ticks) -> bool:
    """Whether ``short`` is ``value`` with its last digits left out, rounded or not."""
    return short.value in (value.rounded(short.step).value, value.value // short.step * short.step)


def _usual_steps(readings: Iterable[Resistance]) -> dict[int, Decimal]:
    """By size: the step that half of the readings have, or a finer one. In ohm."""
    steps: dict[int, list[Decimal]] = {}
    for reading in readings:
        steps.setdefault(_size(reading), []).append(reading.resolution)
    return {size: median_low(found) for size, found in steps.items()}


def _size(reading: Resistance) -> int:
    """The decade: the ranges of a meter, and with them the steps of its display, go by the size."""
    return reading.ohms.adjusted() if reading.ohms else 0


def _filled_up(reading: Resistance, step: Decimal) -> Resistance:
    places = step.adjusted() - reading.unit.exponent  # of the step's digit, in the reading's own unit
    if reading.resolution <= step or places >= 0:
        return reading
    return Resistance(reading.value.quantize(Decimal(1).scaleb(places), context=EXACT), reading.unit)
