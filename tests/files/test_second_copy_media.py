"""The second copy on media that are changed, full, or gone."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.errors import CopyFailedError
from fieldtui.files.disk import Disk, Identity
from fieldtui.files.session.second_copy import SecondCopy

HEAD = b"row,time,kind\n1,a,started\n"
ROW = b"2,b,reading\n"


class Media(Disk):
    """A disk that says on which device the stick is, and takes no more bytes than there is room for."""

    device = 7
    room = 10_000

    def path_identity(self, path: Path) -> Identity | None:
        found = super().path_identity(path)
        return found._replace(device=self.device) if found is not None and path.name == "stick" else found

    def write(self, fd: int, data: bytes) -> int:
        taken = super().write(fd, data[: self.room])
        self.room -= taken
        return taken


@pytest.fixture
def disk(tmp_path: Path) -> Media:
    for name in ("sessions/S1", "stick"):
        (tmp_path / name).mkdir(parents=True)
    (tmp_path / "sessions" / "S1" / "session.toml").write_bytes(b"format = 1\n")
    return Media()


def write(root: Path, *rows: bytes) -> int:
    data = HEAD + b"".join(rows)
    (root / "sessions" / "S1" / "trail.csv").write_bytes(data)
    return len(data)


def test_a_copy_is_not_begun_anew_on_another_medium(disk: Media, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    copy = SecondCopy(disk, tmp_path / "sessions" / "S1", stick / "S1")
    copy.catch_up(write(tmp_path))
    assert not copy.is_on_same_disk
    kept = tmp_path / "pulled"
    (stick / "S1").rename(kept)
    disk.device = 8  # the empty folder on the first disk
    with pytest.raises(CopyFailedError, match="another medium is there now"):
        copy.catch_up(write(tmp_path, ROW))
    assert list(stick.iterdir()) == []
    kept.rename(stick / "S1")
    disk.device = 7
    copy.catch_up(write(tmp_path, ROW))
    assert (stick / "S1" / "trail.csv").read_bytes() == HEAD + ROW


def test_half_a_row_on_a_full_medium_is_cut_off_and_filled_up_later(disk: Media, tmp_path: Path) -> None:
    trail = tmp_path / "stick" / "S1" / "trail.csv"
    copy = SecondCopy(disk, tmp_path / "sessions" / "S1", tmp_path / "stick" / "S1")
    copy.catch_up(write(tmp_path))
    disk.room = 5
    for _ in range(2):
        with pytest.raises(CopyFailedError, match="the disk is full"):
            copy.catch_up(write(tmp_path, ROW))
        assert trail.read_bytes() == HEAD
    disk.room = 10_000
    copy.catch_up(write(tmp_path, ROW))
    assert trail.read_bytes() == HEAD + ROW


def test_a_medium_that_reads_back_other_bytes_is_told_and_the_copy_made_anew(
    disk: Media, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick" / "S1"
    copy = SecondCopy(disk, tmp_path / "sessions" / "S1", stick)
    copy.catch_up(write(tmp_path))
    real = disk.read_at

    def other(fd: int, size: int, offset: int) -> bytes:
        data = real(fd, size, offset)
        return data.replace(b"2,b", b"2,x") if size == len(ROW) + 1 else data  # the row read back

    with monkeypatch.context() as patch:
        patch.setattr(disk, "read_at", other)
        with pytest.raises(CopyFailedError, match="reads back other"):
            copy.catch_up(write(tmp_path, ROW))
    copy.catch_up(write(tmp_path, ROW))
    assert (stick / "trail.csv").read_bytes() == HEAD + ROW
    assert len(list(stick.glob("differs-*"))) == 1  # what stood there, in memory only perhaps, is kept
