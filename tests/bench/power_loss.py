"""Power losses in the model by the hundred thousand: ``python -m tests.bench.power_loss [--states 100000]``.

The test run's own exploration over longer sessions, and each seeded bug over the same moments.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Callable, Iterator

import pytest

from fieldtui.errors import MediumFailedError
from fieldtui.files import durable
from tests.crash import test_power_loss_model as model
from tests.crash.model import (
    FIRST_LINK,
    SESSION_ID,
    SESSIONS,
    TOML,
    ModelDisk,
    Truth,
    noted,
    reading,
    started,
)

STEP = 61  # bytes between two cuts of a write where a seeded bug is looked for


def workload(chance: random.Random) -> Callable[[ModelDisk, Truth], None]:
    """A session of a few rows of chance lengths."""
    notes = ["".join(chance.choices('ab ,"µ', k=chance.choice((0, 3, 80, 480)))) for _ in range(4)]

    def run(disk: ModelDisk, truth: Truth) -> None:
        events = [started(), *(reading(n, note.strip()) for n, note in enumerate(notes, 1)), noted(9, "last")]
        truth.submitted = list(events)
        writer = durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started())
        truth.is_created, truth.acknowledged = True, 1
        for event in events[1:]:
            truth.acknowledged = writer.append(event)
        writer.close()

    return run


def states(chance: random.Random) -> Iterator[int]:
    """Explore one session: power cut, kill and reopen and power cut, and cuts inside the recovery."""
    moments = model.moments(workload(chance), model.fresh())
    for disk, truth in moments:
        for left in disk.power_cuts(3):
            model.check(left, truth)
            yield 1
    for disk, told in moments[:: chance.choice((1, 2, 3))]:
        if disk.content(model.FOLDER / "session.toml") is None:
            continue
        for later, truth in model.moments(model.reopen, disk.killed(), told):
            for left in later.power_cuts(97):
                model.check(left, truth)
                yield 1
    yield from nested(moments, chance)


def nested(moments: list[tuple[ModelDisk, Truth]], chance: random.Random) -> Iterator[int]:
    """A power cut, and another one at each step of recovering from it."""
    for disk, truth in moments:
        if not truth.is_created:
            continue
        lefts = [
            left for left in disk.power_cuts(11) if left.content(model.TRAIL) != disk.content(model.TRAIL)
        ]
        for left in chance.sample(lefts, min(3, len(lefts))):
            told = Truth(list(truth.submitted), truth.acknowledged, is_created=True)
            for later, after in model.moments(lambda d, t: model.reopen(d, t, extra=0), left, told):
                for again in later.power_cuts(53):
                    model.check(again, after)
                    yield 1


def caught() -> tuple[int, int]:
    """Seeded bugs that the model notices, of how many."""
    count = 0
    for seed in model.SEEDED:
        with pytest.MonkeyPatch.context() as patch:
            seed(patch)
            try:
                model.explore(step=STEP)
            except model.LostError:
                count += 1
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model.trail_writer.TrailWriter, "_sync", _sync_twice)
        disk, truth = model.failing_sync_run()
        try:
            for left in disk.power_cuts(9):
                model.check(left, truth)
        except model.LostError:
            count += 1
    return count, len(model.SEEDED) + 1


def _sync_twice(self) -> None:  # type: ignore[no-untyped-def]
    try:
        self._disk.sync_data(self._fd)
    except (OSError, MediumFailedError):
        self._disk.sync_data(self._fd)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--states", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    began = time.perf_counter()
    chance = random.Random(arguments.seed)
    count = sessions = lost = 0
    while count < arguments.states:
        sessions += 1
        try:
            for more in states(chance):
                count += more
        except model.LostError as error:
            lost += 1
            sys.stdout.write(f"session {sessions}: LOST: {error}\n")
    taken = time.perf_counter() - began
    sys.stdout.write(f"states {count}  sessions {sessions}  lost {lost}  seconds {taken:.0f}\n")
    bugs, of = caught()
    sys.stdout.write(f"seeded bugs caught {bugs} of {of}\n")
    return 1 if lost or bugs < of else 0


if __name__ == "__main__":
    raise SystemExit(main())
