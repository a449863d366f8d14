"""Kill -9 of the real program in the middle of everything it writes: ``python -m tests.crash.kills``.

A process of its own imports the program once and forks it into a new pseudo-terminal for each kill, so
that hundreds of kills take minutes. Each kill takes one deed, keys it, and ends the program at a random
moment: between two keys, while it is saving, or once it has said that all is saved. Then what is on the
disk is held against what was said, and the session is opened again, and killed again while it is read on.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import shutil
import sys
import tempfile
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path

from fieldtui.desk.clock import SystemClock
from fieldtui.desk.entry import weigh
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.remarks import find_remarks
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.trail import writer as trail_writer
from tests.crash.deeds import DEEDS, REMARKS, STAGES, Deed, Stage, keys_of
from tests.crash.terminal import Terminal
from tests.desk.scenes import QuickDisk

_BYTES = {
    "enter": "\r", "escape": "\x1b", "tab": "\t", "backspace": "\x7f", "slash": "/", "equals_sign": "=",
    "space": " ", "up": "\x1b[A", "down": "\x1b[B", "right": "\x1b[C", "left": "\x1b[D", "home": "\x1b[H",
    "end": "\x1b[F", "f3": "\x1bOR", "f5": "\x1b[15~",
}  # fmt: skip
_RECORDED = re.compile(r"RECORDED (\d+)")
_QUIET_S = 0.02  # without output: the program waits for the next key
_ANSWER_S = 0.5  # for the first sign of what a key has led to
_PAUSE_S = 0.6  # after which a key is no part of those before it
_TOO_EARLY = "do not count"
_PATIENCE_S = 20.0
# "hurried": keyed without a look at the screen, so that what is not taken must be the end of it.
MOMENTS = ("between", "saving", "said", "said", "said", "hurried")
KILLED_AGAIN = 0.5  # of the sessions: once more while they are gone on with


@dataclass
class Tally:
    """What many kills came to."""

    kills: int = 0
    acknowledged: int = 0  # rows and remarks that the screen had said are saved
    unsaid: int = 0  # rows found that nobody had been told of
    torn: int = 0  # last rows found unfinished
    lost: list[str] = field(default_factory=list)
    accepted: list[str] = field(default_factory=list)  # rows that nobody keyed, or rows that were changed
    deeds: dict[str, int] = field(default_factory=dict)  # kills by deed
    said: dict[str, int] = field(default_factory=dict)  # of them, those that came after all was said


class Killer:
    """Makes each stage once, and works on copies."""

    def __init__(self, root: Path, chance: random.Random) -> None:
        self._root, self._chance = root, chance
        self._made: dict[str, tuple[Path, str]] = {}
        self._count = 0
        self.tally = Tally()

    def make_stages(self, names: list[str]) -> None:
        """All that the deeds start from."""
        for stage in {DEEDS[name].stage for name in names}:
            made = self._root / f"stage-{stage}"
            made.mkdir()
            folder = STAGES[stage].make(made)
            self._made[stage] = made, folder.name if folder is not None else ""

    def kill(self, name: str) -> None:
        """One deed, or a part of it, and one more kill on what it left."""
        try:
            self._kill(name, DEEDS[name])
        except AssertionError as error:  # the screen did not come up
            self.tally.kills += 1
            self.tally.lost.append(f"{name}: {error}")

    def _kill(self, name: str, deed: Deed) -> None:
        stage = STAGES[deed.stage]
        workspace, folder = self._copy(deed.stage)
        keys = list(keys_of(deed, folder))
        moment = self._chance.choice(MOMENTS)
        if moment == "between":
            keys = keys[: self._chance.randrange(len(keys))]
        before = _trail_of(folder)
        known = read_session(Disk(), folder).rows if folder is not None else 0
        words, is_said = self._play(workspace, folder, stage, keys, deed.said, moment)
        self._check(name, deed, workspace, folder, before, known, words, is_said=is_said)
        shutil.rmtree(workspace)

    def _copy(self, name: str) -> tuple[Path, Path | None]:
        made, session = self._made[name]
        self._count += 1
        workspace = self._root / f"kill-{self._count}"
        shutil.copytree(made, workspace)
        return workspace, workspace / "sessions" / session if session else None

    def _play(
        self, workspace: Path, folder: Path | None, stage: Stage, keys: list[str], said: str, moment: str
    ) -> tuple[str, bool]:
        """Start, key, kill; everything that stood on the screen, and whether ``said`` did in the end."""
        arguments = stage.command.split()
        if folder is not None and arguments:
            arguments.append(str(folder))
        terminal = Terminal(arguments, workspace, is_forked=True)
        seen: list[str] = []
        try:
            self._key(terminal, stage, keys, said, moment, seen)
        finally:
            terminal.kill()
        seen.append(terminal.text)
        return "\n".join(seen), moment != "between" and said in terminal.text

    def _key(
        self, terminal: Terminal, stage: Stage, keys: list[str], said: str, moment: str, seen: list[str]
    ) -> None:
        """Key until the moment to kill has come; ``seen`` takes in every screen."""
        terminal.wait_for(stage.ready)
        _rest(terminal)
        is_hurried = moment == "hurried"
        words = ""
        for place, key in enumerate(keys, 1):
            if key.startswith("?"):
                words = "" if is_hurried else key[1:].replace("_", " ")
            elif words:
                _send_seen(terminal, _bytes(key), words)
                words = ""
            else:
                terminal.send(_bytes(key))
                if place < len(keys) and not is_hurried:
                    _rest(terminal)
            seen.append(terminal.text)
        if is_hurried:
            _rest(terminal)
        elif moment == "said":
            until = time.monotonic() + _PATIENCE_S
            while said not in terminal.text and time.monotonic() < until:
                terminal.look(0.05)
        else:
            terminal.look(self._chance.choice((0.0, self._chance.uniform(0, 0.03))))

    def _check(
        self,
        name: str,
        deed: Deed,
        workspace: Path,
        folder: Path | None,
        before: bytes,
        known: int,
        words: str,
        *,
        is_said: bool,
    ) -> None:
        """Hold the disk to what was said."""
        tally = self.tally
        tally.kills += 1
        tally.deeds[name] = tally.deeds.get(name, 0) + 1
        tally.said[name] = tally.said.get(name, 0) + is_said
        folder = folder or _only_session(workspace)
        if folder is None:
            if is_said:
                tally.lost.append(f"{name}: no session is there")
            return
        found = read_session(Disk(), folder)
        tally.torn += bool(found.torn)
        if not found.is_intact or not _trail_of(folder).startswith(before):
            tally.accepted.append(f"{name}: {found.problems or 'rows before were changed'}")
            return
        wanted = deed.rows.split()
        rows = [event.kind for event in found.events[known:] if event.kind != "open"]
        recorded = max((int(number) for number in _RECORDED.findall(words)), default=0)
        if recorded > len(found.survey.records) or (is_said and rows != wanted):
            tally.lost.append(f"{name}: said, and the rows are {rows}")
        if rows != wanted[: len(rows)]:
            tally.accepted.append(f"{name}: rows {rows}")
        if name in REMARKS:
            self._check_remarks(name, found, is_said=is_said)
        tally.acknowledged += len(wanted) + (name in REMARKS) if is_said else 0
        tally.unsaid += 0 if is_said else len(rows)
        if not found.survey.closed:
            self._open_again(deed, workspace, folder, found)

    def _check_remarks(self, name: str, found: ReadSession, *, is_said: bool) -> None:
        remarks = find_remarks(Disk(), found)
        count = len(remarks.entries) + sum(not entry.still_holds for entry in remarks.entries)
        if remarks.problems or (is_said and count != REMARKS[name]):
            self.tally.lost.append(f"{name}: {count} remarks; {remarks.problems}")
        if count not in (REMARKS[name], REMARKS[name] - 1):
            self.tally.accepted.append(f"{name}: {count} remarks")

    def _open_again(self, deed: Deed, workspace: Path, folder: Path, found: ReadSession) -> None:
        """The session opens again; of those that take readings many are killed while one is keyed."""
        survey = found.survey
        is_full = survey.run is not None and survey.run.is_full
        asks_first = survey.paused or deed.stage in ("surveyed", "drifted")  # the crew, or about drift
        if asks_first or is_full or survey.here is None or self._chance.random() > KILLED_AGAIN:
            resume_session(Workspace(workspace, QuickDisk()), folder, SystemClock()).leave()
        else:
            self._go_on(workspace, folder, found)

    def _go_on(self, workspace: Path, folder: Path, found: ReadSession) -> None:
        """One more reading is keyed, and the program killed once more."""
        survey = found.survey
        stage = Stage(lambda _: None, "resume", "NOW")
        before, records = _trail_of(folder), len(survey.records)
        moment = self._chance.choice(("saving", "said"))
        wanted = f"RECORDED {records + 1}"
        keys = ["‹1.23›", "enter"]
        if weigh("1.23", survey).doubts:  # then it is read again, the same
            keys += ["?What_the", *keys]
        words, _ = self._play(workspace, folder, stage, keys, wanted, moment)
        again = read_session(Disk(), folder)
        self.tally.kills += 1
        if not again.is_intact or not _trail_of(folder).startswith(before):
            self.tally.accepted.append(f"a reading afterwards: {again.problems or 'rows were changed'}")
        more = len(again.survey.records) - records
        if wanted in words:
            self.tally.acknowledged += 1
            if more < 1:
                self.tally.lost.append("a reading afterwards")
        if more > 1:
            self.tally.accepted.append(f"{more} readings where one was keyed")


def _trail_of(folder: Path | None) -> bytes:
    return (folder / "trail.csv").read_bytes() if folder is not None else b""


def _only_session(workspace: Path) -> Path | None:
    folders = list((workspace / "sessions").glob("*/session.toml"))
    return folders[0].parent if folders else None


def _bytes(key: str) -> str:
    return key[1:-1] if key.startswith("‹") else _BYTES.get(key, key)


def _send_seen(terminal: Terminal, key: str, words: str) -> None:
    """Press a key once the words are there; where the program says that it came too early, once more."""
    terminal.wait_for(words)
    _look(terminal, _QUIET_S * 5)
    until = time.monotonic() + _PATIENCE_S
    while time.monotonic() < until:
        terminal.send(key)
        _look(terminal, _PAUSE_S)
        if _TOO_EARLY not in terminal.text:
            return


def _look(terminal: Terminal, seconds: float) -> None:
    """Take in what comes for so long."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        terminal.look(_QUIET_S)


