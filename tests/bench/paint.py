"""Screens against bare ones: ``python -m tests.bench.paint [--rounds 15] [--keys 200]``.

From the start of the program to its first paint, against a bare Textual app with the same words in as
many widgets; from a key to its paint, against a bare Input. Through a pseudo-terminal, in turns.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import begin_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.bench.measuring import NO_GOAL, Pty, show
from tests.ui.walking import METER, route_text

START_WORDS = (
    "fieldtui   a workspace",
    "Open sessions: Enter resumes",
    "  Starboard wing bonds\n    open at SW-01, 0 of 40 points settled, 0 readings",
    "Routes: Enter begins a walk",
    "  Starboard wing bonds\n    40 points   wing",
    "Enter open  v review  o reopen  F2 light  q quit  F1 help",
)
WALK_WORDS = (
    " Starboard wing bonds  amphibious twin ZX-41",
    " NOW      SW-01  Flap track 1 jumper\n where    zone 620, WS 101\n A        flap track bracket 1\n"
    " B        rear spar ground stud G4\n limit    less than 2.5 mΩ",
    " RECORD\n ╺┓\n  ┃\n ╺┻╸\n METER MEMORY\n room for 96",
    " NEXT     SW-02  Flap track 2 jumper  zone 620, WS 102",
    "▲○○○\n0 of 40 settled  ○ 40 open  section SW 0/40",
    "  1  SW-01",
    " ! Number check due",
    " RECORDED",
    " one decimal three eight",
    " s skip  t take again  v void  x no value  c check number  i insert  j jump\n n note  p pause  w correct"
    "  o open points  d close  q leave  / menu  F1 help",
)


def make_workspace(root: Path, points: int = 40) -> Workspace:
    """A route ``wing``, and the words of the bare screens."""
    (root / "routes").mkdir()
    (root / "routes" / "wing.toml").write_text(route_text(points), encoding="utf-8")
    return Workspace(root, Disk())


def begin(workspace: Workspace) -> Path:
    """A session that is open, let go by its program."""
    brief = Brief(job="J-100", crew=Crew("Ada", "Bo"), instrument=METER, next_number=None)
    desk = begin_session(workspace, workspace.load_route("wing"), brief, SystemClock())
    desk.leave()
    return desk.folder


def first_paint(module: str, arguments: list[str], folder: Path, *words: str) -> list[float]:
    """Milliseconds from the start to the moment each of the words was on the screen; then on a processor."""
    program = Pty(module, arguments, folder)
    try:
        found = [(program.wait_for(each) - program.began) * 1000 for each in words]
        return [*found, program.processor_seconds() * 1000]
    finally:
        program.kill()


def starts(folder: Path, rounds: int) -> None:
    """The start screen, and a session resumed."""
    names = ("bare start screen", "start screen, first paint", "start screen, listed")
    clock: dict[str, list[float]] = {name: [] for name in names}
    busy: dict[str, list[float]] = {"bare start screen, processor": [], "start screen, listed, processor": []}
    walk: dict[str, list[float]] = {"bare walk screen": [], "session resumed, walk on the screen": []}
    for number in range(rounds + 1):
        (folder / "bare.txt").write_text("\n\n".join(START_WORDS), encoding="utf-8")
        bare = first_paint("tests.bench.bare", ["start"], folder, "quit")
        ours = first_paint("fieldtui", [], folder, "quit", "Routes:")
        (folder / "bare.txt").write_text("\n\n".join(WALK_WORDS), encoding="utf-8")
        bare_walk = first_paint("tests.bench.bare", ["walk"], folder, "menu")
        our_walk = first_paint("fieldtui", ["resume"], folder, "menu")
        if number:  # the first round fills caches
            for name, value in zip(names, (bare[0], *ours[:2]), strict=True):
                clock[name].append(value)
            for name, value in zip(busy, (bare[-1], ours[-1]), strict=True):
                busy[name].append(value)
            for name, value in zip(walk, (bare_walk[0], our_walk[0]), strict=True):
                walk[name].append(value)
    show(clock, goals={"start screen, first paint": (1.15, NO_GOAL)})
    show(busy)
    show(walk)


def keys(folder: Path, count: int) -> None:
    """A digit typed and on the screen: six to a value, then the line is emptied again."""
    (folder / "bare.txt").write_text("\n\n".join(WALK_WORDS), encoding="utf-8")
    bare = Pty("tests.bench.bare", ["input"], folder)
    ours = Pty("fieldtui", ["resume"], folder)
    found: dict[str, list[float]] = {"bare input": [], "walk, entry line": []}
    try:
        bare.wait_for("ready")
        ours.wait_for("menu")
        for number in range(count):
            digit = "123456"[number % 6]
            for times, program in zip(found.values(), (bare, ours), strict=True):
                program.rest(0.05)
                since = program.send(digit)
                times.append((program.wait_for(digit, since) - program.sent) * 1000)
                if number % 6 == 5:
                    program.send("\x7f" * 6)
    finally:
        bare.kill()
        ours.kill()
    show(found, goals={"walk, entry line": (1.2, NO_GOAL)})


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--keys", type=int, default=200)
    arguments = parser.parse_args()
    if sys.platform == "win32":
        parser.error("a pseudo-terminal is wanted")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        begin(make_workspace(folder))
        starts(folder, arguments.rounds)
        keys(folder, arguments.keys)


if __name__ == "__main__":
    main()
