"""A long route walked to its end: ``python -m tests.bench.walk_long [--points 10000] [--screen 1000]``.

Milliseconds of processor time from the value keyed to the record taken in, the disk's own time left out, as
medians per thousand readings: the last thousand must not cost more than the first. Then the same through
the walk screen, every key and the paint included, at the beginning and at the end of the route.
"""

from __future__ import annotations

import argparse
import asyncio
import statistics
import sys
import tempfile
import time
from pathlib import Path

from textual import events

from fieldtui.desk.opening import resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.walk import WalkScreen
from tests.bench.paint import make_workspace
from tests.bench.screen_commit import begin, value_of
from tests.ui.walking import Ticking

BLOCK = 1000
FLAT = 1.25  # the last block's median to the first's


def walk(desk: Desk, count: int, done: int) -> list[float]:
    """Take ``count`` readings; milliseconds of this thread's processor time for each."""
    times = []
    for number in range(done, done + count):
        began = time.thread_time()
        desk.record(desk.weigh(value_of(number)))
        desk.lookout  # noqa: B018  the drift watch looks at every reading as well
        times.append((time.thread_time() - began) * 1000)
    return times


async def walk_on_screen(workspace: Workspace, desk: Desk, count: int) -> list[float]:
    """The same through the screen: milliseconds of processor time for each, all threads."""
    times = []
    app = FieldApp(workspace, Ticking(), desk=desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        first = len(desk.survey.records)
        for number in range(first, first + count):
            began = time.process_time()
            for key in value_of(number):
                screen.entry.post_message(events.Key(key, key))
            screen.entry.post_message(events.Key("enter", None))
            while len(desk.survey.records) == number or screen.entry.is_busy:
                await asyncio.sleep(0.002)
            await asyncio.sleep(0.03)  # the paint
            times.append((time.process_time() - began) * 1000)
    return times


def show(name: str, blocks: list[list[float]]) -> None:
    medians = [statistics.median(block) for block in blocks]
    ratio = medians[-1] / medians[0]
    sys.stdout.write(f"{name}: " + " ".join(f"{median:.2f}" for median in medians) + " ms\n")
    sys.stdout.write(f"  last to first {ratio:.2f}, goal {FLAT}{'' if ratio <= FLAT else '  MISSED'}\n")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=10_000)
    parser.add_argument("--screen", type=int, default=200, help="readings through the screen, at either end")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        workspace = make_workspace(Path(name), points=arguments.points)
        desk = begin(workspace)
        folder = desk.folder
        at_first = asyncio.run(walk_on_screen(workspace, desk, arguments.screen))
        desk = resume_session(workspace, folder, Ticking())
        blocks = []
        while (left := arguments.points - arguments.screen - len(desk.survey.records)) > 0:
            blocks.append(walk(desk, min(BLOCK, left), len(desk.survey.records)))
        show("value keyed to record taken in, medians per 1,000", blocks)
        at_last = asyncio.run(walk_on_screen(workspace, desk, arguments.screen))
        show("through the screen, first and last", [at_first, at_last])


if __name__ == "__main__":
    main()
