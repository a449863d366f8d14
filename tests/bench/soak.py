"""Twenty thousand rows through the real screens: ``python -m tests.bench.soak [--events 20000] [--trace]``.

For each block of rows the median of this thread's computing for one event, keys and paint included, and the
memory of the process; then the slope over the blocks with its 95 % interval (least squares), in per cent
of the first block for each 1,000 rows. Memory holds the survey itself, so it grows with the rows; widgets,
surveys and tasks alive must not. In the end a disk whose sync takes two seconds, and how long the screen
stood still for it. With ``--trace`` where the memory went, much slower.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import statistics
import sys
import tempfile
import time
import tracemalloc
from itertools import cycle, islice
from pathlib import Path

from scipy import stats  # type: ignore[import-untyped]

from tests.crash.soaking import ROUND, Soak, alive, soaking
from tests.desk.scenes import QuickDisk

DELAY_S = 2.0
MOST_GAP_S = 0.1


class SlowDisk(QuickDisk):
    """Its sync takes its time once ``delay`` is set."""

    delay = 0.0

    def sync_data(self, fd: int) -> None:
        time.sleep(self.delay)


async def soak_blocks(soak: Soak, events: int, block: int, seconds: float) -> list[float]:
    """Milliseconds for one event, the median of each block; each is printed as it comes."""
    keys, medians = cycle(ROUND), []
    until = time.monotonic() + seconds
    for done in range(block, events + 1, block):
        times = [1000 * await soak.event(each) for each in islice(keys, block)]
        medians.append(statistics.median(times))
        found = alive()
        say(
            f"{done:8,} {medians[-1]:10.2f} {max(times):10.1f} {resident_mib():9.1f} {found['widgets']:8} "
            f"{found['surveys']:8} {found['tasks']:6}"
        )
        if time.monotonic() > until:
            say("the time is over")
            break
    return medians


def slope(medians: list[float], block: int) -> str:
    """Per cent of the first block for each 1,000 rows, with its 95 % interval."""
    if len(medians) < 3:
        return "too few blocks for a slope"
    rows = [(place + 1) * block / 1000 for place in range(len(medians))]
    line = stats.linregress(rows, medians)
    half = stats.t.ppf(0.975, len(medians) - 2) * line.stderr
    low, middle, high = (
        100 * each / medians[0] for each in (line.slope - half, line.slope, line.slope + half)
    )
    return f"slope {middle:+.2f} % of the first block a 1,000 rows, 95 % from {low:+.2f} to {high:+.2f}"


async def gap_under_slow_sync(soak: Soak, disk: SlowDisk) -> float:
    """The longest time between two turns of the screen's loop while one sync takes :data:`DELAY_S`."""
    longest, is_over = 0.0, False

    async def watch() -> None:
        nonlocal longest
        before = time.perf_counter()
        while not is_over:
            await asyncio.sleep(0.002)
            now = time.perf_counter()
            longest, before = max(longest, now - before), now

    rows = soak.rows
    await soak.hand.pilot.press("1", ".", "2")
    disk.delay = DELAY_S
    task = asyncio.create_task(watch())
    await soak.hand.pilot.press("enter", "enter", "enter")
    while soak.rows == rows:
        await asyncio.sleep(0.01)
    is_over = True
    await task
    disk.delay = 0.0
    if soak.rows != rows + 1:
        raise SystemExit("one value was recorded more than once")
    return longest


def resident_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


async def run(arguments: argparse.Namespace) -> int:
    disk = SlowDisk()
    with tempfile.TemporaryDirectory() as folder:
        async with soaking(Path(folder), arguments.events, disk) as soak:
            for each in ROUND:
                await soak.event(each)
            first, before = resident_mib(), alive()
            if arguments.trace:
                tracemalloc.start()
            say("    rows  median ms longest ms   RSS MiB  widgets  surveys  tasks")
            medians = await soak_blocks(soak, arguments.events, arguments.block, arguments.seconds)
            if arguments.trace:
                for line in tracemalloc.take_snapshot().statistics("lineno")[:10]:
                    say(f"  {line}")
            last, after = resident_mib(), alive()
            gap = await gap_under_slow_sync(soak, disk)
    rows = arguments.block * len(medians)
    say(slope(medians, arguments.block))
    say(f"RSS {first:.1f} MiB, in the end {last:.1f}: {1024 * (last - first) / rows:.2f} KiB a row")
    goal = f"goal {1000 * MOST_GAP_S:.0f}"
    say(f"longest stand-still while a sync took {DELAY_S:.0f} s: {1000 * gap:.0f} ms ({goal})")
    grown = [kind for kind in after if after[kind] > before[kind]]
    say(f"alive in the end and not at the beginning: {', '.join(grown) or 'nothing'}")
    return 1 if grown else 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--events", type=int, default=20_000)
    parser.add_argument("--block", type=int, default=1_000)
    parser.add_argument("--seconds", type=float, default=1800, help="at most, for the rows")
    parser.add_argument("--trace", action="store_true")
    return asyncio.run(run(parser.parse_args()))


if __name__ == "__main__":
    raise SystemExit(main())
