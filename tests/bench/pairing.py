"""Figures of pairing: ``python -m tests.bench.pairing [--readings N] [--seed S] [--scene NAME]``.

Prints one table of simulated crews and one of running times. The anchor is not another program
but the same model told the true rates, on the very same walks: what it leaves undecided is the best
that the lists allow. Seeds in :data:`USED_UP` were developed on or reported, those in
:data:`FOR_DEVELOPMENT` are free to look at; report other ones, each once.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from random import Random

from fieldtui.core.pairing.alignment import Finding, Pairing, Rates, pair_lists
from fieldtui.core.slips import Slip
from tests.bench.crew import PUBLISHED, Crew, FaultRates, Walked, is_visible, walk

KEYING_1 = FaultRates(  # keying as one class of 1 %, split after Verhoeff 1969
    replaced=0.006,
    swapped=0.0012,
    omitted=0.0008,
    added=0.0008,
    point_moved=0.0005,
    unit_wrong=0.0004,
    repeated=0.0003,
    not_stored=0.01,
    stored_twice=0.01,
    unannounced=0.01,
    spoiled=0.01,
    misheard_number=0.01,
)
SCENES = {
    "published rates": Crew(PUBLISHED),
    "6 classes at 1 %": Crew(KEYING_1),
    "6 classes, checks after": Crew(KEYING_1, checks_after=True),
    "6 classes, no numbers": Crew(KEYING_1, numbered=False),
    "12 classes at 1 %": Crew(FaultRates.each(0.01)),
    "12 classes, no numbers": Crew(FaultRates.each(0.01), numbered=False),
    "a slip in 12 of no kind": Crew(KEYING_1, odd_slips=1 / 12),
    "points alike (0.2)": Crew(KEYING_1, between_points=0.2, within_point=0.1),
    "list shows 2 figures": Crew(KEYING_1, listed_figures=2),
}
REPORTED = (9001, 9002, 9101, 9201, 9301, 9302, 9401)
USED_UP = (1, 7, 101, 102, *range(201, 207), *range(301, 305), *range(401, 405), *REPORTED)
FOR_DEVELOPMENT = range(20_000, 30_000)
PART = 10_000  # readings simulated in one go
ROUTE = (50, 200, 500, 1000, 128)  # readings of the runs simulated in turn


@dataclass(slots=True)
class Tally:
    """What came of pairing simulated walks."""

    readings: int = 0
    certain: int = 0
    wrong_certain: int = 0
    undecided: int = 0
    wrong: int = 0  # likeliest outcome of a reading is not the true one
    planted: int = 0
    reported: int = 0
    said: list[float] = field(default_factory=lambda: [0.0] * 20)  # probability, by its bin
    held: list[int] = field(default_factory=lambda: [0] * 20)  # right ones, by the same bin

    def calibration_error(self) -> float:
        """Expected calibration error over the likeliest outcome of each reading."""
        return sum(abs(said - held) for said, held in zip(self.said, self.held, strict=True)) / max(
            1, self.readings
        )

    def add(self, walked: Walked, found: Pairing) -> set[int]:
        """Take in one walk; returns the records whose likeliest outcome is not the true one."""
        wrong: set[int] = set()
        self.readings += len(walked.record)
        for record, outcomes in _outcomes(found):
            probability, places = outcomes
            right = walked.truth[record] in places
            if not right:
                wrong.add(record)
            self.said[min(19, int(probability * 20))] += probability
            self.held[min(19, int(probability * 20))] += right
        self.certain += len(found.pairs)
        self.wrong_certain += sum(
            walked.truth[pair.record] not in (pair.entry, *pair.copies) for pair in found.pairs
        )
        self.undecided += sum(one.record is not None for one in found.undecided)
        different = _reported(found)
        for record in walked.planted:
            if is_visible(walked, record):
                self.planted += 1
                self.reported += record in different
        self.wrong += len(wrong)
        return wrong

    def join(self, other: Tally) -> None:
        for count in ("readings", "certain", "wrong_certain", "undecided", "wrong", "planted", "reported"):
            setattr(self, count, getattr(self, count) + getattr(other, count))
        self.said = [a + b for a, b in zip(self.said, other.said, strict=True)]
        self.held = [a + b for a, b in zip(self.held, other.held, strict=True)]


@dataclass(slots=True)
class Both:
    """The model as shipped and the one told the true rates, on the same walks."""

    plain: Tally = field(default_factory=Tally)
    told: Tally = field(default_factory=Tally)
    only_plain: int = 0  # readings that only the shipped model gets wrong
    only_told: int = 0
    more: int = 0  # errors more of the shipped model, over the walks on which it has more
    fewer: int = 0  # errors fewer, over the walks on which it has fewer
    squares: int = 0  # of the differences, walk by walk
    chosen_apart: int = 0  # readings of which the two choose another outcome
    reckoned: float = 0.0  # errors that the shipped model's choices cost, by the told one's probabilities

    def add(self, walked: Walked, plain: Pairing, told: Pairing) -> None:
        wrong, wrong_told = self.plain.add(walked, plain), self.told.add(walked, told)
        self.only_plain += len(wrong - wrong_told)
        self.only_told += len(wrong_told - wrong)
        apart = len(wrong) - len(wrong_told)
        self.more += max(0, apart)
        self.fewer += max(0, -apart)
        self.squares += apart * apart
        chances, theirs = _chances(told), dict(_outcomes(told))
        for record, (_, places) in _outcomes(plain):
            if set(places) != set(theirs[record][1]):
                self.chosen_apart += 1
                self.reckoned += theirs[record][0] - sum(chances[record].get(place, 0.0) for place in places)

    def join(self, other: Both) -> None:
        self.plain.join(other.plain)
        self.told.join(other.told)
        for count in ("only_plain", "only_told", "more", "fewer", "squares", "chosen_apart", "reckoned"):
            setattr(self, count, getattr(self, count) + getattr(other, count))

    def ratio(self) -> tuple[float, float, float]:
        """Errors to the told model's, and its 95 % interval.

        Both models see the same walks, so that only the walks on which they differ tell anything. The two
        counts of these are taken as Poisson with score limits, joined as of Zou and Donner (Statistics in
        Medicine 27, 2008; from memory), and widened where differences come in clumps. It holds for no
        difference at all as well.
        """
        told, apart = max(1, self.told.wrong), self.more - self.fewer
        clumps = math.sqrt(max(1.0, self.squares / max(1, self.more + self.fewer)))
        (less, most), (least, greatest) = _poisson_limits(self.more), _poisson_limits(self.fewer)
        down = clumps * math.hypot(self.more - less, greatest - self.fewer)
        up = clumps * math.hypot(most - self.more, self.fewer - least)
        return 1 + apart / told, 1 + (apart - down) / told, 1 + (apart + up) / told

    def mcnemar(self) -> float:
        """Two-sided exact probability of discordant counts so far apart if both models err alike."""
        count, fewer = self.only_plain + self.only_told, min(self.only_plain, self.only_told)
        return min(1.0, sum(math.comb(count, k) for k in range(fewer + 1)) * 2 * 0.5**count)


def _poisson_limits(count: int) -> tuple[float, float]:
    """95 % score limits of a Poisson mean of which ``count`` were seen."""
    z = 1.96
    half = z * math.sqrt(count + z * z / 4)
    return count + z * z / 2 - half, count + z * z / 2 + half


def _chances(found: Pairing) -> dict[int, dict[int | None, float]]:
    """For each reading the probability of each place it may mean, those shown; a copy stands for all."""
    chances: dict[int, dict[int | None, float]] = {
        pair.record: {pair.entry: pair.probability} for pair in found.pairs
    }
    chances |= {one.record: {None: one.probability} for one in found.record_only if one.record is not None}
    for one in found.undecided:
        if one.record is not None:
            chances[one.record] = {option.entry: option.probability for option in one.options}
    return chances


def _outcomes(found: Pairing) -> Iterator[tuple[int, tuple[float, tuple[int | None, ...]]]]:
    """Each reading's likeliest outcome: its probability and the places it may mean."""
    for pair in found.pairs:
        yield pair.record, (pair.probability, (pair.entry, *pair.copies))
    for one in found.record_only:
        if one.record is not None:
            yield one.record, (one.probability, (None,))
    for open_one in found.undecided:
        if open_one.record is not None:
            best = open_one.options[0]
            yield open_one.record, (best.probability, (best.entry,))


