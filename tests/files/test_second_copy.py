"""The second copy: the same bytes elsewhere, whatever happens over there, and never at the session's cost."""

from __future__ import annotations

import errno
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from fieldtui.errors import CopyFailedError
from fieldtui.files.disk import Disk, Identity
from fieldtui.files.durable import lock_session
from fieldtui.files.session.second_copy import SecondCopy
from tests.desk.scenes import QuickDisk

SESSION = b"format = 1\n"
HEAD = b"row,time,kind\n1,a,started\n"
ROWS = [b"2,b,reading\n", b"3,c,reading\n", b"4,d,note\n"]


@dataclass
class TwoMedia:
    """A session's folder on one medium, a stick beside it, and a disk."""

    root: Path
    trail: bytes = HEAD
    disk: Disk = field(default_factory=QuickDisk)

    def __post_init__(self) -> None:
        self.source, self.stick = self.root / "sessions" / "S1", self.root / "stick"
        self.source.mkdir(parents=True)
        self.stick.mkdir()
        (self.source / "session.toml").write_bytes(SESSION)
        self.write(b"")
        self.copy = SecondCopy(self.disk, self.source, self.stick / "S1")

    def write(self, row: bytes) -> None:
        self.trail += row
        (self.source / "trail.csv").write_bytes(self.trail)

    def catch_up(self) -> None:
        self.copy.catch_up(len(self.trail))

    @property
    def there(self) -> bytes:
        return (self.stick / "S1" / "trail.csv").read_bytes()

    def assert_same(self) -> None:
        assert self.there == self.trail
        assert (self.stick / "S1" / "session.toml").read_bytes() == SESSION


@pytest.fixture
def media(tmp_path: Path) -> TwoMedia:
    return TwoMedia(tmp_path)


def test_every_row_is_carried_over(media: TwoMedia) -> None:
    for row in [b"", *ROWS]:
        media.write(row)
        media.catch_up()
        media.assert_same()


def test_a_row_that_is_not_yet_acknowledged_stays_away(media: TwoMedia) -> None:
    media.catch_up()
    media.trail += ROWS[0]
    (media.source / "trail.csv").write_bytes(media.trail + b"3,c,not yet synced\n")
    media.catch_up()
    media.assert_same()


def test_a_copy_of_yesterday_is_gone_on_with(media: TwoMedia) -> None:
    media.catch_up()
    media.copy.close()
    for row in ROWS:
        media.write(row)
    again = SecondCopy(media.disk, media.source, media.stick / "S1")
    again.catch_up(len(media.trail))
    media.assert_same()
    assert sorted(path.name for path in (media.stick / "S1").iterdir()) == [
        ".lock",
        "session.toml",
        "trail.csv",
    ]


def test_half_a_row_of_a_power_cut_is_filled_up(media: TwoMedia) -> None:
    media.catch_up()
    media.copy.close()
    media.write(ROWS[0])
    (media.stick / "S1" / "trail.csv").write_bytes(media.trail[:-5])
    media.catch_up()
    media.assert_same()


@pytest.mark.parametrize(
    "there", [HEAD + b"\0\0\0\0", b"", HEAD.replace(b"a", b"x"), HEAD + b"".join(ROWS) + b"5"]
)
def test_what_differs_is_kept_beside_and_the_copy_made_anew(media: TwoMedia, there: bytes) -> None:
    for row in ROWS:
        media.write(row)
    media.catch_up()
    media.copy.close()
    (media.stick / "S1" / "trail.csv").write_bytes(there)
    media.catch_up()
    media.assert_same()
    kept = [path.read_bytes() for path in (media.stick / "S1").glob("differs-*.csv")]
    assert kept == ([there] if there else [])  # an empty file is the beginning of any


def test_meddling_while_it_is_kept_is_noticed(media: TwoMedia) -> None:
    media.catch_up()
    with (media.stick / "S1" / "trail.csv").open("ab") as file:
        file.write(b"something else\n")
    media.write(ROWS[0])
    media.catch_up()
    media.assert_same()
    assert [path.read_bytes() for path in (media.stick / "S1").glob("differs-*")] == [
        HEAD + b"something else\n"
    ]


def test_a_deleted_copy_is_made_again(media: TwoMedia) -> None:
    media.catch_up()
    for path in (media.stick / "S1").iterdir():
        path.unlink()
    media.write(ROWS[0])
    media.catch_up()
    media.assert_same()


def test_another_session_of_the_name_is_left_alone(media: TwoMedia) -> None:
    (media.stick / "S1").mkdir()
    (media.stick / "S1" / "session.toml").write_bytes(b"format = 1\nid = 'other'\n")
    with pytest.raises(CopyFailedError, match="another session of this name"):
        media.catch_up()
    assert [path.name for path in (media.stick / "S1").iterdir()] == ["session.toml"]


def test_a_medium_that_is_not_there_is_said_and_found_later(media: TwoMedia) -> None:
    media.stick.rmdir()
    with pytest.raises(CopyFailedError, match="is not there; put the medium in place"):
        media.catch_up()
    media.stick.mkdir()
    media.catch_up()
    media.assert_same()


