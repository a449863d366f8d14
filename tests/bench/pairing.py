"""Figures of pairing: ``python -m tests.bench.pairing [--readings N] [--seed S]``.

Prints one table of simulated crews and one of running times. The anchor is not another program
but the same model told the true rates.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable, Iterator
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
    "6 classes, no numbers": Crew(KEYING_1, numbered=False),
    "12 classes at 1 %": Crew(FaultRates.each(0.01)),
    "12 classes, no numbers": Crew(FaultRates.each(0.01), numbered=False),
    "points alike (0.2)": Crew(KEYING_1, between_points=0.2, within_point=0.1),
    "list shows 2 figures": Crew(KEYING_1, listed_figures=2),
}
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

    def add(self, walked: Walked, found: Pairing) -> None:
        self.readings += len(walked.record)
        for record, outcomes in _outcomes(found):
            probability, places = outcomes
            right = walked.truth[record] in places
            self.wrong += not right
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


def true_rates(faults: FaultRates) -> Rates:
    """The model told what the simulator does."""
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
        unexplained=0.001,
        not_stored=faults.not_stored,
        stored_more=more,
        copied=faults.stored_twice / more,
        taken_again=(faults.unannounced + faults.spoiled) / more * 0.95,
        again_within=0.15 * math.sqrt(2.0),
        one_more=2.0 * more,
        number_misheard=faults.misheard_number,
    )


def measure(crew: Crew, readings: int, seed: int, rates: Rates | None) -> Tally:
    chance, tally, turn = Random(seed), Tally(), 0
    while tally.readings < readings:
        walked = walk(crew, ROUTE[turn % len(ROUTE)], chance)
        tally.add(walked, pair_lists(walked.record, walked.memory, rates))
        turn += 1
    return tally


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


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--readings", type=int, default=12_000, help="per scene, default 12000")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--scene", choices=sorted(SCENES), help="only this one")
    chosen = options.parse_args()
    out = sys.stdout.write
    out(
        "scene                    readings  certain  wrong  undecided  calibr.  reported  errors/true rates\n"
    )
    for name, crew in SCENES.items():
        if chosen.scene not in (None, name):
            continue
        plain = measure(crew, chosen.readings, chosen.seed, None)
        told = measure(crew, chosen.readings, chosen.seed, true_rates(crew.faults))
        out(
            f"{name:24} {plain.readings:8}  {plain.certain:7}  {plain.wrong_certain:5}"
            f"  {plain.undecided / plain.readings:8.3%}  {plain.calibration_error():7.4f}"
            f"  {plain.reported / max(1, plain.planted):8.3%}"
            f"  {plain.wrong}/{told.wrong}  (told: wrong {told.wrong_certain},"
            f" undecided {told.undecided / told.readings:.3%}, calibr. {told.calibration_error():.4f})\n"
        )
    if chosen.scene is None:
        sizes = [500, 1000, 2000, 5000, 10_000, 20_000]
        steep, times = slope(sizes, _seconds)
        out("\nreadings " + " ".join(f"{size:7}" for size in sizes) + "\n")
        out("seconds  " + " ".join(f"{taken:7.3f}" for taken in times) + f"\nlog-log slope {steep:.3f}\n")


if __name__ == "__main__":
    main()
