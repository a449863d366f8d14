"""A capture sheet: what is printed before a walk on paper, line by line, numbers included.

The numbers hold as long as every line gets its reading. After a skip, a redo or a void the crew
writes the right ones beside them, so each line has room for that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.plan.route import Point, Route
from fieldtui.core.plan.tables import Instrument, Tables
from fieldtui.core.survey.memory import FIRST_RUN, MemoryRun, begin_run


@dataclass(frozen=True, slots=True)
class SectionLine:
    """Here a section begins."""

    title: str


@dataclass(frozen=True, slots=True)
class RunLine:
    """Here a memory run begins, with the number its first reading gets."""

    run: int
    number: int
    reason: str


@dataclass(frozen=True, slots=True)
class CheckLine:
    """Here the prober reads the meter's last memory number aloud."""


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """Room for one reading; ``part`` of ``parts`` readings of one take, both from 1."""

    record: int
    memory: int | None  # None where the meter keeps no memory, or is not known
    point: Point
    part: int
    parts: int

    @property
    def limits(self) -> str:
        """The limit, the one after rework, and the decision rules that belong to them."""
        point = self.point
        rework = f"; after rework {point.retest.words(point.unit)}" if point.retest is not None else ""
        at_20 = "; judged at 20 °C" if point.correct_to_20 and point.limit.judges else ""
        return f"{point.limit.words(point.unit)}{rework}{at_20}"

    @property
    def verdicts(self) -> tuple[str, ...]:
        """What there is to tick; nothing where the value is only recorded."""
        judging = [
            limit for limit in (self.point.limit, self.point.retest) if limit is not None and limit.judges
        ]
        if any(limit.rule.kind is RuleKind.FOUR_STATES for limit in judging):
            return ("pass", "cond. pass", "cond. fail", "fail")
        return ("pass", "fail") if self.point.limit.judges else ()


Line = SectionLine | RunLine | CheckLine | ReadingLine


@dataclass(frozen=True, slots=True)
class CaptureSheet:
    """All that is printed."""

    route: Route
    tables: Tables
    meter: Instrument | None
    lines: tuple[Line, ...]

    @property
    def readings(self) -> int:
        return sum(isinstance(line, ReadingLine) for line in self.lines)

    @property
    def runs(self) -> int:
        """Memory runs; 0 where no memory numbers are printed."""
        return sum(isinstance(line, RunLine) for line in self.lines)


CONDUCTOR_TEMPERATURE = "Conductor temperature"  # of what is judged at 20 °C

HOW_NUMBERS_HOLD = (
    "The printed numbers hold while every line gets its reading. After a skip, a redo or a void write the "
    "right numbers in the boxes beside them, on each line from there on."
)
DEFERENCE = "Local codes, the approved maintenance data and licensed practice come first."

# What there is to write down besides readings: the word, what goes with it.
EXCEPTIONS = (
    ("skip", "point left for later, and why"),
    ("redo", "point to be taken again, and why"),
    ("void", "record struck out, and why"),
    ("attempt", "point tried without a value: unstable contact, open, over range, not accessible"),
    ("number", "memory number as the prober read it, where it is not the one written here"),
    ("run", "memory read out and cleared, and the number it begins with again"),
    ("standard", "what the meter read on its check standard, before, after, and between"),
    ("lead", "other leads or tips on the meter, and why"),
    ("paper", "failed point, and the reference of its paper"),
    ("rework", "point repaired, what was done, and the reference of its paper"),
    ("waive", "point let go: on whose authority, and by which paper"),
    ("note", "anything else worth knowing"),
)


def make_sheet(route: Route, tables: Tables, meter: Instrument | None) -> CaptureSheet:
    """The sheet of a route; memory numbers from the meter's first number and the size of its memory."""
    return CaptureSheet(route, tables, meter, tuple(_lines(route, meter)))


def _lines(route: Route, meter: Instrument | None) -> Iterator[Line]:
    run: MemoryRun | None = None
    if meter is not None and meter.memory_size:
        run = begin_run(meter, 1, meter.first_number)
        yield RunLine(1, run.next_number, FIRST_RUN)
    record, section = 0, None
    for point in route.points:
        if point.section != section:
            section = point.section
            yield SectionLine(route.section_title(section))
        for part in range(1, point.repeats + 1):
            if meter is not None and run is not None and run.is_full:
                run = begin_run(meter, run.run + 1, meter.first_number)
                yield RunLine(run.run, run.next_number, "memory full")
            record += 1
            number = run.next_number if run is not None else None
            yield ReadingLine(record, number, point, part, point.repeats)
            run = run.after(run.next_number) if run is not None else None
            if run is not None and route.check_every and record % route.check_every == 0:
                yield CheckLine()
