"""Cut a trail at each of its bytes, as a power cut does, and open what is left."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path

import pytest

from fieldtui.errors import SessionDamagedError
from fieldtui.files import durable
from fieldtui.files.disk import Disk
from fieldtui.files.trail.rows import HEADER
from fieldtui.files.trail.scan import Scan, scan_trail
from tests.crash.model import FIRST_LINK, SESSION_ID, TOML, noted, reading, started

EVENTS = [started(), reading(1), reading(2, 'a "b", c'), noted(3, "µΩ ＝ é")]
TAILS = {
    "nothing": b"",
    "NUL bytes": b"\0" * 200,
    "other bytes": b"\xa5" * 97,
}


@pytest.fixture(scope="module")
def trail(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    parent = tmp_path_factory.mktemp("whole")
    writer = durable.create_session(Disk(), parent, SESSION_ID, TOML, FIRST_LINK, started())
    for event in EVENTS[1:]:
        writer.append(event)
    writer.close()
    return (parent / SESSION_ID / "trail.csv").read_bytes()


def ends(trail: bytes) -> list[int]:
    """Offsets after each line, the header's first."""
    found: list[int] = []
    for line in trail.split(b"\n")[:-1]:
        found.append((found[-1] if found else 0) + len(line) + 1)
    return found


def scan(data: bytes) -> Scan:
    return scan_trail(data, first_link=FIRST_LINK, digest=sha256(TOML).hexdigest())


@pytest.mark.parametrize("tail", TAILS.values(), ids=TAILS.keys())
def test_each_cut_keeps_every_whole_row_and_names_the_rest_as_torn(trail: bytes, tail: bytes) -> None:
    offsets = ends(trail)
    for cut in range(offsets[1], len(trail) + 1):
        found = scan(trail[:cut] + tail)
        whole = sum(offset <= cut for offset in offsets) - 1
        good_end = max(offset for offset in offsets if offset <= cut)
        assert found.problems == (), cut
        assert found.events == EVENTS[:whole]
        assert (found.rows, found.good_end) == (whole, good_end)
        assert found.torn == trail[good_end:cut] + tail


def test_each_cut_before_the_end_of_the_first_row_is_damage(trail: bytes) -> None:
    """A session exists only once its first row is safe, so no crash leaves less."""
    for cut in range(ends(trail)[1]):
        found = scan(trail[:cut])
        assert not found.intact
        assert not found.is_content_intact
        assert found.torn == b""
        assert found.events == []


def test_it_matters_not_in_what_pieces_the_bytes_come(trail: bytes) -> None:
    data = trail[:-9]
    for size in (1, 7, 64, 4096):
        pieces = [data[start : start + size] for start in range(0, len(data), size)]
        assert scan_trail(pieces, first_link=FIRST_LINK) == scan_trail(data, first_link=FIRST_LINK)


def test_recovering_keeps_the_torn_bytes_and_is_done_once(
    trail: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", lambda fd: None)  # seen by no one here, and slow
    monkeypatch.setattr(os, "fdatasync", lambda fd: None)
    offsets = ends(trail)
    start, end = offsets[-2], offsets[-1]
    for cut in range(start + 1, end):
        folder = tmp_path / str(cut)
        folder.mkdir()
        (folder / "session.toml").write_bytes(TOML)
        (folder / "trail.csv").write_bytes(trail[:cut])
        for time in range(2):  # the second opening finds it done, and still not on record
            lock = durable.lock_session(Disk(), folder)
            writer, found, recovery = durable.open_session(Disk(), folder, lock, TOML, FIRST_LINK)
            assert recovery is not None
            assert (recovery.offset, recovery.length) == (start, cut - start)
            assert (folder / recovery.file).read_bytes() == trail[start:cut]
            assert recovery.sha256 == sha256(trail[start:cut]).hexdigest()
            assert (folder / "trail.csv").read_bytes() == trail[:start]
            assert bool(found.torn) is (time == 0)
            if time == 1:
                event = recovery.event(EVENTS[-2].time, "rec")
                assert writer.append(event) == 4
            writer.close()
        lock = durable.lock_session(Disk(), folder)
        writer, found, recovery = durable.open_session(Disk(), folder, lock, TOML, FIRST_LINK)
        assert recovery is None
        assert found.events == [*EVENTS[:-1], event]
        assert sorted(path.name for path in folder.iterdir()) == sorted(
            [".lock", "session.toml", event.ref, "trail.csv"]
        )
        writer.close()


@pytest.mark.parametrize("tail", [b"\0" * 4097, b"x" * 4097, b"y\n" * 2049], ids=["NUL", "text", "lines"])
def test_an_end_too_long_for_one_save_is_damage_and_is_left_alone(
    trail: bytes, tail: bytes, tmp_path: Path
) -> None:
    data = trail + tail
    assert scan(data).torn == b""
    (tmp_path / "session.toml").write_bytes(TOML)
    (tmp_path / "trail.csv").write_bytes(data)
    lock = durable.lock_session(Disk(), tmp_path)
    with pytest.raises(SessionDamagedError) as caught:
        durable.open_session(Disk(), tmp_path, lock, TOML, FIRST_LINK)
    lock.release()
    assert caught.value.problems
    assert (tmp_path / "trail.csv").read_bytes() == data
    assert trail.startswith(HEADER)


def test_each_byte_changed_is_damage_or_a_torn_last_row_with_its_bytes_kept(trail: bytes) -> None:
    last = ends(trail)[-2]
    for place in range(len(trail)):
        data = bytearray(trail)
        data[place] ^= 0x01
        found = scan(bytes(data))
        if found.torn:
            assert place >= last
            assert trail[last:place] == found.torn[: place - last]
        else:
            assert not found.is_content_intact, place
