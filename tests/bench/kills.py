"""Kill -9 of the real program by the thousand: ``python -m tests.bench.kills [--kills 2000] [--workers 2]``.

Every deed of ``tests.crash.deeds`` again and again, each killed at a random moment: see
``tests.crash.kills``. Afterwards everything that was said to be saved must be there, nothing else
may be but what was keyed, no earlier row may have changed, and the session must open. The seeded bugs
are run too, and must be noticed.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from typing import Any

KILLS_FOR_A_BUG = 40


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=2000)
    parser.add_argument("--seconds", type=int, default=3600, help="at most")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    began = time.perf_counter()
    share = -(-arguments.kills // arguments.workers)
    options = ["--kills", str(share), "--seconds", str(arguments.seconds)]
    workers = [start(*options, "--seed", str(arguments.seed + n)) for n in range(arguments.workers)]
    tallies = [tally_of(worker) for worker in workers]
    taken = time.perf_counter() - began
    bad = report(tallies, taken)
    caught = 0
    for bug in ("written late", "written twice"):
        tally = tally_of(start("--kills", str(KILLS_FOR_A_BUG), "--bug", bug))
        caught += bool(tally["lost"] or tally["accepted"])
    sys.stdout.write(f"seeded bugs caught {caught} of 2\n")
    return 1 if bad or caught < 2 else 0


def start(*options: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.crash.kills", *options]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def tally_of(worker: subprocess.Popen[str]) -> dict[str, Any]:
    said, _ = worker.communicate()
    if not said.startswith("{"):
        raise SystemExit(f"a worker ended with {worker.returncode} and told nothing")
    tally: dict[str, Any] = json.loads(said)
    return tally


def report(tallies: list[dict[str, Any]], taken: float) -> bool:
    """Print what they came to; whether anything is wrong."""
    totals = {
        name: sum(tally[name] for tally in tallies) for name in ("kills", "acknowledged", "unsaid", "torn")
    }
    lost = [line for tally in tallies for line in tally["lost"]]
    accepted = [line for tally in tallies for line in tally["accepted"]]
    deeds: dict[str, list[int]] = {}
    for tally in tallies:
        for name, count in tally["deeds"].items():
            found = deeds.setdefault(name, [0, 0])
            found[0] += count
            found[1] += tally["said"][name]
    sys.stdout.write(f"{'deed':34} kills  after it was said\n")
    sys.stdout.writelines(f"{name:34} {kills:5} {said:6}\n" for name, (kills, said) in sorted(deeds.items()))
    counts = "  ".join(f"{name} {count}" for name, count in totals.items())
    sys.stdout.write(f"{counts}  lost {len(lost)}  wrongly accepted {len(accepted)}  seconds {taken:.0f}\n")
    sys.stdout.writelines(f"LOST: {line}\n" for line in lost)
    sys.stdout.writelines(f"WRONGLY ACCEPTED: {line}\n" for line in accepted)
    sys.stdout.flush()
    return bool(lost or accepted)


if __name__ == "__main__":
    raise SystemExit(main())