def _reported(found: Pairing) -> set[int]:
    """Records said, or shown for decision, to be keyed differently."""
    certain = {pair.record for pair in found.pairs if pair.finding is Finding.KEYED_DIFFERENTLY}
    return certain | {one.record for one in found.undecided if one.record is not None}


def true_rates(crew: Crew) -> Rates:
    """The model told what the simulator does."""
    faults = crew.faults
    slips = {
        Slip.REPLACED: faults.replaced,
        Slip.SWAPPED: faults.swapped,
        Slip.OMITTED: faults.omitted,
        Slip.ADDED: faults.added,
        Slip.POINT_MOVED: faults.point_moved,
        Slip.UNIT_WRONG: faults.unit_wrong,
        Slip.REPEATED: faults.repeated,
    }
    wrong = sum(slips.values())
    more = faults.stored_twice + faults.unannounced + faults.spoiled
    return replace(
        Rates(),
        keyed_wrong=wrong,
        shares={slip: rate / wrong for slip, rate in slips.items()},
        unexplained=max(0.001, crew.odd_slips),
        not_stored=faults.not_stored,
        stored_more=more,
        copied=faults.stored_twice / more,
        taken_again=(faults.unannounced + faults.spoiled) / more * 0.95,
        again_within=0.15 * math.sqrt(2.0),
        one_more=2.0 * more,
        number_misheard=faults.misheard_number,
        erased_alone=faults.spoiled / more,
        erased_kept=1e-6,
    )


