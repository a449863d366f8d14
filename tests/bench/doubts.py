"""How often a sound value is questioned, and how often a slip of a factor ten is. Run with::

    python -m tests.bench.doubts                # the surveys of the report, some minutes on a free core
    python -m tests.bench.doubts --development  # those that the thresholds were set on
    python -m tests.bench.doubts --quick        # a fifth of the surveys

Thresholds were set on ``DEVELOPMENT`` with its seed, and looked at on some of ``OTHER`` with seeds
given by hand. What is reported has a seed that nothing was set on. ``OTHER`` has other tails, mixed
kinds of bond under one limit, sections that lie apart, another temperature (never looked at), a meter
that changes its range.

Invented surveys: ln(ohm) of the points scatters about half their limit, each survey a step from the
one before; the display shows steps of 10 µohm unless it changes range. On a clean survey every
question is needless. Then every reading in turn is keyed with its point moved one place, either way,
on a survey that is otherwise clean, and the share that is questioned is counted; with three in a
hundred readings of a survey wrong in that way, it is counted once more, for then the peers are wrong
as well.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from enum import Enum

from fieldtui.core.doubts import DoubtKind, find_doubts
from fieldtui.core.drift.expectations import Expectation, expectations
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, Limit, Point, Route, Section
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail.events import ReadingTaken

POINTS, FAMILY, SECTION = 80, 10, 20
DEVELOPMENT_SEED, REPORT_SEED = "", "report 2026-11: "
NOW = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
METER = Instrument("bench", "Bench")
NEEDLESS_GOAL = 0.01
MUDDLED = 3  # times that slips are strewn over one survey


class Shape(Enum):
    """How points scatter about their level; the value is the word in the table."""

    NORMAL = "normal"
    HEAVY = "Student t, 5 degrees"  # of points and of steps between surveys, the same spread at the middle
    MIXED = "a tenth of other kind"  # long jumpers under the same limit, 2.7 times as high
    SECTIONS = "sections apart"  # each has an offset of its own, spread 0.4
    WARM = "35 C after 5 C"  # copper, and the meter replaced by one 2 % off


@dataclass(frozen=True, slots=True)
class Case:
    """One row of the table: what is known of the points, and how they scatter."""

    name: str
    between_points: float
    between_surveys: float
    earlier: int  # earlier surveys
    families: bool = False
    pairs: bool = False
    goal: float = 0.9  # share of tenfold slips that is to be questioned
    shape: Shape = Shape.NORMAL
    changes_range: bool = False  # three significant digits instead of steps of 10 µohm


DEVELOPMENT = [
    *(
        Case(f"last survey, {earlier} earlier", 0.5, step, earlier, goal=0.99)
        for earlier in (1, 2)
        for step in (0.1, 0.2, 0.3)
    ),
    *(Case("limit alone", spread, 0.2, 0) for spread in (0.2, 0.3, 0.4, 0.5, 0.6)),
    Case("family", 0.4, 0.2, 0, families=True),
    Case("pair", 0.4, 0.2, 0, pairs=True),
]
OTHER = [
    *(
        Case("last survey, 1 earlier", 0.5, step, 1, goal=0.99, shape=shape)
        for shape in (Shape.HEAVY, Shape.MIXED, Shape.SECTIONS, Shape.WARM)
        for step in (0.1, 0.2, 0.3)
    ),
    *(
        Case("limit alone", spread, 0.2, 0, shape=shape)
        for shape in (Shape.HEAVY, Shape.MIXED, Shape.SECTIONS)
        for spread in (0.2, 0.4, 0.6)
    ),
    Case("last survey, 1 earlier", 0.5, 0.2, 1, goal=0.99, changes_range=True),
    Case("limit alone", 0.4, 0.2, 0, changes_range=True),
    Case("limit alone", 0.6, 0.2, 0, changes_range=True),
    Case("family", 0.4, 0.2, 0, families=True, shape=Shape.HEAVY),
    Case("pair", 0.4, 0.2, 0, pairs=True, shape=Shape.HEAVY),
]


@dataclass(slots=True)
class Count:
    """Readings asked about, out of so many; and the needless questions by kind."""

    asked: int = 0
    out_of: int = 0

    def add(self, asked: bool) -> None:
        self.asked += asked
        self.out_of += 1

    @property
    def share(self) -> float:
        return self.asked / self.out_of


@dataclass(frozen=True, slots=True)
class Outcome:
    case: Case
    needless: Count
    caught: Count
    caught_among_slips: Count
    kinds: dict[DoubtKind, int]


def make_route(case: Case) -> Route:
    limit = Limit(Resistance(Decimal("2.5"), Unit.MOHM), upper=Comparator.LESS)
    points = tuple(
        Point(
            id=f"P{number:03}",
            section="S",
            title="Bond",
            unit=Unit.MOHM,
            limit=limit,
            family=f"family {number // FAMILY}" if case.families else "",
            pair=f"P{number ^ 1:03}" if case.pairs else "",
        )
        for number in range(POINTS)
    )
    return Route("bench", "", "", "", "", Unit.MOHM, 0, (Section("S", ""),), points)


def scatter(case: Case, middle: float, spread: float, chance: random.Random) -> float:
    """One value about ``middle``."""
    if case.shape is not Shape.HEAVY:
        return chance.gauss(middle, spread)
    squares = sum(chance.gauss(0, 1) ** 2 for _ in range(5))
    return middle + spread * chance.gauss(0, 1) / math.sqrt(squares / 5)


def true_values(case: Case, chance: random.Random) -> list[list[float]]:
    """ln(ohm) of every point, by survey, today's last."""
    middle = math.log(1.25e-3)
    first: list[float] = []
    family = section = 0.0
    for number in range(POINTS):
        if number % FAMILY == 0:
            family = chance.gauss(middle, 0.6)
        if number % SECTION == 0:
            section = chance.gauss(0, 0.4)
        level = scatter(case, family if case.families else middle, case.between_points, chance)
        if case.pairs and number % 2:
            level = scatter(case, first[-1], 0.3, chance)
        if case.shape is Shape.SECTIONS:
            level += section
        if case.shape is Shape.MIXED and chance.random() < 0.1:
            level += 1.0
        first.append(level)
    surveys = [first]
    for _ in range(case.earlier):
        surveys.append([scatter(case, was, case.between_surveys, chance) for was in surveys[-1]])
    if case.shape is Shape.WARM:
        offset = math.log1p(0.00393 * 30) + math.log(1.02)
        surveys[-1] = [log + offset for log in surveys[-1]]
    return surveys


