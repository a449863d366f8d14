from __future__ import annotations

import errno
import os
import socket
import sys
from pathlib import Path

import pytest

from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk, is_full, is_safe_name, reason

disk = Disk()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "file.txt"


# --- a system that lacks what POSIX has ----------------------------------------------------------


class FakeMsvcrt:
    """The byte lock of the other system: one owner, refused to everyone else at once."""

    LK_NBLCK, LK_UNLCK = 2, 0

    def __init__(self) -> None:
        self.owners: dict[int, int] = {}

    def locking(self, fd: int, mode: int, size: int) -> None:
        assert size == 1
        assert os.lseek(fd, 0, os.SEEK_CUR) == 0  # the lock is on the byte the file stands at
        inode = os.fstat(fd).st_ino
        if mode == self.LK_UNLCK:
            del self.owners[inode]
        elif self.owners.setdefault(inode, fd) != fd:
            raise OSError(errno.EACCES, "locked")


def take_posix_away(monkeypatch: pytest.MonkeyPatch) -> FakeMsvcrt:
    """Leave only what Windows has as well."""
    for name in ("fdatasync", "pread", "O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_NOCTTY", "O_DIRECTORY"):
        monkeypatch.delattr(os, name)
    fake = FakeMsvcrt()
    monkeypatch.setitem(sys.modules, "fcntl", None)
    monkeypatch.setitem(sys.modules, "msvcrt", fake)
    return fake


