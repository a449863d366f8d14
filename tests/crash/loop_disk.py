"""A real ext4 file system in a file, whose power can be cut while it is written to.

The kernel's own "shutdown" request drops everything that is not on the medium yet, journal
included, and lets every later call fail. Mounting again replays the journal, as after a power cut.
What the loop device was handed counts as on the medium: a drive that lies about its flush is not
seen here. Root is needed.
"""

from __future__ import annotations

import errno
import os
import shutil
import struct
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SIZE = 16 * 1024 * 1024  # bytes of the whole file system
_SHUTDOWN = 0x8004587D  # EXT4_IOC_SHUTDOWN, linux/ext4
_NO_LOG_FLUSH = 2
_TOOLS = ("mount", "umount", "mkfs.ext4")


class NoLoopDiskError(Exception):
    """Such a disk cannot be made here; says why."""


def missing() -> str:
    """Why such a disk cannot be made here, empty where nothing is known to be in the way."""
    if sys.platform != "linux":
        return "only Linux has loop devices and ext4"
    if os.geteuid() != 0:
        return "mounting wants root"
    return ", ".join(f"no {tool} here" for tool in _TOOLS if shutil.which(tool) is None)


class LoopDisk:
    """One file system; ``place`` is where it is mounted."""

    def __init__(self, folder: Path, size: int = SIZE, options: str = "") -> None:
        self.place = folder / "mounted"
        self._image = folder / "image"
        self._options = ",".join(option for option in ("loop", options) if option)
        self.place.mkdir()
        with self._image.open("wb") as image:
            image.truncate(size)
        _run("mkfs.ext4", "-q", "-F", str(self._image))
        self._is_mounted = False
        self.mount()

    def mount(self) -> None:
        _run("mount", "-t", "ext4", "-o", self._options, str(self._image), str(self.place))
        self._is_mounted = True

    def unmount(self) -> None:
        if self._is_mounted:
            _run("umount", str(self.place))
            self._is_mounted = False

    def cut_power(self) -> None:
        """From here on every call fails, and what was not on the medium never gets there."""
        import fcntl  # not on Windows

        fd = os.open(self.place, os.O_RDONLY | os.O_DIRECTORY)
        try:
            fcntl.ioctl(fd, _SHUTDOWN, struct.pack("I", _NO_LOG_FLUSH))
        finally:
            os.close(fd)

    def remount(self) -> None:
        """Power is back: mount again, which replays the journal."""
        self.unmount()
        self.mount()

    def throw_away(self) -> None:
        """Unmount, whatever state it is in, and take the image away."""
        try:
            self.unmount()
        except NoLoopDiskError:
            _run("umount", "--lazy", str(self.place))
        self._image.unlink()


@contextmanager
def loop_disk(folder: Path, size: int = SIZE, options: str = "") -> Iterator[LoopDisk]:
    """A loop disk that is unmounted in the end, come what may.

    Raises:
        NoLoopDiskError: such a disk cannot be made here.
    """
    if why := missing():
        raise NoLoopDiskError(why)
    disk = LoopDisk(folder, size, options)
    try:
        yield disk
    finally:
        disk.throw_away()


@contextmanager
def small_tmpfs(place: Path, size: str) -> Iterator[None]:
    """A file system in memory of ``size`` such as ``64k``, mounted at ``place``."""
    if why := missing():
        raise NoLoopDiskError(why)
    _run("mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(place))
    try:
        yield
    finally:
        _run("umount", "--lazy", str(place))


def is_dead(error: OSError) -> bool:
    """Whether a call failed because the power is gone."""
    return error.errno in (errno.EIO, errno.EROFS, getattr(errno, "ESHUTDOWN", errno.EIO))


def _run(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    if done.returncode != 0:
        raise NoLoopDiskError(f"{command[0]}: {(done.stderr or done.stdout).strip()}")
