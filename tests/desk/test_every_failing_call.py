"""The n-th call to the disk fails, for every n: what a person gets is words, what is on disk is whole.

After "How SQLite Is Tested" (I/O error tests): a counter makes the n-th call fail, n = 1, 2, 3 … until
the operation gets through.
"""

from __future__ import annotations

import errno
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fieldtui.desk.opening import find_session
from fieldtui.desk.practice import make_practice
from fieldtui.desk.reading import read_session
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import FieldtuiError
from fieldtui.files.disk import Disk, Identity
from fieldtui.files.sheet import COLUMNS
from fieldtui.report.writing import write_report
from tests.desk.scenes import Scene, record

SHEET = (",".join(COLUMNS) + "\nreading,SW-01,1,1.1\nskip,SW-02\n").encode()


class CountingDisk(Disk):
    """Fails the call whose turn comes, and nothing else; waits for no medium."""

    def __init__(self) -> None:
        self.fail_at, self.code, self.calls = 0, errno.EIO, 0

    def _count(self) -> None:
        self.calls += 1
        if self.calls == self.fail_at:
            raise OSError(self.code, "told to fail")

    def arm(self, fail_at: int, code: int) -> None:
        self.fail_at, self.code, self.calls = fail_at, code, 0

    def make_folder(self, path: Path) -> None:
        self._count()
        super().make_folder(path)

    def list_folder(self, path: Path) -> list[str]:
        self._count()
        return super().list_folder(path)

    def sync_folder(self, path: Path) -> str:
        self._count()
        return ""

    def rename(self, old: Path, new: Path) -> None:
        self._count()
        super().rename(old, new)

    def unlink(self, path: Path) -> None:
        self._count()
        super().unlink(path)

    def path_identity(self, path: Path) -> Identity | None:
        self._count()
        return super().path_identity(path)

    def create(self, path: Path) -> int:
        self._count()
        return super().create(path)

    def open_append(self, path: Path) -> int:
        self._count()
        return super().open_append(path)

    def open_lock(self, path: Path) -> int:
        self._count()
        return super().open_lock(path)

    def open_read(self, path: Path) -> int:
        self._count()
        return super().open_read(path)

    def close(self, fd: int) -> None:
        super().close(fd)
        self._count()

    def identity(self, fd: int) -> Identity:
        self._count()
        return super().identity(fd)

    def write(self, fd: int, data: bytes) -> int:
        self._count()
        return super().write(fd, data)

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        self._count()
        return super().read_at(fd, size, offset)

    def sync_data(self, fd: int) -> None:
        self._count()

    def truncate(self, fd: int, size: int) -> None:
        self._count()
        super().truncate(fd, size)

    def lock(self, fd: int) -> bool:
        self._count()
        return super().lock(fd)

    def unlock(self, fd: int) -> None:
        self._count()
        super().unlock(fd)


class Prepared:
    """A workspace with one session left open in it, and a disk that is about to fail."""

    def __init__(self, root: Path) -> None:
        self.disk = CountingDisk()
        self.scene = Scene(root, self.disk)
        with self.scene.begin() as desk:
            record(desk, "1.1")
        self.folder = desk.folder

    def tidy(self) -> None:
        """Take away what the last try left, but for the session that was there before."""
        for made in (*self.scene.workspace.sessions_folder.iterdir(), self.scene.root / "paper"):
            if made != self.folder:
                shutil.rmtree(made, ignore_errors=True)

    def begin(self) -> None:
        self.scene.begin().leave()

    def record(self) -> None:
        with self.scene.resume(self.folder) as desk:
            desk.redo("tips slipped", 1)
            record(desk, "1.2")

    def read(self) -> None:
        read_session(self.disk, self.folder)

    def verify(self) -> None:
        verify_session(self.disk, self.folder)

    def list_all(self) -> None:
        self.scene.workspace.routes()
        self.scene.workspace.sessions()
        self.scene.workspace.tables()
        find_session(self.disk, self.scene.workspace, "x")

    def report(self) -> None:
        write_report(self.disk, read_session(Disk(), self.folder), self.scene.root / "paper")

    def transcribe(self) -> None:
        workspace = self.scene.workspace
        route = workspace.load_route("wing")
        brief = paper_brief(workspace.tables(), route.route)
        transcribe_sheet(workspace, route, SHEET, "sheet.csv", brief, self.scene.clock)

    def practise(self) -> None:
        make_practice(self.disk, self.scene.root / "practice")


DEEDS: list[Callable[[Prepared], Any]] = [
    Prepared.begin, Prepared.record, Prepared.read, Prepared.verify, Prepared.list_all, Prepared.report,
    Prepared.transcribe,
]  # fmt: skip


@pytest.mark.parametrize("code", [errno.EIO, errno.ENOSPC], ids=errno.errorcode.get)
@pytest.mark.parametrize("deed", DEEDS, ids=lambda deed: deed.__name__)
def test_whichever_call_fails_it_is_told_in_words(
    tmp_path: Path, deed: Callable[[Prepared], Any], code: int
) -> None:
    prepared = Prepared(tmp_path)
    for fail_at in range(1, 2000):
        prepared.disk.arm(fail_at, code)
        try:
            deed(prepared)
        except FieldtuiError as error:
            assert error.what
            assert error.remedy
            assert "told to fail" not in str(error)
        prepared.tidy()
        if prepared.disk.calls < fail_at:
            break  # it got through before its turn came
    else:
        raise AssertionError("no end of calls")
    prepared.disk.arm(0, code)
    session = read_session(Disk(), prepared.folder)
    assert session.is_intact or session.torn
    prepared.record()  # and the lock was given back whatever failed
    assert verify_session(Disk(), prepared.folder).problems == ()


@pytest.mark.parametrize("fail_at", [1, 2, 3, 7, 20, 50, 100])
def test_a_practice_that_cannot_be_laid_out_is_told_in_words(tmp_path: Path, fail_at: int) -> None:
    prepared = Prepared(tmp_path)
    prepared.disk.arm(fail_at, errno.ENOSPC)
    with pytest.raises(FieldtuiError) as failed:
        prepared.practise()
    assert failed.value.remedy
