"""What the tests of the walk have in common: a route, a clock, a way to press keys and to look."""

from __future__ import annotations

import csv
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from textual.app import App
from textual.pilot import Pilot

from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.stopped import StoppedDialog
from fieldtui.ui.screens.walk import WalkScreen

LOW = (80, 24)
HIGH = (120, 40)
LOOKS, LOOK_S = 500, 0.01  # at most, until the page in front is painted


class Ticking:
    """A clock on which ten seconds pass at every look."""

    def __init__(self) -> None:
        self._looks = 0

    def wall(self) -> datetime:
        self._looks += 10
        return datetime(2031, 5, 6, 8, tzinfo=UTC) + timedelta(seconds=self._looks)

    def elapsed(self) -> float:
        return float(self._looks)


METER = Instrument(
    id="m1",
    title="four-wire meter 1",
    memory_size=100,
    first_number=1,
    calibration_due=date(2032, 1, 1),
)


def route_text(count: int = 4, title: str = "Starboard wing bonds", **fields: str) -> str:
    """A route of ``count`` points, limit < 2.5 mohm; ``fields`` go into every point as given."""
    lines = [
        "format = 1",
        f'title = "{title}"',
        'asset = "amphibious twin ZX-41"',
        'revision = "B"',
        'source = "invented"',
        'unit = "mohm"',
        "check_every = 10",
        "[[sections]]",
        'id = "SW"',
        'title = "Starboard wing"',
    ]
    for number in range(1, count + 1):
        point = {
            "id": f'"SW-{number:02d}"',
            "section": '"SW"',
            "title": f'"Flap track {number} jumper"',
            "where": f'"zone 620, WS {100 + number}"',
            "a": f'"flap track bracket {number}"',
            "b": '"rear spar ground stud G4"',
            "limit": '{ max = 2.5, cmp = "<" }',
            **fields,
        }
        lines += ["[[points]]", *(f"{name} = {value}" for name, value in point.items())]
    return "\n".join(lines) + "\n"


def begin_desk(workspace: Workspace, *, meter: Instrument = METER, next_number: int | None = 5) -> Desk:
    """A session of the route ``wing`` that has just begun; the first reading is filed under 5."""
    brief = Brief(job="J-100", crew=Crew("Ada", "Bo"), instrument=meter, next_number=next_number)
    return begin_session(workspace, workspace.load_route("wing"), brief, Ticking())


class Hand:
    """Presses keys and looks: at the screen as text, and at the trail on the disk."""

    def __init__(self, pilot: Pilot[int], folder: Path) -> None:
        self.pilot = pilot
        self._folder = folder

    @property
    def app(self) -> FieldApp:
        assert isinstance(self.pilot.app, FieldApp)
        return self.pilot.app

    @property
    def walk(self) -> WalkScreen:
        return next(screen for screen in self.app.screen_stack if isinstance(screen, WalkScreen))

    async def press(self, *keys: str) -> None:
        """Press keys; a word in angle quotes such as ``‹1.38›`` is typed. Wait for disk and screen."""
        for key in keys:
            if key.startswith("‹"):
                for character in key[1:-1]:
                    await self.pilot.press(_KEYS.get(character, character))
            else:
                await self.pilot.press(key)
            await self.settle()

    async def settle(self) -> None:
        """Wait until the writer thread has nothing left, and the screen has drawn it."""
        walks = [screen for screen in self.app.screen_stack if isinstance(screen, WalkScreen)]
        for walk in walks:
            await walk.writer.do(int)
        await self.pilot.pause()
        for _ in range(LOOKS):
            screen = self.app.screen
            if self.app.is_painted and not (isinstance(screen, StoppedDialog) and not screen.is_looked_at):
                return
            await self.pilot.pause(LOOK_S)

    async def until(self, words: str) -> None:
        """Look until ``words`` are on the terminal, however the disk stands."""
        for _ in range(LOOKS):
            if words in self.screen():
                return
            await self.pilot.pause(LOOK_S)
        raise AssertionError(f"{words!r} never came:\n{self.screen()}")

    def screen(self) -> str:
        """What is on the terminal, line by line."""
        return screen_text(self.app)

    def dialog(self) -> str:
        """What is in the dialog in front."""
        lines = [line.split("┃")[1] for line in self.screen().splitlines() if line.count("┃") == 2]
        return "\n".join(lines)

    def trail(self) -> list[dict[str, str]]:
        """The rows on the disk."""
        with (self._folder / "trail.csv").open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def rows(self, kind: str) -> list[dict[str, str]]:
        return [row for row in self.trail() if row["kind"] == kind]


_KEYS = {" ": "space"}


def screen_text(app: App[Any]) -> str:
    """The terminal's cells as text."""
    width, height = app.size
    strips = app.screen._compositor.render_strips(app.size)  # the only way to the drawn cells
    lines = ["".join(segment.text for segment in strip)[:width].rstrip() for strip in strips]
    return "\n".join(lines[:height])


@asynccontextmanager
async def walking(app: FieldApp, desk: Desk, size: tuple[int, int] = LOW) -> AsyncIterator[Hand]:
    """The app on a terminal of ``size``, at rest."""
    async with app.run_test(size=size) as pilot:
        hand = Hand(pilot, desk.folder)
        await hand.pilot.pause()
        yield hand
