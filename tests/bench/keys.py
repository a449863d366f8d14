"""What the walk costs in keys: ``python -m tests.bench.keys``.

Plays each task through the real screens, by the plain keys and from the numeric keypad alone, and prints
the keys beside the goal and the seconds of the Keystroke-Level Model (source in tests/ui/keystrokes.py):
a K for each key, an M for each unit of thought; the program's own time is left out.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from pathlib import Path

from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.widgets.entry_line import EntryLine
from tests.ui.keystrokes import KEY_S, MENTAL_S, TASKS, Task, keys_of, klm_seconds, play
from tests.ui.walking import Ticking, route_text, walking


async def played(task: Task, units: tuple[str, ...]) -> int:
    """The keys it took; an AssertionError where they do not do the task."""
    keys = keys_of(units)
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        (root / "routes").mkdir()
        (root / "routes" / "wing.toml").write_text(route_text(), encoding="utf-8")
        workspace = Workspace(root, Disk())
        desk = task.begin(workspace)
        async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
            await play(task, keys, hand)
    return len(keys)


async def main() -> None:
    out = sys.stdout.write
    assert EntryLine.ONE_NUMBER_S < MENTAL_S  # an M lies between an answer and the value after it
    EntryLine.ONE_NUMBER_S = 0.0  # and here the keys come without one
    out(f"{'task':38}{'by':8}{'goal':14}{'may be':>7}{'keys':>6}{'M':>4}")
    out("".join(f"{f'K {key_s:.2f} s':>12}" for key_s in KEY_S.values()) + "\n")
    for task in TASKS:
        for way, units in (("plain", task.plain), ("keypad", task.keypad)):
            keys = await played(task, units)
            mark = "" if keys <= task.most else "  MISSED"
            out(f"{task.name:38}{way:8}{task.goal:14}{task.most:7}{keys:6}{len(units):4}")
            out("".join(f"{klm_seconds(units, key_s):10.2f} s" for key_s in KEY_S.values()) + f"{mark}\n")
    out("resume after a crash: fieldtui, resume, Enter: 3 of 3 (tests/ui/test_real_terminal.py)\n")


if __name__ == "__main__":
    asyncio.run(main())
