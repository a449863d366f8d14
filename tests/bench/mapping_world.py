"""The true side of a simulated survey: what each point reads, and what the meter really filed.

Spreads and rates: common practice, no source, but for the number misheard (Barenfanger 2004: 3.5 % of
calls, from memory). The points, meters and values are invented.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from datetime import date
from decimal import Decimal
from random import Random

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.plan.tables import CheckStandard, Instrument

LIMIT, RETEST_LIMIT = Decimal("3.0"), Decimal("2.5")  # mohm, at most
STANDARD = Resistance(Decimal("2.51"), Unit.MOHM)  # as the check standard reads
_MIDDLE = math.log(1.2)  # ln mohm
_BETWEEN_POINTS, _BETWEEN_SURVEYS, _AGAIN = 0.5, 0.12, 0.02  # ln units
_STEP = Resistance(Decimal("0.01"), Unit.MOHM)


@dataclass(frozen=True, slots=True)
class Slips:
    """Chance of each slip per reading, unless said otherwise."""

    misheard: float = 0.02  # the value called out
    missed_call: float = 0.01  # filed and called, nobody keyed it, and the prober goes on
    not_stored: float = 0.01
    stored_twice: float = 0.01
    spoiled: float = 0.01  # a number used up without a value and without a word
    unannounced: float = 0.005  # a reading filed that nobody called out
    cleared: float = 0.0005  # the memory is empty again, without a word
    ahead: float = 0.01  # the prober passes a point over, for a stretch
    behind: float = 0.01  # the prober takes a point once more, for a stretch
    far_end: float = 0.02  # per section: walked from its far end
    wrong_skip: float = 0.3  # per skip: the prober did not
    misheard_number: float = 0.035  # per number called out
    list_miskeyed: float = 0.01  # per line of a list keyed by hand
    stretch_ends: float = 0.08  # per reading of a stretch: the prober is in step again, without a word

    def times(self, factor: float) -> Slips:
        """So many times as often; how long a stretch lasts stays."""
        kept = ("stretch_ends", "wrong_skip")
        return replace(
            self, **{f.name: getattr(self, f.name) * factor for f in fields(self) if f.name not in kept}
        )


@dataclass(slots=True, eq=False)
class Entry:
    """One place in a meter's memory; no value where a number was used up without one."""

    number: int
    shown: Resistance | None
    erased: bool = False


@dataclass(slots=True, eq=False)
class Filling:
    """One filling of a meter's memory, and the number of the memory run that the program has for it."""

    meter: Instrument
    next: int
    entries: list[Entry] = field(default_factory=list)
    run: int = 0
    was: list[Entry] = field(default_factory=list)  # what was in it before it was cleared without a word

    @property
    def is_full(self) -> bool:
        return self.next > self.meter.first_number + self.meter.memory_size - 1

    @property
    def last(self) -> int:
        return self.next - 1

    def file(self, shown: Resistance | None) -> Entry | None:
        """File a value, or use a number up; None where the memory is full."""
        if self.is_full:
            return None
        self.entries.append(Entry(self.next, shown, erased=shown is None))
        self.next += 1
        return self.entries[-1]

    def erase(self, entry: Entry) -> None:
        if self.meter.erased_number_stays_used:
            entry.erased = True
            return
        self.entries.remove(entry)
        if entry.number == self.last:
            self.next = entry.number

    def as_list(self) -> list[MemoryEntry]:
        """The memory list as the meter shows it."""
        return [MemoryEntry(self.run, each.number, each.shown, each.erased) for each in self.entries]


@dataclass(frozen=True, slots=True)
class Truth:
    """What really was behind a record; ``entry`` is None where the meter kept nothing."""

    point: str
    shown: Resistance
    filling: Filling | None
    entry: Entry | None

    @property
    def is_listed(self) -> bool:
        """Whether a memory list can tell of it."""
        return self.filling is not None and self.entry in self.filling.entries