def shown(case: Case, log_ohms: float) -> Resistance:
    """What the display shows: steps of 0.01 mohm, or three significant digits."""
    places = 2
    if case.changes_range:
        places = min(5, max(0, 2 - math.floor(log_ohms / math.log(10) + 3)))
    ticks = Decimal(round(math.exp(log_ohms) * 10 ** (3 + places)))
    return Resistance(max(ticks, Decimal(1)).scaleb(-places), Unit.MOHM)


def slipped(reading: Resistance, chance: random.Random) -> Resistance:
    """The reading with its point moved one place, either way."""
    power = chance.choice((1, -1))
    moved = Decimal(reading.digits).scaleb(power)
    places = len(reading.digits.partition(".")[2])
    return replace(reading, value=moved.quantize(Decimal(1).scaleb(-max(0, places - power))))


def walk(
    route: Route, readings: Sequence[Resistance], plan: Sequence[Expectation]
) -> Iterator[tuple[Survey, Resistance, dict[str, Expectation]]]:
    """The survey before each reading, with what is expected."""
    survey = fold(route, METER)
    expected = {each.point: each for each in plan}
    for number, (point, reading) in enumerate(zip(route.points, readings, strict=True), 1):
        yield survey, reading, expected
        said = survey.would_say(point.id, reading)
        survey = survey.after(
            ReadingTaken(time=NOW, by="A", record=number, point=point.id, reading=reading, verdict=said)
        )


