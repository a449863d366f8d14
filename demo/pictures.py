"""Take the pictures of the README anew: each main screen of the practice as an SVG.

    python demo/pictures.py [FOLDER]

The clock stands still, so that the same screens give the same pictures.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from contextlib import chdir
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from fieldtui.desk.opening import resume_session
from fieldtui.desk.practice import Script, load_script, make_practice
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.practice import KEY_CODES, Player, practice_app

HERE = Path(__file__).resolve().parent
DAY = datetime(2026, 9, 14, 8, 30, tzinfo=UTC)
SIZE = (80, 24)
PAGES = {"NumberDriftScreen": "drift", "CloseOutScreen": "close-out"}
PATIENCE = 1000  # looks at a screen that is awaited
WALK_STEP = 9  # steps of the script before the walk is pictured


class StillClock:
    """Stands still."""

    def wall(self) -> datetime:
        return DAY

    def elapsed(self) -> float:
        return 0.0


class Album:
    """The pictures that were taken, each screen once."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.taken: list[Path] = []

    def take(self, app: FieldApp, name: str) -> None:
        """Keep the screen in front as ``name``, unless there is one of that name already."""
        path = self._folder / f"{name}.svg"
        if path in self.taken:
            return
        # The toolkit names each picture's styles by chance; a name of ours keeps them the same.
        svg = re.sub(r"terminal-[0-9]+", f"fieldtui-{name}", app.export_screenshot(title="fieldtui"))
        path.write_text(svg, encoding="utf-8")
        self.taken.append(path)


class Photographer(Player):
    """Plays the script and takes a picture of each page the walk asks, as it comes up."""

    def __init__(self, script: Script, album: Album) -> None:
        super().__init__(script)
        self._album = album

    async def _press(self, pilot: Pilot[Any], key: str) -> None:
        await super()._press(pilot, key)
        name = PAGES.get(type(pilot.app.screen).__name__)
        if name is not None and isinstance(pilot.app, FieldApp):
            await pilot.pause()
            self._album.take(pilot.app, name)


async def take_pictures(folder: Path) -> list[Path]:
    """The main screens as SVG files in ``folder``."""
    album = Album(folder.resolve())
    with tempfile.TemporaryDirectory() as scratch, chdir(scratch):  # no path of this machine is pictured
        disk = Disk()
        workspace = make_practice(disk, Path("surveys"))
        script = load_script(disk)
        await _picture_start(workspace, album)
        app = practice_app(workspace, script, StillClock())
        player = Photographer(script, album)
        async with app.run_test(size=SIZE) as pilot:
            await player.brief(pilot, before_begin=lambda: album.take(app, "brief"))
            for place, step in enumerate(script.steps):
                if place == WALK_STEP:
                    await pilot.press(*"1.6")
                    await pilot.pause()
                    album.take(app, "walk")
                    await pilot.press("escape")
                if not await player.step(pilot, step):
                    raise SystemExit(f"the script got stuck at {step.at}: {step.does}")
            await _picture_review(pilot, album)
        await _picture_reconcile(workspace, album)
    return album.taken


async def _picture_review(pilot: Pilot[Any], album: Album) -> None:
    """The seal at the close, then the review: exceptions, a chart, a point's story."""
    app = pilot.app
    assert isinstance(app, FieldApp)
    await pilot.pause()
    album.take(app, "seal")
    await pilot.press("enter")
    await settled(app, pilot)
    album.take(app, "review")
    await pilot.press("7")
    await settled(app, pilot)
    album.take(app, "charts")
    await pilot.press("3", "down", "down", "enter")
    await settled(app, pilot)
    album.take(app, "story")
    app.exit(0)


async def _picture_reconcile(workspace: Workspace, album: Album) -> None:
    """The airframe survey, keyed from its paper sheet, beside what the meter's memory held."""
    route = workspace.load_route("airframe-bonds")
    sheet = HERE / "sheets" / "airframe-2026-05.csv"
    brief = paper_brief(
        workspace.tables(),
        route.route,
        meter="airframe-meter",
        job="season bond check",
        prober="Ilse Brannow",
        recorder="Tam Orrick",
    )
    made = transcribe_sheet(workspace, route, sheet.read_bytes(), sheet.name, brief, StillClock())
    desk = resume_session(workspace, made.folder, StillClock())
    app = FieldApp(workspace, StillClock(), desk=desk)
    async with app.run_test(size=SIZE) as pilot:
        await settled(app, pilot)
        for key in ("h", "1", "1", *str(HERE / "lists" / "airframe-2026-05.csv"), "enter"):
            await seen(app, pilot)
            await pilot.press(KEY_CODES.get(key, key))  # the first memory run, from a file
        for _ in range(PATIENCE):
            if type(app.screen).__name__ == "ReconcileScreen":
                break
            await pilot.pause(0.01)
        await pilot.pause()
        album.take(app, "reconcile")
        app.exit(0)


async def settled(app: FieldApp, pilot: Pilot[Any]) -> None:
    """Wait until nothing is being read or written any more."""
    await app.workers.wait_for_complete()
    await pilot.pause()


async def seen(app: FieldApp, pilot: Pilot[Any]) -> None:
    """Wait until the page in front can be seen and takes keys."""
    for _ in range(PATIENCE):
        if app.takes_keys:
            return
        await pilot.pause(0.01)


async def _picture_start(workspace: Workspace, album: Album) -> None:
    app = FieldApp(workspace, StillClock())
    async with app.run_test(size=SIZE) as pilot:
        await settled(app, pilot)
        album.take(app, "start")


if __name__ == "__main__":
    for picture in asyncio.run(take_pictures(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)):
        print(picture)  # noqa: T201  what this script is for
