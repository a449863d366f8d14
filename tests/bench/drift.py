"""How soon the drift watch speaks up, against a detector that is told everything. Run with::

    python -m tests.bench.drift              # all tables, under two minutes on two free cores
    python -m tests.bench.drift --quick      # a fifth of the readings: a rough look
    python -m tests.bench.drift --spread-known   # how much of the gap is not knowing the spread

The anchor is Page's CUSUM of the exact log-likelihood ratio: it knows which shift to wait for, the
spread between surveys and the rate of strays. For independent readings of one kind no detector with
the same rate of false alarms has a smaller worst mean delay (Moustakides, Annals of Statistics 14,
1986). The watch knows none of it: it reads two earlier surveys, waits for every shift in both
directions and for reversed sections.

Invented walks: 200 points in sections of 20, ln(ohm) normal with the spread between points; each
survey, today's included, differs from the one before by a normal step with the spread between
surveys. Values are rounded to 1 µohm. A shift begins somewhere from reading 31 to 100.
On walks without a shift the CUSUM is set to one false alarm in 2,000 readings, the watch to one in
2,500, so that chance in the setting does not flatter it; what it then does is measured on fresh walks.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from decimal import Decimal

from fieldtui.core.drift.expectations import expectations
from fieldtui.core.drift.watch import MARGIN, Watch, begin_watch
from fieldtui.core.ohms import Resistance, Unit
from fieldtui.core.route import RECORD_ONLY, Point, Route, Section

POINTS, SECTION = 200, 20
FALSE_ALARM_EVERY, WATCH_EVERY = 2_000, 2_500
GOAL = 1.3
BETWEEN_POINTS, BETWEEN_SURVEYS = (0.2, 0.4, 0.6), (0.1, 0.2, 0.3)
STRAY_LIFT, STRAY_SPREAD = 1.5, 1.0  # ln units: a stray reads some 4.5 times too high


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table: the crew's world, and how much is simulated."""

    between_points: float
    between_surveys: float
    earlier: int = 2  # earlier surveys of the route
    strays: float = 0.0  # rate of readings that say nothing of their point
    readings: int = 30_000  # walked without a shift, to set the watch
    shifts: int = 250  # walks with a shift, for each direction
    spread_known: bool = False


@dataclass(frozen=True, slots=True)
class Delay:
    """Mean readings from the first shifted one, itself counted, to the alarm."""

    shift: int
    watch: float
    cusum: float
    shipped: float  # of the watch at the margin the program ships with
    sure: float  # half-width of the 95 % interval of the ratio
    named: float  # share of alarms that named the shift
    began: float  # share whose beginning was right within one reading

    @property
    def ratio(self) -> float:
        return self.watch / self.cusum


@dataclass(frozen=True, slots=True)
class Outcome:
    cell: Cell
    every: float  # readings per false alarm, in fresh walks at the set margin, settling after each
    every_shipped: float  # the same at the margin the program ships with
    probability: float  # at which the watch speaks up once set
    delays: tuple[Delay, ...]


@dataclass(frozen=True, slots=True)
class Walk:
    """ln(ohm) of every point, by survey: the earlier ones as written down, and today's."""

    earlier: tuple[tuple[Resistance, ...], ...]
    last: tuple[float, ...]
    today: tuple[float, ...]


def make_walk(cell: Cell, chance: random.Random) -> Walk:
    level = math.log(2e-3)
    surveys = [[chance.gauss(level, cell.between_points) for _ in range(POINTS)]]
    for _ in range(cell.earlier):
        surveys.append([chance.gauss(was, cell.between_surveys) for was in surveys[-1]])
    *before, today = surveys
    written = tuple(tuple(map(rounded, survey)) for survey in before)
    return Walk(written, tuple(math.log(r.ohms) for r in written[-1]), tuple(today))