@dataclass(slots=True)
class World:
    """The points and what they read: ``level`` is ln(mohm) today, ``last`` what the last survey found."""

    chance: Random
    section_of: dict[str, str]
    repeats: dict[str, int]
    has_steps: bool  # the display shows hundredths and the program knows it; else three figures
    level: dict[str, float] = field(default_factory=dict)
    last: dict[str, Resistance] = field(default_factory=dict)

    def display(self, log: float) -> Resistance:
        value = math.exp(log)
        if self.has_steps:
            return Resistance(max(_STEP.value, Decimal(f"{value:.2f}")), Unit.MOHM)
        places = max(0, 2 - math.floor(math.log10(value)))
        return Resistance(Decimal(f"{value:.{places}f}"), Unit.MOHM)

    def read(self, point: str) -> Resistance:
        """What the meter shows at a point; one inserted today gets a value of its own."""
        if point not in self.level:
            self.level[point] = _MIDDLE + self.chance.gauss(0, _BETWEEN_POINTS)
        return self.display(self.level[point] + self.chance.gauss(0, _AGAIN))

    def repair(self, point: str) -> None:
        self.level[point] = math.log(float(LIMIT)) - abs(self.chance.gauss(0.5, 0.2))


def make_world(chance: Random) -> World:
    often = chance.choice((0.0, 0.06, 0.06, 0.3, 1.0))  # share of the points that are read several times
    times = chance.choice(((2, 3), (2,), (3,)))
    section_of = {
        f"S{section}-{number:02d}": f"S{section}"
        for section in range(1, chance.randint(2, 4) + 1)
        for number in range(1, chance.randint(4, 12) + 1)
    }
    repeats = {point: chance.choice(times) if chance.random() < often else 1 for point in section_of}
    world = World(chance, section_of, repeats, has_steps=chance.random() < 0.5)
    for point in section_of:
        was = _MIDDLE + chance.gauss(0, _BETWEEN_POINTS)
        world.last[point] = world.display(was)
        world.level[point] = was + chance.gauss(0, _BETWEEN_SURVEYS)
    return world


def route_text(world: World, check_every: int) -> str:
    """The route file of a world."""
    return "\n".join(_route_lines(world, check_every))


def _route_lines(world: World, check_every: int) -> Iterator[str]:
    yield 'format = 1\ntitle = "Hull bonds"\nasset = "amphibious twin ZX-41"\nrevision = "B"'
    yield f'source = "invented"\nunit = "mohm"\ncheck_every = {check_every}'
    for section in dict.fromkeys(world.section_of.values()):
        yield f'[[sections]]\nid = "{section}"\ntitle = "Section {section}"'
    for point, section in world.section_of.items():
        yield f'[[points]]\nid = "{point}"\nsection = "{section}"\ntitle = "Bond {point}"'
        yield f'limit = {{ max = {LIMIT}, cmp = "<=" }}\nretest = {{ max = {RETEST_LIMIT} }}'
        if (repeats := world.repeats[point]) > 1:
            yield f'repeats = {repeats}\nrule = "{"max" if repeats == 2 else "median"}"'


def make_meters(world: World) -> tuple[Instrument, Instrument]:
    """The meter that the survey begins with, and a spare one."""
    chance, half = world.chance, Resistance(Decimal("0.05"), Unit.MOHM)
    accuracy = Accuracy(Decimal(1), Resistance(Decimal("0.02"), Unit.MOHM), _STEP)
    small, spare = (
        Instrument(
            id=f"{name}-meter",
            title=f"{name.capitalize()} bond meter",
            serial=serial,
            memory_size=chance.choice((20, 30, 64, 200)),
            first_number=chance.choice((0, 1)),
            calibration_due=date(2029, 3, 31),
            check_standard=CheckStandard(Resistance(Decimal("2.50"), Unit.MOHM), half),
            accuracy=accuracy if world.has_steps else None,
            erased_number_stays_used=chance.random() < 0.5,
            spoiled_number_stays_used=chance.random() < 0.6,
        )
        for name, serial in (("small", "040"), ("spare", "041"))
    )
    return small, spare


def misheard(reading: Resistance, chance: Random) -> Resistance:
    """One digit heard as another, two swapped, or the point elsewhere; nought is not keyed."""
    how, chars = chance.random(), list(reading.digits)
    places = [at for at, char in enumerate(chars) if char.isdigit()]
    if how >= 0.9:
        moved = reading.value.scaleb(chance.choice((1, -1)))
        return Resistance(Decimal(format(moved, "f")), reading.unit)
    if how < 0.7 or len(places) < 2:
        at = chance.choice(places)
        chars[at] = chance.choice([digit for digit in "0123456789" if digit != chars[at]])
    else:
        first = chance.randrange(len(places) - 1)
        one, two = places[first], places[first + 1]
        chars[one], chars[two] = chars[two], chars[one]
    value = Decimal("".join(chars))
    return Resistance(value, reading.unit) if value > 0 else reading


Tally = Counter[str]
