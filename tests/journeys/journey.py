"""Whole surveys as readable scripts, played through the real screens.

A script is text, read from top to bottom:

    # a remark
    points 6 memory 8 check_every 5     the route and meter (first line that is no remark); with
                                        standard_every 3 the meter has a check standard of 2.5 mohm, with
                                        spare 4 there is a second meter, a memory of four from 0 on;
                                        with reversed 2 the second point takes two voltages at 100 mA
    > 1.38 enter                        keys: words in KEY_NAMES are keys, the rest is typed
    ? RECORDED 1                        these words stand on the screen
    ! FAIL                              these words do not stand on the screen
    + reading 1 P-01 1.38 pass          the next row of the trail: its kind, then cells it holds
    file list.csv run,number,value 1,1,1.10     a file in the workspace, a word a line; its path is
                                        keyed as {folder}/list.csv
    crash                               the program dies here, and is started anew with `resume`

At the end every row of the trail must have been named by a ``+`` line (but for ``open`` rows), the
chain must be intact, and every point must be in the state its ``= P-01 passed`` line says.
"""

from __future__ import annotations

import csv
import shlex
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from textual.pilot import Pilot

from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.walk import WalkScreen
from tests.ui.walking import Hand

KEY_NAMES = {
    "enter",
    "escape",
    "up",
    "down",
    "end",
    "tab",
    "backspace",
    "f1",
    "f3",
    "f5",
    "slash",
    "plus",
    "minus",
}
SIZE = (80, 24)
_PATIENCE = 300  # looks at the screen or the disk


class Clock:
    """Stands still until it is told that time passes."""

    def __init__(self) -> None:
        self._seconds = 0.0

    def wall(self) -> datetime:
        return datetime(2031, 5, 6, 8, tzinfo=UTC) + timedelta(seconds=self._seconds)

    def elapsed(self) -> float:
        return self._seconds

    def pass_time(self) -> None:
        self._seconds += 10


@dataclass(frozen=True, slots=True)
class Line:
    number: int
    sign: str
    words: tuple[str, ...]
    text: str

    def __str__(self) -> str:
        return f"line {self.number}: {self.sign} {self.text}"


def read_script(path: Path) -> Iterator[Line]:
    """The lines of a script, remarks left out."""
    for number, raw in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        text = raw.strip()
        if not text or text.startswith("#"):
            continue
        sign, _, rest = text.partition(" ")
        yield Line(number, sign, tuple(shlex.split(rest)), rest.strip())


