"""Begins, fills and resumes a session, and prints every call that its disk was asked for.

``python -m tests.crash.traced FOLDER``: the answer is one JSON list of ``[call, name, size]``, in the
words of the system's calls, for a tracer's own list to be held against.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from fieldtui.files.disk import Disk
from tests.desk.scenes import Scene, record

Call = tuple[str, str, int]  # system call, last part of the path, bytes (0 where there is no size)


class RecordingDisk(Disk):
    """Writes down each call that changes, syncs, locks or reads back, and makes it."""

    def __init__(self) -> None:
        self.calls: list[Call] = []
        self._names: dict[int, str] = {}

    def _note(self, call: str, name: str, size: int = 0) -> None:
        self.calls.append((call, name, size))

    def make_folder(self, path: Path) -> None:
        super().make_folder(path)
        self._note("mkdir", path.name)

    def sync_folder(self, path: Path) -> str:
        answer = super().sync_folder(path)
        self._note("fsync", path.name)
        return answer

    def rename(self, old: Path, new: Path) -> None:
        super().rename(old, new)
        self._note("rename", new.name)

    def unlink(self, path: Path) -> None:
        super().unlink(path)
        self._note("unlink", path.name)

    def create(self, path: Path) -> int:
        fd = super().create(path)
        self._names[fd] = path.name
        self._note("create", path.name)
        return fd

    def open_append(self, path: Path) -> int:
        fd = super().open_append(path)
        self._names[fd] = path.name
        self._note("open", path.name)
        return fd

    def open_lock(self, path: Path) -> int:
        fd = super().open_lock(path)
        self._names[fd] = path.name
        self._note("create", path.name)
        return fd

    def open_read(self, path: Path) -> int:
        fd = super().open_read(path)
        self._names[fd] = path.name
        return fd

    def write(self, fd: int, data: bytes) -> int:
        taken = super().write(fd, data)
        self._note("write", self._names[fd], taken)
        return taken

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        data = super().read_at(fd, size, offset)
        self._note("pread64", self._names[fd], len(data))
        return data

    def sync_data(self, fd: int) -> None:
        super().sync_data(fd)
        self._note("fdatasync", self._names[fd])

    def truncate(self, fd: int, size: int) -> None:
        super().truncate(fd, size)
        self._note("ftruncate", self._names[fd], size)

    def lock(self, fd: int) -> bool:
        taken = super().lock(fd)
        self._note("flock", self._names[fd])
        return taken

    def unlock(self, fd: int) -> None:
        super().unlock(fd)
        self._note("flock", self._names[fd])


def main() -> None:
    disk = RecordingDisk()
    scene = Scene(Path(sys.argv[1]), disk=disk)
    disk.calls.clear()
    with scene.begin() as desk:
        record(desk, "1.380", "2.60")
        desk.void(2, "wrong clip")
    trail = desk.folder / "trail.csv"
    half = b"11,2026-05-04T08"  # a save that was cut off
    with trail.open("ab") as file:
        file.write(half)
    disk.calls += [("create", trail.name, 0), ("write", trail.name, len(half))]
    with scene.resume(desk.folder) as desk:
        record(desk, "1.20")
    json.dump(disk.calls, sys.stdout)


if __name__ == "__main__":
    main()
