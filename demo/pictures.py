"""Take the pictures of the README anew: each main screen of the practice as an SVG.

    python demo/pictures.py [FOLDER]

The clock stands still, so that the same screens give the same pictures.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from fieldtui.desk.practice import load_script, make_practice
from fieldtui.files.disk import Disk
from fieldtui.ui.practice import Player, practice_app

HERE = Path(__file__).resolve().parent
DAY = datetime(2026, 9, 14, 8, 30, tzinfo=UTC)
SIZE = (80, 24)
WALK_STEP = 9  # steps of the script before the walk is pictured


class StillClock:
    """Stands still."""

    def wall(self) -> datetime:
        return DAY

    def elapsed(self) -> float:
        return 0.0


async def take_pictures(folder: Path) -> list[Path]:
    """Brief, walk and review as SVG files in ``folder``."""
    with tempfile.TemporaryDirectory() as scratch:
        disk = Disk()
        workspace = make_practice(disk, Path(scratch))
        script = load_script(disk)
        app = practice_app(workspace, script, StillClock())
        player = Player(script)
        taken = []

        def take(name: str) -> None:
            # The toolkit names each picture's styles by chance; a name of ours keeps them the same.
            svg = re.sub(r"terminal-[0-9]+", f"fieldtui-{name}", app.export_screenshot(title="fieldtui"))
            path = folder / f"{name}.svg"
            path.write_text(svg, encoding="utf-8")
            taken.append(path)

        async with app.run_test(size=SIZE) as pilot:
            await player.brief(pilot, before_begin=lambda: take("brief"))
            for place, step in enumerate(script.steps):
                if place == WALK_STEP:
                    await pilot.press(*"1.6")
                    await pilot.pause()
                    take("walk")
                    await pilot.press("escape")
                if not await player.step(pilot, step):
                    raise SystemExit(f"the script got stuck at {step.at}: {step.does}")
            await pilot.pause()
            take("review")
            app.exit(0)
    return taken


if __name__ == "__main__":
    for picture in asyncio.run(take_pictures(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)):
        print(picture)  # noqa: T201  what this script is for
