"""A record on the disk and back: ``python -m tests.bench.screen_commit [--rounds 300] [--folder DIR]``.

All that the desk does for a record on the writer thread, judging and folding included, against a bare
write with its sync and against the same cells into SQLite (WAL, synchronous=FULL); its row alone is in
commit.py. The same until it stands on the screen, against a bare Textual app that does a bare write with
its sync; and a session begun, its snapshot and the rows of its brief included, against one record (its
files alone are in commit.py). In turns within one run.
"""

from __future__ import annotations

import argparse
import asyncio
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from random import Random

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import begin_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.trail.rows import COLUMNS
from fieldtui.ui.writer import Writer
from tests.bench.commit import Bare, Database, Way, milliseconds, take_turns
from tests.bench.measuring import NO_GOAL, Goals, Pty, show
from tests.bench.paint import make_workspace
from tests.ui.walking import METER

CREATIONS = 40
BRIEF = Brief(job="J-100", crew=Crew("Ada", "Bo"), instrument=METER, next_number=None)
GOALS: Goals = {
    "record on the disk and the screen": (1.6, NO_GOAL),
}


def value_of(number: int) -> str:
    """A value that raises no doubt: near the others, and not the one before."""
    return f"1.{10 + number * 7 % 80}"


def begin(workspace: Workspace) -> Desk:
    return begin_session(workspace, workspace.load_route("wing"), BRIEF, SystemClock())


async def on_the_thread(workspace: Workspace, folder: Path, rounds: int) -> None:
    desk, writer = begin(workspace), Writer()
    bare, database = Bare(folder), await writer.do(Database, folder)
    bare_ms: list[float] = []
    ours_ms: list[float] = []
    sqlite_ms: list[float] = []
    await writer.do(bare.append, b"warm\n")
    turns = Random(7)
    for number in range(rounds):
        entry = desk.weigh(value_of(number))
        line = b"%-150d\n" % number
        cells = [f"{number:10}"] * len(COLUMNS)  # as many bytes as the row has
        ways: list[Way] = [
            (ours_ms, partial(desk.record, entry)),
            (bare_ms, partial(bare.append, line)),
            (sqlite_ms, partial(database.append, cells)),
        ]
        await take_turns(writer, turns, ways)
    writer.close()
    desk.leave()
    show({"bare write + sync": bare_ms, "all the desk does for a record": ours_ms})
    show({"SQLite WAL FULL": sqlite_ms, "all the desk does for a record": ours_ms})


def on_the_screen(workspace: Workspace, folder: Path, rounds: int) -> None:
    desk = begin(workspace)
    desk.leave()
    bare, ours = (
        Pty("tests.bench.bare", ["input"], folder),
        Pty("fieldtui", ["resume", str(desk.folder)], folder),
    )
    found: dict[str, list[float]] = {
        "bare app, write + sync, painted": [],
        "record on the disk and the screen": [],
    }
    try:
        bare.wait_for("ready")
        ours.wait_for("menu")
        for number in range(rounds):
            for times, program in zip(found.values(), (bare, ours), strict=True):
                program.send(value_of(number))
                program.rest(0.08)
                since = program.send("\r")
                came = program.wait_for(f"RECORDED {number + 1}", since)
                if number > 2:
                    times.append((came - program.sent) * 1000)
                program.rest(0.08)
    finally:
        bare.kill()
        ours.kill()
    show(found, goals=GOALS)


def creations(root: Path) -> None:
    """Each in a workspace of its own: reading earlier surveys is no part of it."""
    appended: list[float] = []
    made: list[float] = []
    for number in range(CREATIONS):
        folder = root / f"w{number}"
        folder.mkdir()
        workspace = make_workspace(folder)
        route = workspace.load_route("wing")
        desks: list[Desk] = []
        began = time.perf_counter()
        desks.append(begin_session(workspace, route, BRIEF, SystemClock()))
        made.append((time.perf_counter() - began) * 1000)
        entry = desks[0].weigh(value_of(number))
        appended.append(milliseconds(partial(desks[0].record, entry)))
        desks[0].leave()
    show({"one record": appended, "session begun": made})


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=300)
    parser.add_argument("--folder", help="on the disk to be measured; a temporary one if left out")
    arguments = parser.parse_args()
    if sys.platform == "win32":
        parser.error("a pseudo-terminal is wanted")
    with tempfile.TemporaryDirectory(dir=arguments.folder) as name:
        folder = Path(name)
        workspace = make_workspace(folder, points=arguments.rounds + 10)
        asyncio.run(on_the_thread(workspace, folder, arguments.rounds))
        on_the_screen(workspace, folder, arguments.rounds)
    with tempfile.TemporaryDirectory(dir=arguments.folder) as name:
        creations(Path(name))


if __name__ == "__main__":
    main()
