"""Some hundred rows through the real screens: what is drawn and kept alive does not grow with them."""

from __future__ import annotations

from itertools import cycle, islice
from pathlib import Path

from fieldtui.desk.verifying import verify_session
from fieldtui.files.disk import Disk
from tests.crash.soaking import ROUND, alive, soaking
from tests.desk.scenes import QuickDisk

WARM, EVENTS = 25, 80


async def test_nothing_grows_with_the_rows(tmp_path: Path) -> None:
    async with soaking(tmp_path, EVENTS, QuickDisk()) as soak:
        keys = cycle(ROUND)
        begun = soak.rows
        for each in islice(keys, WARM):
            await soak.event(each)
        on_screen, first = len(soak.hand.app.screen.query("*")), alive()
        for each in islice(keys, EVENTS - WARM):
            await soak.event(each)
        assert soak.rows == begun + EVENTS, "a key was lost, or counted twice"
        assert len(soak.hand.app.screen.query("*")) == on_screen
        last = alive()
        assert all(last[kind] <= first[kind] for kind in ("widgets", "surveys", "tasks")), (first, last)
        folder = soak.hand.walk.desk.folder
    assert verify_session(Disk(), folder).ok
