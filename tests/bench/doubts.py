"""How often a sound value is questioned, and how often a slip of a factor ten is. Run with::

    python -m tests.bench.doubts           # under two minutes on a free core
    python -m tests.bench.doubts --quick   # a fifth of the surveys

Invented surveys: ln(ohm) of the points normal about half their limit, each survey a normal step
from the one before; the display shows steps of 10 µohm. On a clean survey every question is
needless. Then every reading in turn is keyed with its point moved one place, either way, on a survey
that is otherwise clean, and the share that is questioned is counted; with three in a hundred readings
of a survey wrong in that way, it is counted once more, for then the peers are wrong as well.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal

from fieldtui.core.doubts import DoubtKind, find_doubts
from fieldtui.core.drift.expectations import Expectation, expectations
from fieldtui.core.events import ReadingTaken
from fieldtui.core.ohms import Resistance, Unit
from fieldtui.core.route import Comparator, Limit, Point, Route, Section
from fieldtui.core.survey import Survey, fold
from fieldtui.core.tables import Instrument

POINTS, FAMILY = 80, 10
NOW = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
METER = Instrument("bench", "Bench")
NEEDLESS_GOAL = 0.01


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


CASES = [
    *(
        Case(f"last survey, {earlier} earlier", 0.5, step, earlier, goal=0.99)
        for earlier in (1, 2)
        for step in (0.1, 0.2, 0.3)
    ),
    *(Case("limit alone", spread, 0.2, 0) for spread in (0.2, 0.3, 0.4, 0.5, 0.6)),
    Case("family", 0.4, 0.2, 0, families=True),
    Case("pair", 0.4, 0.2, 0, pairs=True),
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


def true_values(case: Case, chance: random.Random) -> list[list[float]]:
    """ln(ohm) of every point, by survey, today's last."""
    middle = math.log(1.25e-3)
    first: list[float] = []
    for number in range(POINTS):
        level = middle + (chance.gauss(0, case.between_points) if not case.families else 0.0)
        if case.families and number % FAMILY == 0:
            family = chance.gauss(middle, 0.6)
        if case.families:
            level = chance.gauss(family, case.between_points)
        if case.pairs and number % 2:
            level = chance.gauss(first[-1], 0.3)
        first.append(level)
    surveys = [first]
    for _ in range(case.earlier):
        surveys.append([chance.gauss(was, case.between_surveys) for was in surveys[-1]])
    return surveys


def shown(log_ohms: float) -> Resistance:
    """What a display with steps of 0.01 mohm shows."""
    return Resistance(max(Decimal(round(math.exp(log_ohms) * 1e5)), Decimal(1)).scaleb(-2), Unit.MOHM)


def slipped(reading: Resistance, chance: random.Random) -> Resistance:
    """The reading with its point moved one place, either way."""
    power = chance.choice((1, -1))
    moved = Decimal(reading.digits).scaleb(power)
    return replace(reading, value=moved.quantize(Decimal(1).scaleb(-max(0, 2 - power))))


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


def run_case(case: Case, surveys: int) -> Outcome:
    chance = random.Random(case.name + str(case.between_points) + str(case.between_surveys))
    outcome = Outcome(case, Count(), Count(), Count(), {})
    route = make_route(case)
    for _ in range(surveys):
        *before, today = true_values(case, chance)
        history = {
            point.id: [shown(survey[place]) for survey in before] for place, point in enumerate(route.points)
        }
        plan = expectations(route, history if before else {})
        readings = [shown(log) for log in today]
        for survey, reading, expected in walk(route, readings, plan):
            here = expected[survey.here.id] if survey.here else None
            doubts = find_doubts(survey, reading, here, expected=expected)
            outcome.needless.add(bool(doubts))
            for doubt in doubts:
                outcome.kinds[doubt.kind] = outcome.kinds.get(doubt.kind, 0) + 1
            wrong = slipped(reading, chance)
            outcome.caught.add(bool(find_doubts(survey, wrong, here, expected=expected)))
        wrongly = [slipped(r, chance) if chance.random() < 0.03 else r for r in readings]
        for (survey, reading, expected), right in zip(walk(route, wrongly, plan), readings, strict=True):
            if reading != right:
                here = expected[survey.here.id] if survey.here else None
                outcome.caught_among_slips.add(bool(find_doubts(survey, reading, here, expected=expected)))
    return outcome


def print_table(outcomes: Sequence[Outcome], say: Callable[[str], object]) -> int:
    """Print the table; returns how many figures miss their goal."""
    head = "known                    points surveys | needless        | tenfold caught   goal | among slips"
    say(f"{head} | asked for\n")
    missed = 0
    for outcome in outcomes:
        case = outcome.case
        bad = [outcome.needless.share > NEEDLESS_GOAL, outcome.caught.share < case.goal]
        missed += sum(bad)
        kinds = ", ".join(f"{kind.value} {count}" for kind, count in outcome.kinds.items())
        say(
            f"{case.name:24} {case.between_points:6.1f} {case.between_surveys:7.1f} | "
            f"{outcome.needless.share:7.2%} {'MISS' if bad[0] else '    '}    | "
            f"{outcome.caught.share:7.2%} {'MISS' if bad[1] else '    '} {case.goal:7.0%} | "
            f"{outcome.caught_among_slips.share:11.1%} | {kinds}\n"
        )
    return missed


def main() -> int:
    parser = argparse.ArgumentParser(description="Needless questions, and tenfold slips caught.")
    parser.add_argument("--quick", action="store_true", help="a fifth of the surveys")
    surveys = 10 if parser.parse_args().quick else 50
    began = time.perf_counter()
    outcomes = [run_case(case, surveys) for case in CASES]
    missed = print_table(outcomes, sys.stdout.write)
    readings = sum(outcome.needless.out_of for outcome in outcomes)
    asked = sum(outcome.needless.asked for outcome in outcomes)
    sys.stdout.write(f"\nneedless questions over all: {asked} of {readings}, {asked / readings:.2%}\n")
    sys.stdout.write(f"{missed} figures miss their goal; {time.perf_counter() - began:.0f} s\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
