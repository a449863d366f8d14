"""Making a session on a medium that refuses: no session stands there afterwards, and the reason is told."""

from __future__ import annotations

import errno
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.errors import DiskFullError, MediumFailedError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME, create_session, lock_session, open_session
from fieldtui.files.trail.scan import scan_trail
from tests.crash.model import FIRST_LINK, SESSION_ID, TOML, reading, started


def create(disk: Disk, parent: Path) -> None:
    create_session(disk, parent, SESSION_ID, TOML, FIRST_LINK, started()).close()


def test_the_folder_of_all_sessions_is_made_where_it_is_missing(tmp_path: Path) -> None:
    create(Disk(), tmp_path / "sessions")
    assert (tmp_path / "sessions" / SESSION_ID / SESSION_NAME).read_bytes() == TOML


def test_another_program_may_make_it_in_the_same_moment(tmp_path: Path) -> None:
    class Late(Disk):
        def make_folder(self, path: Path) -> None:
            if path.name == "sessions":
                path.mkdir()  # the other one's
            super().make_folder(path)

    create(Late(), tmp_path / "sessions")
    assert (tmp_path / "sessions" / SESSION_ID / SESSION_NAME).exists()


def test_a_first_row_of_another_session_is_refused(tmp_path: Path) -> None:
    other = replace(started(), ref="0" * 64)
    with pytest.raises(WrongUseError, match="does not carry the digest"):
        create_session(Disk(), tmp_path, SESSION_ID, TOML, FIRST_LINK, other)
    assert list(tmp_path.iterdir()) == []


class ShortWrite(Disk):
    def write(self, fd: int, data: bytes) -> int:
        return super().write(fd, data[:10])


class ReadsOther(Disk):
    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        return super().read_at(fd, size, offset).replace(b"2026", b"2028")


@pytest.mark.parametrize(
    ("disk", "error", "words"),
    [
        (ShortWrite(), DiskFullError, "the disk is full"),
        (ReadsOther(), MediumFailedError, "reads back other than it was written"),
    ],
)
def test_a_medium_that_does_not_keep_the_first_row_gets_no_session(
    tmp_path: Path, disk: Disk, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        create(disk, tmp_path)
    assert not (tmp_path / SESSION_ID / SESSION_NAME).exists()
    lock_session(Disk(), tmp_path / SESSION_ID).release()  # the lock was given back


def test_a_sync_that_fails_while_it_is_opened_is_told(tmp_path: Path) -> None:
    create(Disk(), tmp_path)

    class NoSync(Disk):
        def sync_data(self, fd: int) -> None:
            raise OSError(errno.EIO, "")

    lock = lock_session(Disk(), tmp_path / SESSION_ID)
    with pytest.raises(MediumFailedError, match="cannot be opened for writing: the disk reported"):
        open_session(NoSync(), tmp_path / SESSION_ID, lock, TOML, FIRST_LINK)
    lock.release()


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are another thing there")
def test_permissions_taken_away_under_the_writer_lose_nothing(tmp_path: Path) -> None:
    writer = create_session(Disk(), tmp_path, SESSION_ID, TOML, FIRST_LINK, started())
    trail = tmp_path / SESSION_ID / "trail.csv"
    try:
        writer.append(reading(1))
        trail.chmod(0)
        assert writer.append(reading(2)) == 3  # the file is open, and it is still ours
    finally:
        writer.close()
        trail.chmod(0o600)
    assert scan_trail(trail.read_bytes(), first_link=FIRST_LINK).rows == 3