def _rest(terminal: Terminal) -> None:
    """Until the last key has shown and nothing more comes, so that a kill falls where it is meant to."""
    seen = len(terminal.raw)
    until = time.monotonic() + _ANSWER_S
    while len(terminal.raw) == seen and time.monotonic() < until:
        terminal.look(_QUIET_S)
    until = time.monotonic() + _PATIENCE_S
    seen = -1
    while len(terminal.raw) != seen and time.monotonic() < until:
        seen = len(terminal.raw)
        terminal.look(_QUIET_S)


# --- seeded bugs: what the kills would notice ------------------------------------------------------


def _written_late() -> None:
    """Each row is handed to the disk when the next one comes."""
    writer = trail_writer.TrailWriter
    real = writer._write
    late: list[bytes] = []

    def write(self, line):  # type: ignore[no-untyped-def]
        if late:
            real(self, late.pop())
        late.append(line)

    writer._write = write  # type: ignore[method-assign]
    writer._compare = lambda self, line: None  # type: ignore[method-assign]
    writer._require_ours = lambda self: None  # type: ignore[method-assign]


def _written_twice() -> None:
    """Each event is on the disk twice, as by a key that counted twice."""
    writer = trail_writer.TrailWriter
    real = writer.append

    def append(self, event):  # type: ignore[no-untyped-def]
        real(self, event)
        return real(self, event)

    writer.append = append  # type: ignore[method-assign]