def test_a_copy_where_the_session_itself_lies_is_refused(media: TwoMedia) -> None:
    copy = SecondCopy(media.disk, media.source, media.source)
    with pytest.raises(CopyFailedError, match="give another folder"):
        copy.catch_up(len(media.trail))
    assert (media.source / "trail.csv").read_bytes() == media.trail


def test_nobody_goes_on_in_a_copy_that_is_being_kept(media: TwoMedia) -> None:
    held = None
    media.catch_up()
    media.copy.close()
    held = lock_session(Disk(), media.stick / "S1")
    media.write(ROWS[0])
    with pytest.raises(CopyFailedError, match="Another program has this session open"):
        media.catch_up()
    held.release()
    media.catch_up()
    media.assert_same()


def test_a_trail_that_became_shorter_is_said(media: TwoMedia) -> None:
    with pytest.raises(CopyFailedError, match="shorter than what was recorded"):
        media.copy.catch_up(len(media.trail) + 1)


class StickFails(Disk):
    """The n-th call that concerns the stick fails, once or for ever; a failed sync drops what was not safe.

    After Rebello et al., "Can Applications Recover from fsync Failures?", USENIX ATC 2020: bytes of a failed
    sync still read back, but may never reach the medium.
    """

    def __init__(self, stick: Path) -> None:
        self.stick, self.fail_at, self.for_ever, self.calls = stick, 0, False, 0
        self.code = errno.EIO
        self.short = False
        self._fds: dict[int, Path] = {}
        self._lost: set[int] = set()  # inodes with bytes that never got there

    def arm(self, fail_at: int, code: int, *, for_ever: bool = False, short: bool = False) -> None:
        self.fail_at, self.code, self.for_ever, self.short, self.calls = fail_at, code, for_ever, short, 0

    def _count(self, path: Path) -> bool:
        """Raises where the call's turn to fail has come; True where it is to be done by half."""
        if not path.is_relative_to(self.stick):
            return False
        self.calls += 1
        if self.fail_at and (self.calls == self.fail_at or (self.for_ever and self.calls > self.fail_at)):
            if self.short:
                return True
            raise OSError(self.code, "told to fail")
        return False

    def make_folder(self, path: Path) -> None:
        self._count(path)
        super().make_folder(path)

    def sync_folder(self, path: Path) -> str:
        self._count(path)
        return ""

    def rename(self, old: Path, new: Path) -> None:
        self._count(new)
        super().rename(old, new)

    def path_identity(self, path: Path) -> Identity | None:
        self._count(path)
        return super().path_identity(path)

    def create(self, path: Path) -> int:
        self._count(path)
        fd = self._note(super().create(path), path)
        self._lost.discard(self.identity(fd).inode)  # a file of its own, whatever bore that number before
        return fd

    def open_append(self, path: Path) -> int:
        self._count(path)
        return self._note(super().open_append(path), path)

    def open_read(self, path: Path) -> int:
        self._count(path)
        return super().open_read(path)

    def _note(self, fd: int, path: Path) -> int:
        self._fds[fd] = path
        return fd

    def write(self, fd: int, data: bytes) -> int:
        by_half = fd in self._fds and self._count(self._fds[fd])
        return super().write(fd, data[: len(data) // 2] if by_half else data)

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        if fd in self._fds:
            self._count(self._fds[fd])
        return super().read_at(fd, size, offset)

    def truncate(self, fd: int, size: int) -> None:
        if fd in self._fds:
            self._count(self._fds[fd])
        super().truncate(fd, size)

    def sync_data(self, fd: int) -> None:
        if fd not in self._fds:
            return
        inode = self.identity(fd).inode
        try:
            self._count(self._fds[fd])
        except OSError:
            self._lost.add(inode)
            raise

    def is_whole_on_medium(self, path: Path) -> bool:
        """No sync of the file that stands there ever failed."""
        return path.stat().st_ino not in self._lost


FAULTS = {"error": errno.EIO, "full": errno.ENOSPC, "read-only": errno.EROFS, "short": 0}


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("for_ever", [False, True], ids=["once", "for-ever"])
def test_whatever_call_fails_the_copy_is_whole_in_the_end(
    tmp_path: Path, fault: str, *, for_ever: bool
) -> None:
    """Each call in turn: the session never changes, and once the stick works again the copy is whole."""
    tried = 0
    for fail_at in range(1, 100):
        root = tmp_path / str(fail_at)
        disk = StickFails(root / "stick")
        media = TwoMedia(root, disk=disk)
        disk.arm(fail_at, FAULTS[fault], for_ever=for_ever, short=fault == "short")
        failures = 0
        for row in [b"", *ROWS]:
            media.write(row)
            before = (media.source / "trail.csv").read_bytes()
            try:
                media.catch_up()
            except CopyFailedError as error:
                failures += 1
                assert "session itself is safe" in error.remedy
            assert (media.source / "trail.csv").read_bytes() == before
        reached = disk.calls >= fail_at
        disk.arm(0, 0)
        media.write(b"5,e,note\n")
        media.catch_up()
        media.assert_same()
        assert disk.is_whole_on_medium(media.stick / "S1" / "trail.csv"), f"call {fail_at}"
        media.copy.close()
        if not reached:
            break
        tried += 1
        assert failures or fault == "short" or not for_ever
    assert 15 < tried < 99
