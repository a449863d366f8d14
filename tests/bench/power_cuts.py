"""Real power cuts by the thousand: ``python -m tests.bench.power_cuts [--cuts 1000] [--seed 1]``, as root.

Each cut shuts an ext4 file system in a loop device down under the desk, mounts it again, and
holds what is there to what was acknowledged. The cuts are shared among the mount options.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from tests.crash.loop_disk import NoLoopDiskError, loop_disk
from tests.crash.power_cuts import LostError, cut_and_check

OPTIONS = ("data=ordered", "data=writeback")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cuts", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    say("mount            cuts  while begun  acknowledged  unsaid  torn  lost  seconds")
    lost = 0
    for options in OPTIONS:
        began = time.perf_counter()
        try:
            with tempfile.TemporaryDirectory() as folder, loop_disk(Path(folder), options=options) as loop:
                tally = cut_and_check(loop, arguments.cuts // len(OPTIONS), random.Random(arguments.seed))
        except NoLoopDiskError as error:
            say(f"no loop disk here: {error}")
            return 2
        except LostError as error:
            say(f"{options}: LOST: {error}")
            lost += 1
            continue
        say(
            f"{options:15} {tally.cuts:5} {tally.begun:12} {tally.acknowledged:13} {tally.unsaid:7} "
            f"{tally.torn:5} {0:5} {time.perf_counter() - began:8.0f}"
        )
    return 1 if lost else 0


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())
