"""Kill -9 of the real program by the thousand: ``python -m tests.bench.kills [--kills 2000] [--seed 1]``.

Each round resumes the session in a pseudo-terminal, keys values and goes through an action that
writes, and kills at a random moment: in the walk, in the action's dialog, or while it is saved.
Afterwards every reading said to be recorded must be there, nothing that stood in the trail before
may have changed, and the session must open.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.crash.terminal import Terminal
from tests.crash.test_kill import begin_long_session, said

ROUNDS_PER_SESSION = 40
# The keys of each action that writes, up to the one that confirms it.
ACTIONS = {
    "reading": "",
    "skip": "s1",
    "take again": "t1",
    "void": "v\r1",
    "no value": "x1",
    "number": "c7\r",
    "insert": "iStrap\r<2.5\r1\r",
    "jump": "j\r",
    "from the far end": "b",
    "remark": "nloose\r",
    "pause": "p1",
    "correct": "w\r1.5\r1",
    "memory run": "f\r1\r",
}


@dataclass
class Tally:
    kills: int = 0
    acknowledged: int = 0
    unsaid: int = 0
    torn: int = 0
    lost: list[str] = field(default_factory=list)


def one_kill(workspace: Path, folder: Path, action: str, chance: random.Random, tally: Tally) -> None:
    """Resume, key, kill, look."""
    trail = folder / "trail.csv"
    before = trail.read_bytes()
    known = len(read_session(Disk(), folder).survey.records)
    terminal = Terminal(["resume", str(folder)], workspace)
    terminal.wait_for("value")
    acknowledged = known
    for _ in range(chance.randint(1, 4)):
        terminal.send(f"1.{chance.randint(100, 999)}\r")
        terminal.look(chance.uniform(0.0, 0.2))
        acknowledged = max(acknowledged, said(terminal))
    keys = ACTIONS[action]
    for key in keys[: chance.randint(0, len(keys))]:
        terminal.send(key)
        terminal.look(chance.uniform(0.0, 0.1))
        acknowledged = max(acknowledged, said(terminal))
    terminal.look(chance.uniform(0.0, 0.2))
    terminal.kill()
    acknowledged = max(acknowledged, said(terminal))
    session = read_session(Disk(), folder)
    readings = len(session.survey.records)
    tally.kills += 1
    tally.acknowledged += acknowledged - known
    tally.torn += bool(session.torn)
    tally.unsaid += max(0, readings - acknowledged)
    if readings < acknowledged:
        tally.lost.append(f"{action}: {acknowledged} said, {readings} found")
    if not session.is_intact or not trail.read_bytes().startswith(before):
        tally.lost.append(f"{action}: {session.problems or 'rows before were changed'}")
    resume_session(Workspace(workspace, Disk()), folder, SystemClock()).leave()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    chance = random.Random(arguments.seed)
    tally = Tally()
    began = time.perf_counter()
    while tally.kills < arguments.kills:
        with tempfile.TemporaryDirectory() as root:
            workspace = Path(root)
            folder = begin_long_session(workspace)
            for _ in range(min(ROUNDS_PER_SESSION, arguments.kills - tally.kills)):
                one_kill(workspace, folder, chance.choice(list(ACTIONS)), chance, tally)
    taken = time.perf_counter() - began
    sys.stdout.write(
        f"kills {tally.kills}  acknowledged readings {tally.acknowledged}  lost {len(tally.lost)}  "
        f"unsaid {tally.unsaid}  torn {tally.torn}  seconds {taken:.0f}\n"
    )
    sys.stdout.writelines(f"LOST: {line}\n" for line in tally.lost)
    return 1 if tally.lost else 0


if __name__ == "__main__":
    raise SystemExit(main())
