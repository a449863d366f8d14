"""What the promise costs: ``python -m tests.bench.commit [--rounds 400] [--folder DIR]``.

Ratios within one run, since absolute times are the disk's: a record committed on the writer thread (its
row checked, chained, written, synced and read back) against a bare write with its sync and against SQLite
in WAL mode with synchronous=FULL; making a session against one append. What the desk does around a row is
measured by ``tests.bench.screen_commit``, what opening costs by ``tests.bench.opening``.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import sqlite3
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from hashlib import sha256
from pathlib import Path
from random import Random

from fieldtui.core.trail.events import Event
from fieldtui.files import durable
from fieldtui.files.disk import Disk
from fieldtui.files.trail.rows import COLUMNS, format_row, split_line
from fieldtui.ui.writer import Writer
from tests.bench.measuring import NO_GOAL, Goals, show
from tests.crash.model import FIRST_LINK, TOML, reading, started

CREATIONS = 60
GOALS: Goals = {
    "committed record": (1.15, 1.5),
    "committed record (to SQLite)": (0.85, NO_GOAL),
    "making a session": (8, NO_GOAL),
}


def milliseconds(deed: Callable[[], object]) -> float:
    began = time.perf_counter()
    deed()
    return (time.perf_counter() - began) * 1000


class Bare:
    """The least that is durable: one write, one sync."""

    def __init__(self, folder: Path) -> None:
        self._fd = os.open(folder / "bare", os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)

    def append(self, line: bytes) -> None:
        os.write(self._fd, line)
        getattr(os, "fdatasync", os.fsync)(self._fd)


class Database:
    """The same cells as a row of SQLite."""

    def __init__(self, folder: Path) -> None:
        self._connection = sqlite3.connect(folder / "rows.db", isolation_level=None)
        self._connection.execute("pragma journal_mode = wal")
        self._connection.execute("pragma synchronous = full")
        columns = ", ".join(f'"{name}"' for name in COLUMNS)
        self._connection.execute(f"create table trail ({columns})")
        self._insert = f"insert into trail values ({', '.join('?' * len(COLUMNS))})"  # noqa: S608  own names

    def append(self, cells: list[str]) -> None:
        self._connection.execute(self._insert, cells)


Way = tuple[list[float], Callable[[], object]]  # the milliseconds so far, and what is done


async def take_turns(writer: Writer, turns: Random, ways: list[Way]) -> None:
    """Each way once, on the program's writer thread and in no order.

    What the disk does for one must not always fall on the same next one.
    """
    turns.shuffle(ways)
    for times, deed in ways:
        times.append(await writer.do(milliseconds, deed))


async def commits(folder: Path, rounds: int) -> None:
    """The three ways in turns, on the program's writer thread."""
    trail = durable.create_session(Disk(), folder, "commits", TOML, FIRST_LINK, started())
    writer = Writer()
    bare, database = Bare(folder), await writer.do(Database, folder)
    await writer.do(bare.append, b"warm\n")
    link = trail.seal
    bare_ms: list[float] = []
    ours_ms: list[float] = []
    sqlite_ms: list[float] = []
    turns = Random(7)
    for number in range(1, rounds + 1):
        event = reading(number, "a remark of the usual length, say")
        line, link = format_row(number + 1, event, link)
        cells = split_line(line.decode().removesuffix("\n"))
        ways: list[Way] = [
            (bare_ms, partial(bare.append, line)),
            (ours_ms, partial(trail.append, event)),
            (sqlite_ms, partial(database.append, cells)),
        ]
        await take_turns(writer, turns, ways)
    writer.close()
    trail.close()
    show({"bare write + sync": bare_ms, "committed record": ours_ms}, goals=GOALS)
    show({"SQLite WAL FULL": sqlite_ms, "committed record (to SQLite)": ours_ms}, goals=GOALS)


def creations(folder: Path) -> None:
    """Making a session against appending to one."""
    times: dict[str, list[float]] = {"append": [], "making a session": []}
    for number in range(CREATIONS):
        made: list[durable.TrailWriter] = []
        name = f"s{number}"
        times["making a session"].append(
            milliseconds(
                lambda name=name, made=made: made.append(
                    durable.create_session(Disk(), folder, name, TOML * 100, FIRST_LINK, start_of(TOML * 100))
                )
            )
        )
        event = reading(1)
        times["append"].append(milliseconds(lambda made=made, event=event: made[0].append(event)))
        made[0].close()
    show(times, goals=GOALS)


def start_of(data: bytes) -> Event:
    """The first row of a session whose session.toml holds these bytes."""
    return replace(started(), ref=sha256(data).hexdigest())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=400)
    parser.add_argument("--folder", help="on the disk to be measured; a temporary one if left out")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=arguments.folder) as name:
        folder = Path(name)
        asyncio.run(commits(folder, arguments.rounds))
        creations(folder)


if __name__ == "__main__":
    main()