def run_case(case: Case, surveys: int, seed: str) -> Outcome:
    name = case.name + str(case.between_points) + str(case.between_surveys)
    other = f"{case.shape.value}{case.changes_range}" if case in OTHER else ""
    chance = random.Random(seed + name + other)
    outcome = Outcome(case, Count(), Count(), Count(), {})
    route = make_route(case)
    for _ in range(surveys):
        *before, today = true_values(case, chance)
        history = {
            point.id: [shown(case, survey[place]) for survey in before]
            for place, point in enumerate(route.points)
        }
        plan = expectations(route, history if before else {})
        readings = [shown(case, log) for log in today]
        for survey, reading, expected in walk(route, readings, plan):
            here = expected[survey.here.id] if survey.here else None
            doubts = find_doubts(survey, reading, here, expected=expected)
            outcome.needless.add(bool(doubts))
            for doubt in doubts:
                outcome.kinds[doubt.kind] = outcome.kinds.get(doubt.kind, 0) + 1
            wrong = slipped(reading, chance)
            outcome.caught.add(bool(find_doubts(survey, wrong, here, expected=expected)))
        for _ in range(MUDDLED):
            wrongly = [slipped(r, chance) if chance.random() < 0.03 else r for r in readings]
            for (survey, reading, expected), right in zip(walk(route, wrongly, plan), readings, strict=True):
                if reading != right:
                    here = expected[survey.here.id] if survey.here else None
                    doubts = find_doubts(survey, reading, here, expected=expected)
                    outcome.caught_among_slips.add(bool(doubts))
    return outcome


def best_by_value(case: Case) -> float | None:
    """Tenfold slips caught by a rule that knows the law of all points and asks about one sound value
    in a hundred, by how far it lies from the middle alone; None where more than that is known."""
    if case.earlier or case.families or case.pairs:
        return None
    chance = random.Random("law")
    sound = [log for _ in range(300) for log in true_values(case, chance)[0]]
    middle = statistics.median(sound)
    threshold = sorted(abs(log - middle) for log in sound)[int(0.99 * len(sound))]
    tenfold = [log - middle + way for log in sound for way in (-math.log(10), math.log(10))]
    return sum(abs(off) > threshold for off in tenfold) / len(tenfold)


def describe(case: Case) -> str:
    return "range changes" if case.changes_range else case.shape.value


def print_table(outcomes: Sequence[Outcome], say: Callable[[str], object]) -> int:
    """Print the table; returns how many figures miss their goal."""
    head = f"{'known':24} {'scatter':22}  points surveys | needless        | tenfold caught   goal"
    say(f"{head} | among slips |  best | asked for\n")
    missed = 0
    for outcome in outcomes:
        case = outcome.case
        bad = [outcome.needless.share > NEEDLESS_GOAL, outcome.caught.share < case.goal]
        missed += sum(bad)
        best = "" if (share := best_by_value(case)) is None else f"{share:.1%}"
        kinds = ", ".join(f"{kind.value} {count}" for kind, count in outcome.kinds.items())
        say(
            f"{case.name:24} {describe(case):22} {case.between_points:7.1f} {case.between_surveys:7.1f} | "
            f"{outcome.needless.share:7.2%} {'MISS' if bad[0] else '    '}    | "
            f"{outcome.caught.share:7.2%} {'MISS' if bad[1] else '    '} {case.goal:7.0%} | "
            f"{outcome.caught_among_slips.share:11.1%} | {best:>5} | {kinds}\n"
        )
    return missed


def main() -> int:
    parser = argparse.ArgumentParser(description="Needless questions, and tenfold slips caught.")
    parser.add_argument("--development", action="store_true", help="what the thresholds were set on")
    parser.add_argument("--quick", action="store_true", help="a fifth of the surveys")
    parser.add_argument("--seed", default=None, help="another seed, for setting thresholds")
    parser.add_argument("--only", default="", help="cases whose name or scatter has this text")
    asked = parser.parse_args()
    surveys = 10 if asked.quick else 50
    seed = asked.seed or (DEVELOPMENT_SEED if asked.development else REPORT_SEED)
    cases = DEVELOPMENT if asked.development else [*DEVELOPMENT, *OTHER]
    cases = [case for case in cases if asked.only in f"{case.name} {describe(case)}"]
    began = time.perf_counter()
    outcomes = [run_case(case, surveys, seed) for case in cases]
    missed = print_table(outcomes, sys.stdout.write)
    readings = sum(outcome.needless.out_of for outcome in outcomes)
    needless = sum(outcome.needless.asked for outcome in outcomes)
    sys.stdout.write(f"\nneedless questions over all: {needless} of {readings}, {needless / readings:.2%}\n")
    sys.stdout.write(f"{missed} figures miss their goal; {time.perf_counter() - began:.0f} s\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
