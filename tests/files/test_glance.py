"""A session by the ends of its files: what its whole says, or nothing at all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from random import Random

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.files.disk import Disk, Identity
from fieldtui.files.durable import MAX_TRAIL
from fieldtui.files.session.glance import Glance, glance_at
from tests.desk.fleet_maker import METER, Walk, route_file, write_session

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
NAME = "2026-05-04_aircraft_wing_01"


@pytest.fixture
def walk() -> Walk:
    made = Walk(route_file("wing", "aircraft", 4), METER, START, Random(1))
    made.tell(ev.Started, ref="0" * 64)
    return made


@pytest.fixture
def write(tmp_path: Path, walk: Walk) -> Callable[..., Path]:
    def written(**facts: object) -> Path:
        route = route_file("wing", "aircraft", 4)
        return write_session(tmp_path / NAME, route, walk, METER, START, name=NAME, **facts)

    return written


def test_a_session_not_begun_a_walked_one_and_a_closed_one(
    tmp_path: Path, walk: Walk, write: Callable[..., Path]
) -> None:
    begun = Glance(NAME, "Bonds of wing", 4, False, False, 0, False, walk.time, "")
    assert glance_at(Disk(), write()) == begun
    (tmp_path / NAME).rename(tmp_path / "begun")
    walk.read("P01", 1.1)
    walk.read("P03", 1.2)
    walk.tell(ev.Noted, note="wind")
    walked = replace(begun, readings=2, last_point="P03", last_time=walk.time)
    assert glance_at(Disk(), write()) == walked
    (tmp_path / NAME).rename(tmp_path / "walked")
    walk.tell(ev.Closed)
    folder = write(practice=True, transcribed_from="sheet.csv")
    closed = replace(walked, is_closed=True, is_practice=True, is_from_paper=True, last_time=walk.time)
    assert glance_at(Disk(), folder) == closed


def test_a_row_not_finished_and_a_session_reopened(walk: Walk, write: Callable[..., Path]) -> None:
    walk.read("P01", 1.1)
    walk.tell(ev.Closed)
    walk.tell(ev.Reopened, ref="0" * 32, reason="one forgotten")
    folder = write()
    with (folder / "trail.csv").open("ab") as trail:
        trail.write(b"6,2026-05-04T09:")
    found = glance_at(Disk(), folder)
    assert found is not None
    assert (found.readings, found.is_closed, found.last_time) == (1, False, walk.time)


def test_a_last_reading_far_back_makes_none(walk: Walk, write: Callable[..., Path]) -> None:
    walk.read("P01", 1.1)
    for _ in range(200):
        walk.tell(ev.Noted, note="x" * 100)
    assert glance_at(Disk(), write()) is None


def test_of_a_long_trail_no_more_is_read_than_its_ends(walk: Walk, write: Callable[..., Path]) -> None:
    for number in range(200):
        walk.read("P01" if number % 2 else "P04", 1.1)
    got = 0

    class Counting(Disk):
        def read_at(self, fd: int, size: int, offset: int) -> bytes:
            nonlocal got
            data = super().read_at(fd, size, offset)
            got += len(data)
            return data

    folder = write()
    found = glance_at(Counting(), folder)
    assert found is not None
    assert (found.readings, found.last_point, found.last_time) == (200, "P01", walk.time)
    trail, toml = (folder / name for name in ("trail.csv", "session.toml"))
    assert got - toml.stat().st_size < trail.stat().st_size


def in_toml(old: bytes, new: bytes) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        data = (folder / "session.toml").read_bytes()
        assert data.count(old)
        changed = data.replace(old, new, 1)
        (folder / "session.toml").write_bytes(changed)
        trail = (folder / "trail.csv").read_bytes()  # so that the digest still is the file's
        before, after = (sha256(each).hexdigest().encode() for each in (data, changed))
        (folder / "trail.csv").write_bytes(trail.replace(before, after))

    return spoil


def in_trail(old: bytes, new: bytes) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        data = (folder / "trail.csv").read_bytes()
        assert data.count(old)
        (folder / "trail.csv").write_bytes(data.replace(old, new, 1))

    return spoil


@pytest.mark.parametrize(
    "spoil",
    [
        in_toml(b"format = 1", b"format = 2"),
        in_toml(b"practice = false", b'practice = "no"'),
        in_toml(b'title = "Bonds of wing"', b'title = "Bonds\\u202e"'),
        in_toml(b'title = "Bonds of wing"', b"title = 5"),
        in_toml(b'title = "Bonds of wing"', b'title = """Bonds\n[[route.points]]\n"""'),
        in_toml(b'job = "JC-1"', b'job = "'),
        in_trail(b"row,time", b"time,row"),
        in_trail(b",start,", b",note,"),
        in_trail(b"\n3,", b"\n4,"),
        in_trail(b",reading,", b",raeding,"),
        in_trail(b"\n3,", b"\n3,extra,"),
        in_trail(b"\n3,", b"\n\xff,"),
        lambda folder: (folder / "trail.csv").unlink(),
        lambda folder: (folder / "session.toml").unlink(),
        lambda folder: (folder / "session.toml").write_bytes(b"\xff"),
        lambda folder: (folder / "trail.csv").write_bytes(b""),
    ],
)
def test_what_is_not_as_this_program_writes_it_makes_no_glance(
    walk: Walk, write: Callable[..., Path], spoil: Callable[[Path], None]
) -> None:
    walk.read("P01", 1.1)
    walk.read("P04", 1.1)
    folder = write()
    assert glance_at(Disk(), folder) is not None
    spoil(folder)
    assert glance_at(Disk(), folder) is None


def test_a_session_without_points_makes_none(walk: Walk, write: Callable[..., Path]) -> None:
    folder = write()
    toml = (folder / "session.toml").read_bytes()
    in_toml(toml[toml.index(b"[[route.points]]") :], b"")(folder)
    assert glance_at(Disk(), folder) is None


def test_a_trail_too_large_to_be_read_makes_none(walk: Walk, write: Callable[..., Path]) -> None:
    class Large(Disk):
        def identity(self, fd: int) -> Identity:
            return super().identity(fd)._replace(size=MAX_TRAIL + 1)

    assert glance_at(Large(), write()) is None