@pytest.fixture(params=["posix", "without posix"], autouse=True)
def system(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Every test of this module runs both ways."""
    if request.param == "without posix":
        take_posix_away(monkeypatch)
    return str(request.param)


# --- open files ----------------------------------------------------------------------------------


def test_a_created_file_appends_and_reads_back(path: Path) -> None:
    fd = disk.create(path)
    assert disk.write(fd, b"one") == 3
    assert disk.read_at(fd, 10, 1) == b"ne"
    assert disk.write(fd, b"two") == 3  # at the end, wherever was read
    disk.sync_data(fd)
    assert disk.read_at(fd, 10, 0) == b"onetwo"
    assert disk.read_at(fd, 10, 6) == b""
    disk.truncate(fd, 4)
    assert disk.identity(fd).size == 4
    disk.close(fd)
    assert path.read_bytes() == b"onet"
    with pytest.raises(FileExistsError):
        disk.create(path)


def test_an_existing_file_is_opened_to_append(path: Path) -> None:
    path.write_bytes(b"one")
    fd = disk.open_append(path)
    disk.write(fd, b"two")
    disk.close(fd)
    assert path.read_bytes() == b"onetwo"
    with pytest.raises(FileNotFoundError):
        disk.open_append(path.with_name("missing"))


def test_a_sync_goes_to_the_system(path: Path, system: str, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[str] = []
    for name in ("fsync", "fdatasync"):
        monkeypatch.setattr(os, name, lambda fd, name=name: calls.append(name), raising=False)
    if system != "posix":
        monkeypatch.delattr(os, "fdatasync")
    fd = disk.create(path)
    disk.sync_data(fd)
    disk.close(fd)
    assert calls == (["fdatasync"] if system == "posix" else ["fsync"])


def test_closing_quietly_says_nothing_of_a_failed_close(path: Path) -> None:
    fd = disk.create(path)
    disk.close_quietly(fd)
    disk.close_quietly(fd)


def test_an_identity_tells_files_apart(path: Path) -> None:
    fd = disk.create(path)
    ours = disk.identity(fd)
    assert ours.is_regular
    assert not ours.is_folder
    assert ours.links == 1
    assert disk.path_identity(path) == ours
    path.unlink()
    assert disk.path_identity(path) is None
    path.write_bytes(b"")
    other = path.with_name("other")
    os.link(path, other)
    named = disk.path_identity(path)
    assert named is not None
    assert named.inode != ours.inode
    assert named.links == 2
    folder = disk.path_identity(path.parent)
    assert folder is not None
    assert folder.is_folder
    disk.close(fd)


def test_a_lock_keeps_the_second_out_until_it_is_given_back(path: Path) -> None:
    first, second = disk.open_lock(path), disk.open_lock(path)
    assert disk.lock(first)
    assert not disk.lock(second)
    disk.unlock(first)
    assert disk.lock(second)
    disk.unlock(second)
    disk.close(first)
    disk.close(second)


def test_a_lock_that_fails_otherwise_is_no_answer(path: Path) -> None:
    fd = disk.open_lock(path)
    disk.close(fd)
    with pytest.raises(OSError, match="Bad file descriptor"):
        disk.lock(fd)


# --- folders -------------------------------------------------------------------------------------


def test_folders_are_made_once_and_listed_in_order(tmp_path: Path) -> None:
    disk.make_folder(tmp_path / "b")
    disk.make_folder(tmp_path / "a")
    with pytest.raises(FileExistsError):
        disk.make_folder(tmp_path / "a")
    assert disk.list_folder(tmp_path) == ["a", "b"]


def test_a_folder_is_synced_where_that_is_possible(tmp_path: Path, system: str) -> None:
    why = disk.sync_folder(tmp_path)
    assert bool(why) is (system != "posix")


@pytest.mark.parametrize(
    ("number", "is_tolerated"),
    [(errno.EINVAL, True), (errno.ENOTSUP, True), (errno.EOPNOTSUPP, True), (errno.EIO, False),
     (errno.ENOSPC, False), (errno.EROFS, False), (errno.EACCES, False)],
)  # fmt: skip
def test_a_folder_sync_that_is_impossible_is_told_from_one_that_failed(
    tmp_path: Path, system: str, monkeypatch: pytest.MonkeyPatch, number: int, is_tolerated: bool
) -> None:
    def refuse(fd: int) -> None:
        raise OSError(number, "no")

    monkeypatch.setattr(os, "fsync", refuse)
    if is_tolerated or system != "posix":
        assert disk.sync_folder(tmp_path)
    else:
        with pytest.raises(OSError, match="no"):
            disk.sync_folder(tmp_path)


def test_what_stands_under_a_name_can_be_asked(path: Path) -> None:
    assert not disk.is_file(path)
    path.write_bytes(b"")
    assert disk.is_file(path)
    assert not disk.is_folder(path)
    assert disk.is_folder(path.parent)
    assert not disk.is_file(path.parent)


def test_a_name_is_given_and_taken(path: Path) -> None:
    path.write_bytes(b"new")
    target = path.with_name("target")
    target.write_bytes(b"old")
    disk.rename(path, target)
    assert target.read_bytes() == b"new"
    disk.unlink(target)
    assert disk.list_folder(path.parent) == []


# --- whole files ---------------------------------------------------------------------------------


def test_a_whole_file_is_read_and_not_touched(path: Path) -> None:
    path.write_bytes(b"x" * 200_000)
    before = path.stat()
    assert disk.read_file(path, 200_000) == b"x" * 200_000
    after = path.stat()
    assert (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size)


def unreadable(path: Path, max_bytes: int = 100) -> str:
    with pytest.raises(BadInputError) as caught:
        disk.read_file(path, max_bytes)
    error = caught.value
    assert error.where == str(path)
    assert error.remedy
    assert [problem.file for problem in error.problems] == [str(path)]
    return error.what


def test_a_file_larger_than_allowed_is_refused(path: Path) -> None:
    path.write_bytes(b"x" * 101)
    assert "larger than the 100 bytes" in unreadable(path)


def test_what_is_no_plain_file_is_refused_and_never_waited_for(tmp_path: Path, system: str) -> None:
    real = tmp_path / "real"
    real.write_bytes(b"x")
    (tmp_path / "link").symlink_to(real)
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    assert "does not exist" in unreadable(tmp_path / "missing")
    assert "folder" in unreadable(tmp_path)
    assert "link" in unreadable(tmp_path / "link")
    assert "link" in unreadable(tmp_path / "dangling")
    assert "not a folder" in unreadable(real / "below")
    for opening in (disk.open_append, disk.open_lock, disk.open_read):
        with pytest.raises(OSError, match=r"."):
            opening(tmp_path / "link")
    if system == "posix":  # the other system has neither pipes nor sockets among its files
        os.mkfifo(tmp_path / "pipe")
        assert "not a regular file" in unreadable(tmp_path / "pipe")
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(str(tmp_path / "s"))
            assert "cannot be read" in unreadable(tmp_path / "s")
        assert "not a regular file" in unreadable(Path("/dev/null"))


def test_a_whole_file_is_written_at_once(path: Path) -> None:
    disk.write_whole(path, b"one")
    disk.write_whole(path, b"two" * 50_000)
    assert path.read_bytes() == b"two" * 50_000
    assert disk.list_folder(path.parent) == ["file.txt"]
    path.with_name(".file.txt.tmp").write_bytes(b"left by a crash")
    disk.write_whole(path, b"")
    assert path.read_bytes() == b""
    assert disk.list_folder(path.parent) == ["file.txt"]


def test_a_whole_file_takes_as_many_writes_as_the_system_wants(path: Path) -> None:
    slow = Disk()
    slow.write = lambda fd, data: os.write(fd, data[:3])  # type: ignore[method-assign]
    slow.write_whole(path, b"one and two")
    assert path.read_bytes() == b"one and two"


@pytest.mark.parametrize("call", ["write", "sync_data", "rename"])
def test_a_whole_file_that_fails_leaves_the_old_one(path: Path, call: str) -> None:
    path.write_bytes(b"old")
    broken = Disk()

    def refuse(*_: object) -> int:
        raise OSError(errno.EIO, "no")

    setattr(broken, call, refuse)
    with pytest.raises(OSError, match="no"):
        broken.write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert disk.list_folder(path.parent) == ["file.txt"]


def test_a_disk_that_takes_nothing_is_full(path: Path) -> None:
    full = Disk()
    full.write = lambda fd, data: 0  # type: ignore[method-assign]
    with pytest.raises(OSError, match="nothing was taken") as caught:
        full.write_whole(path, b"new")
    assert is_full(caught.value)


# --- words ---------------------------------------------------------------------------------------


def test_every_reason_is_in_words() -> None:
    assert reason(OSError(errno.ENOSPC, "x")) == "the disk is full"
    assert reason(OSError(errno.EIO, "x")) == "the disk reported a read or write error"
    assert reason(OSError(12345, "x")) == "the system refused (error 12345)"
    assert is_full(OSError(errno.EDQUOT, "x"))
    assert not is_full(OSError(errno.EIO, "x"))


@pytest.mark.parametrize("name", ["a", "2026-05-04_zx-41_wing_01", "trail.csv", "X.y-Z_9", "console"])
def test_names_that_every_system_takes(name: str) -> None:
    assert is_safe_name(name)


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", ".hidden", "a/b", "a\\b", "a:b", "a b", "trail.", "a\n", "CON", "nul", "com1", "Lpt9.txt",
     "aux.toml", "é", "x" * 101, "*", "a?", '"'],
)  # fmt: skip
def test_names_that_some_system_refuses(name: str) -> None:
    assert not is_safe_name(name)


def test_a_weak_medium_is_named(tmp_path: Path) -> None:
    place = tmp_path / "a stick"
    place.mkdir()
    table = tmp_path / "mountinfo"

    def note(*lines: str) -> str:
        table.write_text("".join(line + "\n" for line in lines))
        return disk.filesystem_note(place / "session", table)

    root = "1 0 8:1 / / rw,relatime shared:1 - ext4 /dev/a rw"
    stick = f"2 1 8:2 / {str(place).replace(' ', chr(92) + '040')} rw - {{}} /dev/b rw"
    assert note(root) == ""
    for kind in ("vfat", "exfat", "fuse", "fuseblk", "fuse.sshfs", "cifs", "smb3", "nfs", "nfs4"):
        said = note(stick.format(kind), root)
        assert f"{kind} medium" in said
        assert "this medium cannot promise that a saved reading survives a power cut" in said
    assert note(root, stick.format("xfs")) == ""
    assert note("1 0 8:1 / / rw - vfat /dev/a rw", stick.format("ext4")) == ""
    assert "cifs" in note(stick.format("ext4"), stick.format("cifs"))  # mounted over: the later one counts
    assert note("broken", "1 - vfat") == ""
    assert disk.filesystem_note(place, tmp_path / "missing") == ""


def test_the_fake_is_asked_the_way_the_real_one_would_be(path: Path, system: str) -> None:
    if system != "posix":
        fake = sys.modules["msvcrt"]
        assert isinstance(fake, FakeMsvcrt)
        fd = disk.open_lock(path)
        os.write(fd, b"elsewhere")
        assert disk.lock(fd)
        assert fake.owners == {os.fstat(fd).st_ino: fd}
        disk.unlock(fd)
        assert fake.owners == {}
        disk.close(fd)
