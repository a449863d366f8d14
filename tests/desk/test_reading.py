"""A session read: nothing touched, everything judged anew, every damage named and none a traceback."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fieldtui.core.trail.chain import seal_groups
from fieldtui.desk.reading import read_session
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from tests.desk.scenes import Scene, record


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Scene(tmp_path).begin() as desk:
        record(desk, "1.380", "2.6", "1.2")
        desk.void(2, "wrong clip")
        desk.skip("paint")
        return desk.folder


def listing(folder: Path) -> list[tuple[str, int, int, bytes]]:
    return [
        (each.name, each.stat().st_mtime_ns, each.stat().st_size, each.read_bytes())
        for each in sorted(folder.iterdir())
    ]


def test_a_whole_session_has_no_problems(folder: Path) -> None:
    session = read_session(Disk(), folder)
    assert session.is_intact
    assert session.problems == ()
    assert (session.rows, len(session.events), session.torn) == (12, 12, b"")
    last_line = (folder / "trail.csv").read_text(encoding="utf-8").splitlines()[-1]
    assert session.seal == seal_groups(last_line.rpartition(",")[2])


def test_reading_and_verifying_touch_nothing(folder: Path) -> None:
    before = listing(folder)
    for file in folder.iterdir():
        file.chmod(0o444)
    folder.chmod(0o555)
    try:
        read_session(Disk(), folder)
        verify_session(Disk(), folder)
    finally:
        folder.chmod(0o755)
    assert listing(folder) == before


def test_what_verify_answers(folder: Path) -> None:
    verified = verify_session(Disk(), folder)
    assert verified.as_json() == {
        "ok": True, "rows": 12, "readings": 3, "rows_found": 12, "readings_found": 3,
        "seal": verified.seal, "problems": [],
    }  # fmt: skip
    assert len(verified.seal.replace(" ", "")) == 32


def replaced(folder: Path, old: bytes, new: bytes) -> None:
    trail = folder / "trail.csv"
    data = trail.read_bytes()
    assert old in data
    trail.write_bytes(data.replace(old, new, 1))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b",1.380,mohm", b",1.38,mohm"),  # one digit
        (b",SW-01,", b",SW-02,"),
        (b"wrong clip", b"right clip"),
        (b",pass,", b",fail,"),
        (b"\n10,", b"\n11,"),
        (b",Ana,", b",Ben,"),
    ],
)
def test_a_changed_cell_is_found(folder: Path, old: bytes, new: bytes) -> None:
    replaced(folder, old, new)
    verified = verify_session(Disk(), folder)
    assert not verified.ok
    assert verified.problems[0].line is not None
    assert not read_session(Disk(), folder).is_intact


def test_a_missing_and_a_moved_row_are_found(folder: Path) -> None:
    trail = folder / "trail.csv"
    lines = trail.read_bytes().splitlines(keepends=True)
    trail.write_bytes(b"".join(lines[:8] + lines[9:]))
    assert not verify_session(Disk(), folder).ok
    trail.write_bytes(b"".join([*lines[:8], lines[9], lines[8], *lines[10:]]))
    assert not verify_session(Disk(), folder).ok


def test_a_changed_route_in_the_snapshot_is_found(folder: Path) -> None:
    snapshot = folder / "session.toml"
    snapshot.write_text(
        snapshot.read_text(encoding="utf-8").replace("max = 2.5", "max = 9.5"), encoding="utf-8"
    )
    assert not verify_session(Disk(), folder).ok


@pytest.mark.parametrize("name", ["trail.csv", "session.toml"])
def test_a_missing_file_of_a_session_is_a_finding(folder: Path, name: str) -> None:
    (folder / name).unlink()
    verified = verify_session(Disk(), folder)
    assert not verified.ok
    assert name in verified.problems[0].file
    with pytest.raises(BadInputError):
        read_session(Disk(), folder)


@pytest.mark.parametrize("data", [b"", b"\x00\xff\xfe", b"[[[[", b"a = 1\n", b"\xef\xbb\xbfformat = 1\n"])
def test_a_snapshot_that_is_none_is_a_finding(folder: Path, data: bytes) -> None:
    (folder / "session.toml").write_bytes(data)
    verified = verify_session(Disk(), folder)
    assert not verified.ok
    assert all(problem.what for problem in verified.problems)


@pytest.mark.parametrize("data", [b"", b"\x00\xff\xfe", b"hello\n", b"row,time\n", b"\n" * 50, b'"' * 5000])
def test_a_trail_that_is_none_is_a_finding(folder: Path, data: bytes) -> None:
    (folder / "trail.csv").write_bytes(data)
    assert not verify_session(Disk(), folder).ok


def test_what_is_no_session_at_all_is_wrong_use(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for place in (tmp_path / "empty", tmp_path / "nowhere", tmp_path / "routes"):
        with pytest.raises(BadInputError):
            verify_session(Disk(), place)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("name", ["trail.csv", "session.toml"])
def test_a_pipe_in_place_of_a_file_does_not_hang(folder: Path, name: str) -> None:
    (folder / name).unlink()
    os.mkfifo(folder / name)
    with pytest.raises(BadInputError, match="not a regular file"):
        read_session(Disk(), folder)


@pytest.mark.parametrize("name", ["trail.csv", "session.toml"])
def test_a_folder_or_a_link_in_place_of_a_file_is_refused(folder: Path, name: str) -> None:
    elsewhere = (folder / name).rename(folder.parent / name)
    (folder / name).symlink_to(elsewhere)
    with pytest.raises(BadInputError, match="a link to another place"):
        read_session(Disk(), folder)
    (folder / name).unlink()
    (folder / name).mkdir()
    with pytest.raises(BadInputError, match="it is a folder"):
        read_session(Disk(), folder)
