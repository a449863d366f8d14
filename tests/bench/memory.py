"""Memory of the program against a bare Textual app: ``python -m tests.bench.memory [--rounds 5]``.

Resident memory once the screen is there and at rest: the start screen, a walk, a walk after many
readings. These are held against a bare walk screen, and against one on which as many values were keyed:
the toolkit keeps what it drew.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.bench.measuring import NO_GOAL, Pty, show
from tests.bench.paint import START_WORDS, WALK_WORDS, begin, make_workspace
from tests.bench.screen_commit import value_of

READINGS = 60


def resident_mib(module: str, arguments: list[str], folder: Path, words: str, readings: int = 0) -> float:
    """MiB once ``words`` are on the screen and, if asked for, so many readings are taken."""
    program = Pty(module, arguments, folder)
    try:
        program.wait_for(words)
        program.rest(0.5)
        for number in range(1, readings + 1):
            since = program.send(f"{value_of(number)}\r")
            program.wait_for(f"RECORDED {number}", since)
        program.rest(0.5)
        return program.memory_kib() / 1024
    finally:
        program.kill()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    arguments = parser.parse_args()
    if sys.platform == "win32":
        parser.error("a pseudo-terminal is wanted")
    taken = f"{READINGS} values"
    names = ("bare start screen", "start screen", "bare walk screen", "walk")
    names += (f"bare walk screen, {taken}", f"walk, {taken}")
    found: dict[str, list[float]] = {name: [] for name in names}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        workspace = make_workspace(folder, points=READINGS + 10)
        for number in range(arguments.rounds + 1):
            measured = one_round(folder, str(begin(workspace)))
            if number:  # compiling takes memory: the first round does not count
                for values, value in zip(found.values(), measured, strict=True):
                    values.append(value)
    start, our_start, walk, our_walk, walk_taken, our_walk_taken = names
    for bare, ours in (
        (start, (our_start,)),
        (walk, (our_walk, our_walk_taken)),
        (walk_taken, (our_walk_taken,)),
    ):
        show({each: found[each] for each in (bare, *ours)}, "MiB", goals=dict.fromkeys(ours, (1.3, NO_GOAL)))


def one_round(folder: Path, session: str) -> list[float]:
    """MiB of each, the bare app before ours: as it comes up, and the walk after its readings as well."""
    (folder / "bare.txt").write_text("\n\n".join(START_WORDS), encoding="utf-8")
    measured = [
        resident_mib("tests.bench.bare", ["start"], folder, "quit"),
        resident_mib("fieldtui", [], folder, "Routes:"),
    ]
    (folder / "bare.txt").write_text("\n\n".join(WALK_WORDS), encoding="utf-8")
    for readings in (0, READINGS):
        measured += [
            resident_mib("tests.bench.bare", ["walk"], folder, "menu", readings),
            resident_mib("fieldtui", ["resume", session], folder, "menu", readings),
        ]
    return measured


if __name__ == "__main__":
    main()
