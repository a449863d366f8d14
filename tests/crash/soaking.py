"""Hour after hour on the walk screen: readings, remarks, points taken again. For the soak bench and test."""

from __future__ import annotations

import asyncio
import gc
import time
from collections import Counter
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from itertools import cycle
from pathlib import Path

from textual.widget import Widget

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.opening import begin_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from tests.ui.walking import LOW, METER, Hand, Ticking

SECTIONS = 20
# Five rows a point: a reading, a remark on the next point, the last one taken again, and again a remark.
ROUND = (("{value}", "enter"), ("n", "1"), ("t", "1"), ("{value}", "enter"), ("n", "2"))
_VALUES = (
    "1.1",
    "1.3",
    "0.9",
    "1.2",
    "1.4",
)  # close to each other, and never twice the same: none is doubted


def long_route(points: int) -> str:
    """A route in :data:`SECTIONS` sections, limit < 2.5 mohm; no number checks fall due."""
    head = ['format = 1\ntitle = "Long"\nasset = "frame"\nrevision = "A"\nunit = "mohm"\ncheck_every = 0']
    head += [f'[[sections]]\nid = "S{n}"\ntitle = "Section {n}"' for n in range(SECTIONS)]
    each = -(-points // SECTIONS)
    head += [
        f'[[points]]\nid = "P-{n:05}"\nsection = "S{n // each}"\ntitle = "Strap {n}"\nlimit = {{ max = 2.5 }}'
        for n in range(points)
    ]
    return "\n".join(head) + "\n"


class Soak:
    """The real screens without a terminal, and a hand that never tires."""

    def __init__(self, hand: Hand) -> None:
        self.hand = hand
        self._values = cycle(_VALUES)

    @property
    def rows(self) -> int:
        return self.hand.walk.desk.rows

    async def event(self, keys: tuple[str, ...]) -> float:
        """Key one event; seconds of this thread's computing until it is on the disk and on the screen."""
        began = time.thread_time()
        before = self.rows
        pressed = [character for key in keys for character in self._spelled(key)]
        await self.hand.pilot.press(*pressed)
        for _ in range(2000):
            if self.rows > before and not self.hand.walk.entry.is_busy:
                break
            await asyncio.sleep(0.001)
        else:
            raise AssertionError(f"nothing was written:\n{self.hand.screen()}")
        await self.hand.pilot.pause()
        return time.thread_time() - began

    def _spelled(self, key: str) -> list[str]:
        return list(next(self._values)) if key == "{value}" else [key]


@asynccontextmanager
async def soaking(root: Path, events: int, disk: Disk) -> AsyncIterator[Soak]:
    """A session with points enough for ``events`` rows, on its walk screen."""
    (root / "routes").mkdir()
    points = 2 * events // len(ROUND) + SECTIONS
    (root / "routes" / "long.toml").write_text(long_route(points), encoding="utf-8")
    workspace = Workspace(root, disk)
    meter = replace(METER, memory_size=0)
    brief = Brief(job="J", crew=Crew("Ada", "Bo"), instrument=meter, next_number=None)
    desk = begin_session(workspace, workspace.load_route("long"), brief, Ticking())
    app = FieldApp(workspace, Ticking(), desk=desk)
    async with app.run_test(size=LOW) as pilot:
        await pilot.pause()
        yield Soak(Hand(pilot, desk.folder))


def alive() -> Counter[str]:
    """Objects that must not grow with the number of events: widgets, surveys, tasks."""
    gc.collect()
    found: Counter[str] = Counter()
    for each in gc.get_objects():
        if isinstance(each, Widget):
            found["widgets"] += 1
        elif isinstance(each, Survey):
            found["surveys"] += 1
        elif isinstance(each, asyncio.Task) and not each.done():
            found["tasks"] += 1
    return found