class Journey:
    """Plays one script in a workspace of its own."""

    def __init__(self, script: Path, folder: Path) -> None:
        head, *self._lines = read_script(script)
        wanted = dict(zip([head.sign, *head.words][::2], [head.sign, *head.words][1::2], strict=True))
        self._workspace = Workspace(folder, Disk())
        self._clock = Clock()
        self._named = 0  # rows of the trail that a line has named
        write_workspace(
            folder,
            points=int(wanted["points"]),
            memory=int(wanted["memory"]),
            check_every=int(wanted["check_every"]),
            standard_every=int(wanted.get("standard_every", "0")),
            spare=int(wanted.get("spare", "0")),
            turned=int(wanted.get("reversed", "0")),
        )

    async def play(self) -> None:
        """The whole script; an assertion names the line that did not hold."""
        lines = iter(self._lines)
        app = FieldApp(self._workspace, self._clock, route=self._workspace.load_route("jetty"))
        while app is not None:
            async with app.run_test(size=SIZE) as pilot:
                crashed = await self._play_until_crash(pilot, lines)
                if crashed:
                    walk = next(each for each in app.screen_stack if isinstance(each, WalkScreen))
                    walk.desk.leave()  # what a dead program's lock does by itself
            if not crashed:
                break
            desk = resume_session(self._workspace, self._session(), self._clock)
            app = FieldApp(self._workspace, self._clock, desk=desk)
        self._check_end()

    async def _play_until_crash(self, pilot: Pilot[int], lines: Iterator[Line]) -> bool:
        hand = Hand(pilot, self._workspace.sessions_folder)
        await hand.settle()
        for line in lines:
            self._clock.pass_time()
            match line.sign:
                case ">":
                    words = [word.replace("{folder}", str(self._workspace.root)) for word in line.words]
                    await hand.press(*(word if word in KEY_NAMES else f"‹{word}›" for word in words))
                case "file":
                    name, *lines_of_file = line.words
                    (self._workspace.root / name).write_text("\n".join(lines_of_file), encoding="utf-8")
                case "?":
                    await self._until(pilot, lambda text=line.text: text in hand.screen())
                    assert line.text in hand.screen(), f"{line} is not on the screen:\n{hand.screen()}"
                case "!":
                    assert line.text not in hand.screen(), f"{line} is on the screen:\n{hand.screen()}"
                case "+":
                    await self._until(pilot, lambda: self._named < len(self._rows()))
                    self._expect_row(line, hand.screen())
                case "=":
                    point, state = line.words
                    found = read_session(self._workspace.disk, self._session()).survey.standings[point]
                    assert found.state.value == state, f"{line}: it is {found.state.value}"
                case "crash":
                    return True
                case _:
                    raise AssertionError(f"{line}: no such sign")
        return False

    async def _until(self, pilot: Pilot[int], is_so: Callable[[], bool]) -> None:
        """Let the screens go on until something is so; the assertion that follows says if it never is."""
        for _ in range(_PATIENCE):
            if is_so():
                return
            await pilot.pause(0.01)

    def _session(self) -> Path:
        (folder,) = self._workspace.sessions_folder.iterdir()
        return folder

    def _rows(self) -> list[dict[str, str]]:
        if not self._workspace.sessions_folder.is_dir():
            return []
        with (self._session() / "trail.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        return [row for row in rows if row["kind"] != "open"]

    def _expect_row(self, line: Line, screen: str) -> None:
        rows = self._rows()
        assert self._named < len(rows), f"{line}: no further row is on the disk; the screen says:\n{screen}"
        row = rows[self._named]
        self._named += 1
        kind, *cells = line.words
        assert row["kind"] == kind, f"{line}: the row is {row}"
        for cell in cells:
            assert cell in row.values(), f"{line}: {cell} is not in the row {row}"

    def _check_end(self) -> None:
        rows = self._rows()
        assert self._named == len(rows), f"rows that no line names: {rows[self._named :]}"
        session = read_session(self._workspace.disk, self._session())
        assert session.is_intact and not session.problems, session.problems
        assert sum(session.survey.counts.values()) == len(session.survey.points)


_SPARE = """
[instruments.m2]
title = "spare meter"
serial = "0041"
unit = "mohm"
memory_size = {memory}
first_number = 0
calibration_due = 2031-01-01
check_standard = {{ value = 1.000, tolerance = 0.020, unit = "mohm" }}
"""


def write_workspace(
    folder: Path,
    *,
    points: int,
    memory: int,
    check_every: int,
    standard_every: int = 0,
    spare: int = 0,
    turned: int = 0,
) -> None:
    """A route ``jetty`` of points P-01, P-02 … (less than 2.5 mohm) and one meter.

    Of the point with the number ``turned`` two voltages are keyed, one each way of the current.
    """
    for name in ("routes", "shared"):
        (folder / name).mkdir()
    half = points // 2
    route = [
        'format = 1\ntitle = "Jetty straps"\nasset = "fuel jetty"\nrevision = "A"\nunit = "mohm"',
        f"check_every = {check_every}\nstandard_every = {standard_every}",
        '[[sections]]\nid = "N"\ntitle = "North side"\n[[sections]]\nid = "S"\ntitle = "South side"',
    ]
    route += [
        f'[[points]]\nid = "P-{n:02d}"\nsection = "{"N" if n <= half else "S"}"\ntitle = "Strap {n}"\n'
        f'a = "pipe flange {n}"\nb = "jetty bond bar"\nlimit = {{ max = 2.5, cmp = "<" }}'
        + ('\nmethod = "reversed"\ncurrent_ma = 100' if n == turned else "")
        for n in range(1, points + 1)
    ]
    (folder / "routes" / "jetty.toml").write_text("\n".join(route) + "\n", encoding="utf-8")
    due = date(2040, 1, 1).isoformat()
    (folder / "shared" / "instruments.toml").write_text(
        f'format = 1\n[instruments.m1]\ntitle = "test meter"\nunit = "mohm"\nmemory_size = {memory}\n'
        f"first_number = 1\ncalibration_due = {due}\n"
        + ('check_standard = { value = 2.500, tolerance = 0.050, unit = "mohm" }\n' if standard_every else "")
        + (_SPARE.format(memory=spare) if spare else ""),
        encoding="utf-8",
    )
    reasons = {
        "skip": ["panel closed", "weather"],
        "redo": ["probe slipped", "reworked"],
        "void": ["wrong place probed"],
        "attempt": ["not accessible", "unstable contact"],
        "insert": ["bond found that is not on the route"],
        "renumber": ["reading filed twice"],
        "run": ["memory full"],
        "pause": ["break"],
        "amend": ["value keyed wrong"],
        "jump": ["access only now"],
        "reverse": ["stand is at the far end"],
        "lead": ["clip broke"],
        "meter": ["battery low"],
        "handover": ["shift change"],
        "override": ["told to by the person in charge"],
        "release": ["compared with a second meter"],
    }
    lines = [f"{kind} = {words}".replace("'", '"') for kind, words in reasons.items()]
    text = "format = 1\n[reasons]\n" + "\n".join(lines)
    (folder / "shared" / "reasons.toml").write_text(text + "\n", encoding="utf-8")
