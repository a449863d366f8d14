"""What the promise costs: ``python -m tests.bench.commit [--rounds 400] [--folder DIR]``.

Ratios within one run, since absolute times are the disk's: a committed record against a bare write
with its sync and against SQLite in WAL mode with synchronous=FULL; making a session against one
append. What opening costs is measured by ``tests.bench.opening``.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from fieldtui.core.trail.events import Event
from fieldtui.files import durable
from fieldtui.files.disk import Disk
from fieldtui.files.trail.rows import COLUMNS, format_row, split_line
from tests.crash.model import FIRST_LINK, TOML, reading, started

CREATIONS = 60


def milliseconds(deed: Callable[[], object]) -> float:
    began = time.perf_counter()
    deed()
    return (time.perf_counter() - began) * 1000


def percentile(times: list[float], part: float) -> float:
    return sorted(times)[min(len(times) - 1, int(len(times) * part))]


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


def commits(folder: Path, rounds: int) -> None:
    """The three ways in turn, so that what else the disk does hits all alike."""
    writer = durable.create_session(Disk(), folder, "commits", TOML, FIRST_LINK, started())
    bare, database = Bare(folder), Database(folder)
    link = writer.seal
    times: dict[str, list[float]] = {"bare write + sync": [], "committed record": [], "SQLite WAL FULL": []}
    for number in range(1, rounds + 1):
        event = reading(number, "a remark of the usual length, say")
        line, link = format_row(number + 1, event, link)
        cells = split_line(line.decode().removesuffix("\n"))
        times["bare write + sync"].append(milliseconds(lambda line=line: bare.append(line)))
        times["committed record"].append(milliseconds(lambda event=event: writer.append(event)))
        times["SQLite WAL FULL"].append(milliseconds(lambda cells=cells: database.append(cells)))
    show(times)
    writer.close()


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
    show(times)


def start_of(data: bytes) -> Event:
    """The first row of a session whose session.toml holds these bytes."""
    return replace(started(), ref=sha256(data).hexdigest())


def show(times: dict[str, list[float]]) -> None:
    """Each way, and the median of its ratio to the first way in the same round."""
    first = next(iter(times.values()))
    for name, found in times.items():
        middle = statistics.median(found)
        ratio = statistics.median(one / other for one, other in zip(found, first, strict=True))
        sys.stdout.write(
            f"{name:24} {len(found):6} times  p50 {middle:9.3f} ms  p99 {percentile(found, 0.99):9.3f} ms"
            f"  ratio {ratio:6.2f}\n"
        )
    sys.stdout.write("\n")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=400)
    parser.add_argument("--folder", help="on the disk to be measured; a temporary one if left out")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=arguments.folder) as name:
        folder = Path(name)
        commits(folder, arguments.rounds)
        creations(folder)


if __name__ == "__main__":
    main()