def measure_part(crew: Crew, readings: int, seed: str) -> Both:
    chance, both, turn = Random(seed), Both(), 0
    rates = true_rates(crew)
    while both.plain.readings < readings:
        walked = walk(crew, ROUTE[turn % len(ROUTE)], chance)
        plain = pair_lists(walked.record, walked.memory)
        both.add(walked, plain, pair_lists(walked.record, walked.memory, rates))
        turn += 1
    return both


def measure(crew: Crew, readings: int, seed: int, pool: ProcessPoolExecutor) -> Both:
    sizes = [min(PART, readings - begun) for begun in range(0, readings, PART)]
    seeds = [f"{seed}/{part}" for part in range(len(sizes))]
    whole = Both()
    for part in pool.map(measure_part, [crew] * len(sizes), sizes, seeds):
        whole.join(part)
    return whole


def slope(sizes: list[int], seconds: Callable[[int], float]) -> tuple[float, list[float]]:
    """The least-squares slope of log time over log size, and the times."""
    times = [seconds(size) for size in sizes]
    xs, ys = [math.log(size) for size in sizes], [math.log(taken) for taken in times]
    mean_x, mean_y = sum(xs) / len(xs), sum(ys) / len(ys)
    rise = sum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True))
    return rise / sum((x - mean_x) ** 2 for x in xs), times


def _seconds(size: int) -> float:
    """The better of two runs, as the other processes of a machine only ever add."""
    walked = walk(Crew(KEYING_1), size, Random(size))
    best = math.inf
    for _ in range(2):
        begin = time.process_time()
        pair_lists(walked.record, walked.memory)
        best = min(best, time.process_time() - begin)
    return best


def _strangers_seconds(size: int) -> float:
    """Pairing the list of another session."""
    ours, theirs = (walk(Crew(KEYING_1), size, Random(f"{size} {side}")) for side in ("ours", "theirs"))
    begin = time.process_time()
    pair_lists(ours.record, theirs.memory)
    return time.process_time() - begin


def print_scene(name: str, both: Both, say: Callable[[str], object]) -> None:
    for who, tally in (("as shipped", both.plain), ("told the true rates", both.told)):
        say(
            f"{name:25} {who:20} {tally.readings:8}  {tally.certain:7}  {tally.wrong_certain:5}"
            f"  {tally.undecided / tally.readings:8.3%}  {tally.calibration_error():7.4f}"
            f"  {tally.reported / max(1, tally.planted):8.3%}  {tally.wrong:6}\n"
        )
    ratio, low, high = both.ratio()
    say(
        f"{'':25} errors {both.plain.wrong}/{both.told.wrong} = {ratio:.2f} ({low:.2f} to {high:.2f}); "
        f"wrong in one: shipped {both.only_plain}, told {both.only_told}, McNemar p {both.mcnemar():.2f}\n"
    )
    say(
        f"{'':25} chosen otherwise {both.chosen_apart}, which by the told one's probabilities costs "
        f"{both.reckoned:.2f} errors, a ratio of {1 + both.reckoned / max(1, both.told.wrong):.3f}\n"
    )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--readings", type=int, default=12_000, help="per scene, default 12000")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--scene", choices=sorted(SCENES), help="only this one")
    options.add_argument("--workers", type=int, default=2)
    chosen = options.parse_args()
    out = sys.stdout.write
    used = chosen.seed in USED_UP or chosen.seed in FOR_DEVELOPMENT
    out(f"seed {chosen.seed}: {'used before' if used else 'a fresh seed'}\n")
    out(f"{'scene':25} {'model':20} readings  certain  wrong  undecided  calibr.  reported  errors\n")
    with ProcessPoolExecutor(chosen.workers) as pool:
        for name, crew in SCENES.items():
            if chosen.scene in (None, name):
                print_scene(name, measure(crew, chosen.readings, chosen.seed, pool), out)
                sys.stdout.flush()
    if chosen.scene is None:
        sizes = [500, 1000, 2000, 5000, 10_000, 20_000]
        steep, times = slope(sizes, _seconds)
        out("\nreadings " + " ".join(f"{size:7}" for size in sizes) + "\n")
        out("seconds  " + " ".join(f"{taken:7.3f}" for taken in times) + f"\nlog-log slope {steep:.3f}\n")
        strange = _strangers_seconds(1000)
        out(f"1,000 readings, another session's list: {strange:.3f} s, {strange / times[1]:.2f} of its own\n")


if __name__ == "__main__":
    main()
