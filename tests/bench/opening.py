"""What opening costs: ``python -m tests.bench.opening [--events 100000] [--sessions 500] [--rounds 5]``.

Ratios of processor time within one run. A long trail verified and typed, and folded into the survey,
against ``csv.reader`` into a list, each in the state of the collector that it has in practice: the
program holds it back while it reads, a plain ``list(csv.reader(...))`` does not. The second table has
the collector off for all. ``csv.reader`` and the bare chain is the floor: whoever verifies pays it.
Then one event more on a short and on a long survey, and many sessions listed against read whole.
"""

from __future__ import annotations

import argparse
import csv
import gc
import io
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from hashlib import sha256
from itertools import islice
from pathlib import Path

from fieldtui.core.plan.route import Route
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.desk.quiet import collector_at_rest
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.trail.scan import Scan, scan_trail
from tests.bench.long_session import INSTRUMENT, events_of, route_of, trail_of
from tests.bench.measuring import NO_GOAL, show
from tests.crash.model import FIRST_LINK
from tests.desk.session_maker import SessionMaker

LISTED = "sessions read whole"
CSV = "csv.reader into a list"
GOALS = {"verified and typed": (2.0, NO_GOAL), "and folded into the survey": (2.5, NO_GOAL)}
STEPS = 400
READINGS, POINTS = 30, 40  # of each session listed


def milliseconds(deed: Callable[[], object]) -> float:
    """Processor time of ``deed``; what it makes lives until the clock has stopped."""
    began = time.process_time()
    made = deed()
    taken = (time.process_time() - began) * 1000
    del made
    return taken


def verified_cells(text: str) -> list[list[str]]:
    """The floor: the cells by ``csv.reader``, each row's link worked out and compared, nothing else."""
    rows, link = [], FIRST_LINK
    reader = csv.reader(io.StringIO(text, newline=""))
    rows.append(next(reader))
    for cells in reader:
        joined = link + "\x1f" + "\x1f".join(cells[:-1])
        link = sha256(joined.encode()).hexdigest()[:32]
        assert link == cells[-1]
        rows.append(cells)
    return rows


@collector_at_rest()
def scanned(data: bytes) -> Scan:
    return scan_trail(data, first_link=FIRST_LINK)


@collector_at_rest()
def surveyed(data: bytes, route: Route) -> Survey:
    return fold(route, INSTRUMENT, scanned(data).events)


def openings(events: int, points: int, rounds: int) -> None:
    """A long trail opened."""
    route = route_of(points)
    data = trail_of(events_of(route, events))
    text = data.decode()
    survey = surveyed(data, route)
    assert (survey.rows, survey.problems) == (events, ())
    del survey  # the collector would go through it in every round
    ways: dict[str, Callable[[], object]] = {
        CSV: lambda: list(csv.reader(io.StringIO(text, newline=""))),
        "csv.reader and the chain (floor)": lambda: verified_cells(text),
        "verified and typed": lambda: scanned(data),
        "and folded into the survey": lambda: surveyed(data, route),
    }
    for is_at_work in (True, False):
        times: dict[str, list[float]] = {name: [] for name in ways}
        for _ in range(rounds):
            for name, way in ways.items():
                gc.collect()
                if not is_at_work:
                    gc.disable()
                times[name].append(milliseconds(way))
                gc.enable()
        sys.stdout.write(f"{events} events, {points} points{'' if is_at_work else ', no collector at all'}\n")
        show(times, goals=GOALS if is_at_work else None)


def steps() -> None:
    """One event more, which every key waits for: microseconds on a survey of 100 readings and of 10,000."""
    times: dict[str, list[float]] = {}
    for size in (100, 10_000):
        route = route_of(size)
        survey = fold(route, INSTRUMENT, events_of(route, size + size // 10))
        coming = islice(events_of(route, 2 * size + 2 * STEPS), survey.rows, survey.rows + STEPS)
        found = times[f"one event more, {size} points and readings"] = []
        for event in coming:
            began = time.process_time()
            survey = survey.after(event)
            found.append((time.process_time() - began) * 1e6)
    show(times, unit="us")


def listings(sessions: int, folder: Path, rounds: int) -> None:
    """A folder of many sessions: their entries by their ends, against reading each whole."""
    maker = SessionMaker(folder)
    lines = [
        f"reading,SW-{n:02},{n},1.{n:02},mohm,,,,2026-05-04T08:{n:02}:00Z" for n in range(1, READINGS + 1)
    ]
    made = maker.make("2026-05-04", *lines, points=" ".join(f"SW-{n:02}" for n in range(1, POINTS + 1)))
    for number in range(sessions - 1):
        shutil.copytree(made, made.with_name(f"{made.name}-{number:05}"))
    workspace = Workspace(folder, Disk())
    folders = workspace._session_folders()
    times: dict[str, list[float]] = {LISTED: [], "glanced at": [], "open session found (resume)": []}
    for _ in range(rounds):
        times[LISTED].append(milliseconds(lambda: [*map(workspace._session_entry, folders)]))
        times["glanced at"].append(milliseconds(lambda: [*map(workspace._glanced_entry, folders)]))
        times["open session found (resume)"].append(milliseconds(workspace.left_open_last))
    sys.stdout.write(f"{len(folders)} sessions of {READINGS} readings on {POINTS} points\n")
    show(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--sessions", type=int, default=500)
    parser.add_argument("--rounds", type=int, default=5)
    arguments = parser.parse_args()
    for points in (1000, 10_000):
        openings(arguments.events, points, arguments.rounds)
    steps()
    with tempfile.TemporaryDirectory() as folder:
        listings(arguments.sessions, Path(folder), max(1, arguments.rounds // 2))


if __name__ == "__main__":
    main()