SEEDED = {"": lambda: None, "written late": _written_late, "written twice": _written_twice}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100, help="stop once there are as many")
    parser.add_argument("--seconds", type=float, default=1800.0, help="or after as long")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--deeds", default="", help="only these, separated by /")
    parser.add_argument("--once", action="store_true", help="stop once each deed had its turn")
    parser.add_argument("--bug", default="", choices=SEEDED)
    arguments = parser.parse_args()
    for name in ("COLUMNS", "LINES"):
        os.environ.pop(name, None)
    os.environ |= {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    import fieldtui.ui.app  # noqa: F401  once, before the forks

    chance = random.Random(arguments.seed)
    until = time.monotonic() + arguments.seconds
    with tempfile.TemporaryDirectory() as root:
        killer = Killer(Path(root), chance)
        names = arguments.deeds.split("/") if arguments.deeds else list(DEEDS)
        killer.make_stages(names)  # by the program as it is
        SEEDED[arguments.bug]()
        while killer.tally.kills < arguments.kills and time.monotonic() < until:
            chance.shuffle(names)
            for name in names:
                if killer.tally.kills < arguments.kills and time.monotonic() < until:
                    killer.kill(name)
            if arguments.once:
                break
    sys.stdout.write(json.dumps(asdict(killer.tally), ensure_ascii=False) + "\n")
    return 1 if killer.tally.lost or killer.tally.accepted else 0


if __name__ == "__main__":
    raise SystemExit(main())
