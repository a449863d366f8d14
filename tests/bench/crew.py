"""A crew that makes mistakes: what it keys, what the meter files, and which belongs to which.

Every class of fault has a rate of its own. Values are log-normal around what each point should
read and are shown with a fixed number of significant figures, as on a milliohm meter, so that
equal values come up by chance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from random import Random

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.pairing.alignment import MemoryEntry, RecordEntry
from fieldtui.core.slips import Slip, variants


@dataclass(frozen=True, slots=True)
class FaultRates:
    """Chance of each fault per reading. Published rates: see :data:`PUBLISHED`."""

    replaced: float = 0.0
    swapped: float = 0.0
    omitted: float = 0.0
    added: float = 0.0
    point_moved: float = 0.0
    unit_wrong: float = 0.0
    repeated: float = 0.0
    not_stored: float = 0.0  # called out and keyed, never filed
    stored_twice: float = 0.0  # filed again under the next number
    unannounced: float = 0.0  # a reading filed that nobody called out
    spoiled: float = 0.0  # filed, erased, taken again
    misheard_number: float = 0.0

    @classmethod
    def each(cls, rate: float) -> FaultRates:
        """The same rate for every class."""
        return cls(**{f.name: rate for f in fields(cls)})


# Garza et al. 2025: 0.29 % of single entries; Mays and Mathias 2019: 3.7 % of values from a handheld
# instrument discrepant on the record, split after Verhoeff 1969; Barenfanger 2004: 3.5 % of calls
# misheard. The rates of memory faults: no source.
PUBLISHED = FaultRates(
    replaced=0.024,
    swapped=0.005,
    omitted=0.0025,
    added=0.0025,
    point_moved=0.001,
    unit_wrong=0.001,
    repeated=0.001,
    not_stored=0.003,
    stored_twice=0.003,
    unannounced=0.003,
    spoiled=0.003,
    misheard_number=0.035,
)

_SLIPS = {
    "replaced": Slip.REPLACED,
    "swapped": Slip.SWAPPED,
    "omitted": Slip.OMITTED,
    "added": Slip.ADDED,
    "point_moved": Slip.POINT_MOVED,
    "unit_wrong": Slip.UNIT_WRONG,
    "repeated": Slip.REPEATED,
}


@dataclass(frozen=True, slots=True)
class Crew:
    """How a crew and its meter behave."""

    faults: FaultRates
    between_points: float = 0.5  # spread of what points should read, log units
    within_point: float = 0.15  # spread of a reading around it, log units
    middle: float = 1.2  # mohm
    figures: int = 3
    check_every: int = 10  # number check, after which the record's numbers are right again
    checks_after: bool = False  # it is the last entry's number, right after the reading; else this one's
    numbered: bool = True  # whether the record carries memory numbers at all
    listed_figures: int | None = None  # figures of the memory list, where it shows fewer
    odd_slips: float = 0.0  # share of the keying slips that make any value at all, of no known kind


@dataclass(slots=True)
class Walked:
    """What came of a walk. ``truth`` gives each record number its place in ``memory``, or None."""

    record: list[RecordEntry] = field(default_factory=list)
    memory: list[MemoryEntry] = field(default_factory=list)
    truth: dict[int, int | None] = field(default_factory=dict)
    planted: dict[int, Slip] = field(default_factory=dict)  # by record number


def shown(ohms_value: float, figures: int, unit: Unit = Unit.MOHM) -> Resistance:
    """A value in ``unit`` as a display with so many significant figures shows it."""
    magnitude = math.floor(math.log10(ohms_value))
    places = max(0, figures - 1 - magnitude)
    return Resistance(Decimal(f"{ohms_value:.{places}f}"), unit)


def walk(crew: Crew, points: int, chance: Random, run: int | None = 1, first_number: int = 1) -> Walked:
    """One memory run over ``points`` points, one reading called out at each."""
    made = Walked()
    faults = crew.faults
    expected_number = first_number  # what the record believes comes next
    for at in range(points):
        centre = math.log(crew.middle) + chance.gauss(0.0, crew.between_points)
        if chance.random() < faults.unannounced:
            _file(made, crew, _reading(crew, centre, chance), run, first_number)
        reading = _reading(crew, centre, chance)
        if chance.random() < faults.spoiled:
            _file(made, crew, reading, run, first_number, erased=True)
            expected_number += 1  # the crew knows of it
            reading = _reading(crew, centre, chance)
        place: int | None = None
        if chance.random() >= faults.not_stored:
            place = _file(made, crew, reading, run, first_number)
        checked = crew.check_every > 0 and at % crew.check_every == 0 and not crew.checks_after
        if checked:  # the number is read out now, and perhaps misheard
            expected_number = first_number + len(made.memory) - (place is not None)
        number = expected_number
        if checked:
            number = _heard(number, faults.misheard_number, chance)
        expected_number += 1
        if place is not None and chance.random() < faults.stored_twice:
            _file(made, crew, reading, run, first_number)
        _key(made, crew, reading, place, run, chance)
        if crew.numbered:
            made.record[-1] = replace(made.record[-1], number=number, called=checked)
        if crew.checks_after and crew.check_every > 0 and at % crew.check_every == 0:
            last = first_number + len(made.memory) - 1
            heard = _heard(last, faults.misheard_number, chance)
            made.record[-1] = replace(made.record[-1], filed=heard == number)
            expected_number = heard + 1
    return made


def _heard(number: int, misheard: float, chance: Random) -> int:
    if chance.random() >= misheard:
        return number
    return max(1, number + chance.choice((-10, -2, -1, 1, 2, 10)))


def _reading(crew: Crew, centre: float, chance: Random) -> Resistance:
    return shown(math.exp(centre + chance.gauss(0.0, crew.within_point)), crew.figures)


def _file(
    made: Walked, crew: Crew, reading: Resistance, run: int | None, first: int, erased: bool = False
) -> int:
    listed = shown(float(reading.value), crew.listed_figures) if crew.listed_figures else reading
    made.memory.append(MemoryEntry(run, first + len(made.memory), listed, erased))
    return len(made.memory) - 1


def _key(
    made: Walked,
    crew: Crew,
    reading: Resistance,
    place: int | None,
    run: int | None,
    chance: Random,
) -> None:
    record = len(made.record) + 1
    previous = made.record[-1].reading if made.record else None
    slip = _chosen(crew.faults, chance)
    keyed = reading if slip is None else mis_keyed(reading, slip, previous, chance)
    if slip is not None and crew.odd_slips and chance.random() < crew.odd_slips:
        keyed = _reading(crew, math.log(crew.middle) + chance.gauss(0.0, crew.between_points), chance)
    if slip is not None and keyed != reading:
        made.planted[record] = slip
    made.record.append(RecordEntry(record, keyed, run=run))
    made.truth[record] = place


def _chosen(faults: FaultRates, chance: Random) -> Slip | None:
    at = chance.random()
    for name, slip in _SLIPS.items():
        at -= getattr(faults, name)
        if at < 0.0:
            return slip
    return None


def mis_keyed(true: Resistance, slip: Slip, previous: Resistance | None, chance: Random) -> Resistance:
    """``true`` as it ends up on the record after ``slip``; unchanged where the slip cannot happen."""
    if slip is Slip.REPEATED:
        return previous or true
    if slip in (Slip.POINT_MOVED, Slip.UNIT_WRONG):
        power = chance.choice((1, -1) if slip is Slip.POINT_MOVED else (3, -3))
        return Resistance(Decimal(format(true.value.scaleb(power), "f")), true.unit)
    whole, _, part = true.digits.partition(".")
    ways = [
        (digits, places)
        for kind, digits, places in variants(whole + part, len(part))
        if kind is slip and int(digits)
    ]
    if not ways:
        return true
    digits, places = chance.choice(ways)
    return Resistance(Decimal(int(digits)).scaleb(-places), true.unit)


def is_visible(walked: Walked, record: int) -> bool:
    """Whether a planted slip changed the value by more than the list can hide, if only by digits left out."""
    place = walked.truth[record]
    if place is None:
        return False
    listed = walked.memory[place].reading
    assert listed is not None
    keyed = walked.record[record - 1].reading
    return 2 * abs(keyed.ohms - listed.ohms) > listed.resolution


def joined(parts: Sequence[Walked]) -> Walked:
    """Several runs as one walk, record numbers running on."""
    made = Walked()
    for part in parts:
        records, entries = len(made.record), len(made.memory)
        made.record += [replace(entry, record=entry.record + records) for entry in part.record]
        made.memory += part.memory
        for record, place in part.truth.items():
            made.truth[record + records] = None if place is None else place + entries
        made.planted |= {record + records: slip for record, slip in part.planted.items()}
    return made
