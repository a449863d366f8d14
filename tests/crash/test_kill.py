"""The real program is killed at random moments; every acknowledged row is found again."""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.verifying import verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk

if sys.platform == "win32":
    pytest.skip("a pseudo-terminal and kill -9 are wanted", allow_module_level=True)

from tests.crash.deeds import DEEDS
from tests.crash.terminal import Terminal

KILLS = 8  # in each of two tests, so that two workers share them; the deeds below are killed too
POINTS = 600
_RECORDED = re.compile(r"RECORDED (\d+)")


@pytest.mark.parametrize("seed", [11, 23])
def test_no_acknowledged_reading_is_lost(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    folder = begin_long_session(tmp_path)
    known = 0
    for kill in range(KILLS):
        acknowledged = walk_and_kill(tmp_path, folder, known, chance)
        found = read_session(Disk(), folder)
        assert found.is_intact, f"kill {kill}: {found.problems}"
        records = found.survey.records
        assert len(records) >= acknowledged, f"kill {kill}: {acknowledged} said, {len(records)} found"
        for number in range(known + 1, len(records) + 1):
            assert records[number].reading.digits == value_of(number)
            assert records[number].point == f"P-{number:04d}"
        known = len(records)
    assert known > KILLS, "hardly any reading was taken: the test proves nothing"
    assert verify_session(Disk(), folder).readings == known


def killed(*options: str) -> dict[str, Any]:
    """The tally of ``tests.crash.kills``, in a process of its own."""
    command = [sys.executable, "-m", "tests.crash.kills", "--seconds", "240", *options]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.stdout.startswith("{"), done.stderr
    tally: dict[str, Any] = json.loads(done.stdout)
    return tally


@pytest.mark.parametrize("half", [0, 1])
def test_killed_in_each_deed_of_every_screen_nothing_said_is_lost(half: int) -> None:
    deeds = list(DEEDS)[half::2]
    tally = killed("--deeds", "/".join(deeds), "--once", "--kills", "1000", "--seed", str(half))
    assert (tally["lost"], tally["accepted"]) == ([], [])
    assert set(tally["deeds"]) == set(deeds)
    assert sum(tally["said"].values()) > len(deeds) / 4, "hardly any deed was done: the test proves little"
    assert tally["acknowledged"] > len(deeds) / 2


@pytest.mark.parametrize("bug", ["written late", "written twice"])
def test_the_kills_would_notice(bug: str) -> None:
    """Rows that reach the disk after they were said to be there, and rows that reach it twice."""
    tally = killed("--bug", bug, "--deeds", "skip/remark/lead", "--kills", "10")
    assert tally["lost"] or tally["accepted"]


def walk_and_kill(workspace: Path, folder: Path, known: int, chance: random.Random) -> int:
    """Resume, key a few readings, kill at a random moment; returns the last record said to be saved."""
    terminal = Terminal(["resume", str(folder)], workspace)
    terminal.wait_for(f"P-{known + 1:04d}")
    acknowledged = known
    moment = chance.uniform(0.0, 0.6)
    for number in range(known + 1, known + 1 + chance.randint(1, 6)):
        terminal.send(value_of(number) + "\r")
        for _ in range(chance.randint(1, 8)):
            terminal.look(moment / 20)
            acknowledged = max(acknowledged, said(terminal))
    terminal.look(chance.uniform(0.0, moment))
    terminal.kill()
    return max(acknowledged, said(terminal))


def said(terminal: Terminal) -> int:
    return max((int(number) for number in _RECORDED.findall(terminal.text)), default=0)


def value_of(number: int) -> str:
    return f"{1 + number / 1000:.3f}"


def begin_long_session(tmp_path: Path) -> Path:
    """A session of many points along one section, with its brief answered."""
    (tmp_path / "routes").mkdir()
    points = "".join(
        f'[[points]]\nid = "P-{n:04d}"\nsection = "A"\ntitle = "Strap {n}"\nlimit = {{ max = 2.5 }}\n'
        for n in range(1, POINTS + 1)
    )
    head = (
        'format = 1\ntitle = "Long"\nasset = "test frame"\nrevision = "A"\nunit = "mohm"\ncheck_every = 0\n'
    )
    section = '[[sections]]\nid = "A"\ntitle = "All"\n'
    (tmp_path / "routes" / "long.toml").write_text(head + section + points)
    workspace = Workspace(tmp_path, Disk())
    brief = Brief(
        job="J-1",
        crew=Crew("A. Prober", "B. Recorder"),
        instrument=Instrument("m", "meter", memory_size=9999, calibration_due=datetime.now(UTC).date()),
        next_number=1,
    )
    with begin_session(workspace, workspace.load_route("long"), brief, SystemClock()) as desk:
        return desk.folder