def fresh_watch(cell: Cell, walk: Walk, margin: float = MARGIN) -> Watch:
    names = [f"P{i:03}" for i in range(POINTS)]
    points = (Point(n, f"S{i // SECTION}", n, Unit.MOHM, RECORD_ONLY) for i, n in enumerate(names))
    sections = (Section(f"S{i}", "") for i in range(POINTS // SECTION))
    route = Route("bench", "", "", "", "", Unit.MOHM, 10, tuple(sections), tuple(points))
    plan = expectations(route, dict(zip(names, zip(*walk.earlier, strict=True), strict=True)))
    if not cell.spread_known:
        return begin_watch(plan, margin=margin)
    told = [replace(e, spread=cell.between_surveys) for e in plan]
    return begin_watch(told, margin=margin, factors=(1.0,))


def rounded(log_ohms: float) -> Resistance:
    return Resistance(max(Decimal(round(math.exp(log_ohms) * 1e6)), Decimal(1)).scaleb(-3), Unit.MOHM)


def called(
    cell: Cell, walk: Walk, shift: int, onset: int, chance: random.Random
) -> Iterator[tuple[int, Decimal]]:
    """(place in the record, ohm) for each reading; from ``onset`` on the prober is ``shift`` ahead."""
    for place in range(POINTS):
        there = place + shift if place >= onset else place
        if there < POINTS:
            log_ohms = walk.today[there]
            if chance.random() < cell.strays:
                log_ohms = chance.gauss(log_ohms + STRAY_LIFT, STRAY_SPREAD)
            yield place, rounded(log_ohms).ohms


def log_ratio(cell: Cell, walk: Walk, place: int, ohms: Decimal, shift: int) -> float:
    """ln of the exact likelihood ratio of "``shift`` ahead" to "in step"; 0 off the plan."""
    if not 0 <= place + shift < POINTS:
        return 0.0
    x, s = math.log(ohms), cell.between_surveys
    there, here = (x - walk.last[place + shift]), (x - walk.last[place])
    if not cell.strays:
        return (here * here - there * there) / (2 * s * s)

    def density(z: float) -> float:
        far = math.hypot(s, STRAY_SPREAD)
        return (1 - cell.strays) / s * math.exp(-z * z / 2 / s / s) + cell.strays / far * math.exp(
            -((z - STRAY_LIFT) ** 2) / 2 / far / far
        )

    return math.log(density(there) / density(here))


def page(score: float, ratio: float) -> float:
    """Page's CUSUM one reading on (Biometrika 41, 1954): the ratio is added, and never below zero."""
    return max(0.0, score + ratio)


def set_threshold(peaks: Sequence[float], readings: int, lowest: float, every: int) -> float:
    """The lowest threshold, from ``lowest`` up, that peaks reach at most once in ``every`` readings."""
    allowed = readings // every
    ranked = sorted(peaks, reverse=True)
    return math.nextafter(max(ranked[allowed], lowest), math.inf) if len(ranked) > allowed else lowest


def peaks_of(scores: Iterator[float], floor: float) -> Iterator[float]:
    """The peak of each excursion above ``floor``."""
    peak = floor
    for score in scores:
        if score <= floor < peak:
            yield peak
            peak = floor
        peak = max(peak, score)
    if peak > floor:
        yield peak


def cusum_threshold(cell: Cell, shift: int, chance: random.Random) -> float:
    def scores(walk: Walk) -> Iterator[float]:
        score = 0.0
        for place, ohms in called(cell, walk, 0, POINTS, chance):
            score = page(score, log_ratio(cell, walk, place, ohms, shift))
            yield score

    readings = cell.readings * 2
    walks = (make_walk(cell, chance) for _ in range(readings // POINTS))
    peaks = [peak for walk in walks for peak in peaks_of(scores(walk), 0.0)]
    return set_threshold(peaks, readings, 0.0, FALSE_ALARM_EVERY)


def odds(watch: Watch) -> float:
    """ln odds of some shift."""
    in_step = watch.probabilities[0]
    return math.log(max(1 - in_step, 1e-15) / max(in_step, 1e-15))


def watch_threshold(cell: Cell, chance: random.Random) -> float:
    def scores(walk: Walk) -> Iterator[float]:
        watch = fresh_watch(cell, walk)
        for place, ohms in called(cell, walk, 0, POINTS, chance):
            watch = watch.after(place, ohms, place + 1)
            yield odds(watch)

    walks = (make_walk(cell, chance) for _ in range(cell.readings // POINTS))
    peaks = [peak for walk in walks for peak in peaks_of(scores(walk), -1.0)]
    return set_threshold(peaks, cell.readings, 0.0, WATCH_EVERY)  # never below more likely than not


def false_alarms(cell: Cell, margin: float, chance: random.Random) -> float:
    """Readings per false alarm as a crew would live it: it looks, settles, walks on."""
    alarms = 0
    for _ in range(cell.readings // POINTS):
        walk = make_walk(cell, chance)
        watch = fresh_watch(cell, walk, margin)
        for place, ohms in called(cell, walk, 0, POINTS, chance):
            watch = watch.after(place, ohms, place + 1)
            if watch.alarm:
                alarms += 1
                watch = watch.settled()
    return cell.readings / alarms if alarms else math.inf


def one_shift(
    cell: Cell, shift: int, margin: float, threshold: float, chance: random.Random
) -> tuple[int, int, int, bool, bool] | None:
    """Delay of watch, CUSUM and watch as shipped; shift named, beginning right. None after a false alarm.

    A detector that never speaks up is given the readings that were left.
    """
    walk, onset = make_walk(cell, chance), chance.randint(30, 99)
    watch, score = fresh_watch(cell, walk, margin), 0.0
    first: dict[str, int] = {}  # by detector: the delay, not above zero after a false alarm
    named = began = False
    for place, ohms in called(cell, walk, shift, onset, chance):
        delay = place - onset + 1
        watch = watch.after(place, ohms, place + 1)
        score = page(score, log_ratio(cell, walk, place, ohms, shift))
        if watch.alarm and "watch" not in first:
            named, began = watch.alarm.shift == shift, abs(watch.alarm.began_at - onset - 1) <= 1
            first["watch"] = delay
        if score >= threshold:
            first.setdefault("cusum", delay)
        if 1 - watch.probabilities[0] >= 0.5 + MARGIN:
            first.setdefault("shipped", delay)
        if first and min(first.values()) < 1:
            return None
        if len(first) == 3:
            break
    watched, summed, shipped = (first.get(key, POINTS - onset) for key in ("watch", "cusum", "shipped"))
    return watched, summed, shipped, named, began


def measure(cell: Cell, shift: int, margin: float, chance: random.Random) -> Delay:
    threshold = cusum_threshold(cell, shift, chance)
    runs: list[tuple[int, int, int, bool, bool]] = []
    while len(runs) < cell.shifts:
        run = one_shift(cell, shift, margin, threshold, chance)
        if run is not None:
            runs.append(run)
    watch, cusum, shipped, named, began = (sum(column) / len(runs) for column in zip(*runs, strict=True))
    ratio = watch / cusum
    squares = sum((run[0] - ratio * run[1]) ** 2 for run in runs) / len(runs)
    sure = 1.96 * math.sqrt(squares / len(runs)) / cusum
    return Delay(shift, watch, cusum, shipped, sure, named, began)


def run_cell(cell: Cell) -> Outcome:
    chance = random.Random(f"{cell}")
    probability = 1 / (1 + math.exp(-watch_threshold(cell, chance)))
    margin = min(max(probability - 0.5, 0.0), math.nextafter(0.5, 0))
    return Outcome(
        cell=cell,
        every=false_alarms(cell, margin, chance),
        every_shipped=false_alarms(cell, MARGIN, chance),
        probability=probability,
        delays=tuple(measure(cell, shift, margin, chance) for shift in (1, -1)),
    )


def print_table(title: str, outcomes: Sequence[Outcome], say: Callable[[str], object]) -> int:
    """Print one table; returns how many ratios miss the goal."""
    say(f"\n{title}\n")
    say(
        "points surveys | shift  watch  CUSUM  ratio             | named began+-1 | set to p  false alarm "
        f"every | as shipped, p {0.5 + MARGIN:.2f}: delay, every"
    )
    missed = 0
    for outcome in outcomes:
        for delay in outcome.delays:
            misses = delay.ratio > GOAL
            missed += misses
            say(
                f"{outcome.cell.between_points:6.1f} {outcome.cell.between_surveys:7.1f} | {delay.shift:+5d} "
                f"{delay.watch:6.2f} {delay.cusum:6.2f}  {delay.ratio:5.2f} +-{delay.sure:4.2f} "
                f"{'MISS' if misses else '    '} | {delay.named:5.0%} {delay.began:8.0%} | "
                f"{outcome.probability:8.4f} {outcome.every:18.0f} | {delay.shipped:6.2f} "
                f"{outcome.every_shipped:8.0f}"
            )
    return missed


def main() -> int:
    parser = argparse.ArgumentParser(description="Delay of the drift watch against a CUSUM.")
    parser.add_argument("--quick", action="store_true", help="a fifth of the readings")
    parser.add_argument("--spread-known", action="store_true", help="tell the watch the spread")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    part = 5 if given.quick else 1
    grid = [
        Cell(p, s, readings=30_000 // part, shifts=250 // part, spread_known=given.spread_known)
        for p in BETWEEN_POINTS
        for s in BETWEEN_SURVEYS
    ]
    few = [replace(cell, readings=cell.readings // 2, shifts=cell.shifts // 2) for cell in grid]
    tables = {
        "Two earlier surveys, no strays": grid,
        "One earlier survey: the spread between surveys has to be learned on the walk": [
            replace(cell, earlier=1) for cell in few if cell.between_points == 0.4
        ],
        "Two earlier surveys, 2 % of the readings stray": [
            replace(cell, strays=0.02) for cell in few if cell.between_points == 0.4
        ],
    }
    if given.spread_known:
        tables = {"Spread between surveys told to the watch": grid}
    began, missed = time.perf_counter(), 0
    say = sys.stdout.write
    with ProcessPoolExecutor(given.workers) as pool:
        outcomes = list(pool.map(run_cell, [cell for cells in tables.values() for cell in cells]))
    for title, cells in tables.items():
        missed += print_table(title, [o for o in outcomes if o.cell in cells], lambda line: say(line + "\n"))
    readings = sum(outcome.cell.readings for outcome in outcomes)
    alarms = sum(outcome.cell.readings / outcome.every for outcome in outcomes)
    say(f"\nFalse alarms of the watch over all cells as set: one in {readings / alarms:.0f} readings")
    say(f"\n{missed} of {2 * len(outcomes)} ratios above {GOAL}; {time.perf_counter() - began:.0f} s\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
