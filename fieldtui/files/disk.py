"""The one object through which this program touches a disk.

Every call is small, does one thing and raises the plain :class:`OSError`, so that a test can
record, delay or fail each of them. What a system lacks is looked up when the call is made, never
at import: Windows has no ``fdatasync``, ``pread``, ``flock``, ``O_NOFOLLOW`` nor a way to sync a
folder, and each has its branch here.

Sources: POSIX.1-2017 (open, fdatasync, rename, pread); flock(2); fsync(2): syncing a file does
not sync its entry in the folder.
"""

from __future__ import annotations

import errno
import importlib
import os
import re
import stat
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from fieldtui.errors import BadInputError, Problem

CHUNK = 65_536  # bytes asked for in one read

# A folder's sync is impossible, not failed, where the system answers one of these.
_NO_FOLDER_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}
_LOCK_TAKEN = {errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK}
# Compiled where they are first wanted: the start screen shows up without them.
_SAFE_NAME = r"(?a)[A-Za-z0-9](?:[A-Za-z0-9._-]{0,98}[A-Za-z0-9_-])?"
_DEVICE_NAMES = r"(?ai)(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?"
_WEAK_SYSTEMS = r"(?a)vfat|msdos|exfat|fuse.*|ntfs.*|cifs|smb.*|nfs.*|9p"

_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EIO: "the disk reported a read or write error",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "permission was refused",
    errno.EPERM: "permission was refused",
    errno.ENOENT: "it does not exist",
    errno.EEXIST: "it exists already",
    errno.ENOTDIR: "part of the path is not a folder",
    errno.EISDIR: "it is a folder",
    errno.ELOOP: "it is a link to another place",
    errno.ENODEV: "the disk is gone",
    errno.ENXIO: "the disk is gone",
    errno.ESTALE: "the network disk lost the file",
    errno.EINTR: "the call was interrupted",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ENOLCK: "the disk cannot lock files",
    errno.ENOTSUP: "the disk cannot do this",
}


def reason(error: OSError) -> str:
    """Why a call failed, in words for the crew."""
    return _REASONS.get(error.errno or 0, f"the system refused (error {error.errno})")


def is_full(error: OSError) -> bool:
    """True where making room would help."""
    return error.errno in (errno.ENOSPC, errno.EDQUOT)


def is_safe_name(name: str) -> bool:
    """True where ``name`` is a legal file or folder name on every system, and no path."""
    return re.fullmatch(_SAFE_NAME, name) is not None and re.fullmatch(_DEVICE_NAMES, name) is None


class Identity(NamedTuple):
    """Which file this is, and how long: enough to notice that another program was at it.

    A tuple, for two of them are made for every row that is written.
    """

    size: int  # bytes
    inode: int
    device: int
    links: int
    is_regular: bool
    is_folder: bool


class Disk:
    """All file calls. Paths are absolute or relative to the working folder; sizes are bytes."""

    # --- folders and names ----------------------------------------------------------------

    def make_folder(self, path: Path) -> None:
        """Make one folder; it must not exist yet."""
        path.mkdir()

    def list_folder(self, path: Path) -> list[str]:
        """The names in a folder, sorted."""
        return sorted(os.listdir(path))  # noqa: PTH208  names are wanted, not paths

    def sync_folder(self, path: Path) -> str:
        """Make the folder's entries safe. Returns why that is impossible here, empty when done."""
        if not hasattr(os, "O_DIRECTORY"):
            return "this system cannot sync a folder"
        fd = os.open(path, os.O_RDONLY | _flag("O_DIRECTORY") | _flag("O_CLOEXEC"))
        try:
            os.fsync(fd)
        except OSError as error:
            if error.errno not in _NO_FOLDER_SYNC:
                raise
            return "this medium cannot sync a folder"
        finally:
            os.close(fd)
        return ""

    def rename(self, old: Path, new: Path) -> None:
        """Give a file its final name; a file of that name is replaced."""
        os.replace(old, new)  # noqa: PTH105  the one call every system promises to be atomic

    def unlink(self, path: Path) -> None:
        """Take a file's name away."""
        path.unlink()

    def path_identity(self, path: Path) -> Identity | None:
        """What stands under ``path`` now, links not followed; None where nothing does."""
        try:
            return _identity(os.stat(path, follow_symlinks=False))  # noqa: PTH116  beside fstat
        except FileNotFoundError:
            return None

    def is_folder(self, path: Path) -> bool:
        """Whether a folder stands there; a link to one counts. What cannot be looked at is none."""
        return os.path.isdir(path)  # noqa: PTH112  the other one raises where a name is too long

    def is_file(self, path: Path) -> bool:
        """Whether a plain file stands there; a link to one counts. What cannot be looked at is none."""
        return os.path.isfile(path)  # noqa: PTH113

    # --- open files -----------------------------------------------------------------------

    def create(self, path: Path) -> int:
        """A new file, open to append and read back; the name must be free."""
        return os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR | os.O_APPEND | _careful(), 0o644)

    def open_append(self, path: Path) -> int:
        """A file that exists, open to append and read back."""
        _refuse_link(path)
        return os.open(path, os.O_RDWR | os.O_APPEND | _careful())

    def open_lock(self, path: Path) -> int:
        """The side file that carries the lock, made where it is missing."""
        _refuse_link(path)
        return os.open(path, os.O_CREAT | os.O_RDWR | _careful(), 0o644)

    def open_read(self, path: Path) -> int:
        """A file to read only. Never waits for the other end of a pipe."""
        _refuse_link(path)
        return os.open(path, os.O_RDONLY | _careful())

    def close(self, fd: int) -> None:
        os.close(fd)

    def close_quietly(self, fd: int) -> None:
        """Close a file whose every promise was kept, or given up, before."""
        with suppress(OSError):
            self.close(fd)

    def identity(self, fd: int) -> Identity:
        """Which file an open descriptor stands for."""
        return _identity(os.fstat(fd))

    def write(self, fd: int, data: bytes) -> int:
        """One write. Returns how many bytes were taken, which may be fewer than given."""
        return os.write(fd, data)

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        """Up to ``size`` bytes from ``offset``; empty at the end."""
        if hasattr(os, "pread"):
            return bytes(os.pread(fd, size, offset))
        os.lseek(fd, offset, os.SEEK_SET)
        return os.read(fd, size)

    def sync_data(self, fd: int) -> None:
        """Bytes and length to the medium. After an error the descriptor must not be trusted again."""
        getattr(os, "fdatasync", os.fsync)(fd)

    def truncate(self, fd: int, size: int) -> None:
        """Cut the file to ``size`` bytes."""
        os.ftruncate(fd, size)

    def lock(self, fd: int) -> bool:
        """Take the exclusive lock without waiting; False where another program holds it."""
        try:
            fcntl = _module("fcntl")
            if fcntl is not None:
                fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            else:
                _lock_byte(fd, "LK_NBLCK")
        except OSError as error:
            if error.errno in _LOCK_TAKEN:
                return False
            raise
        return True

    def unlock(self, fd: int) -> None:
        """Give the lock back."""
        fcntl = _module("fcntl")
        if fcntl is not None:
            fcntl.flock(fd, fcntl.LOCK_UN)
        else:
            _lock_byte(fd, "LK_UNLCK")

    # --- whole files, made of the calls above ---------------------------------------------

    def read_file(self, path: Path, max_bytes: int) -> bytes:
        """A whole file, untouched by reading it.

        Raises:
            BadInputError: missing, not a regular file, a link, larger than ``max_bytes`` or
                unreadable; in words, with the path.
        """
        try:
            fd = self.open_read(path)
            try:
                found = self.identity(fd)
                if not found.is_regular:
                    what = "it is a folder" if found.is_folder else "it is not a regular file"
                    raise unreadable(path, what)
                data = self.read_span(fd, 0, max_bytes + 1)
            finally:
                self.close(fd)
        except OSError as error:
            raise unreadable(path, reason(error)) from error
        if len(data) > max_bytes:
            raise unreadable(path, f"it is larger than the {max_bytes:,} bytes allowed")
        return data

    def read_span(self, fd: int, begin: int, end: int) -> bytes:
        """The bytes from ``begin`` up to ``end``; fewer where the file ends before."""
        pieces: list[bytes] = []
        while begin < end and (piece := self.read_at(fd, min(CHUNK, end - begin), begin)):
            pieces.append(piece)
            begin += len(piece)
        return b"".join(pieces)

    def write_whole(self, path: Path, data: bytes) -> None:
        """A whole file at once: whoever looks sees the old one or the new one, after a power cut too.

        Raises:
            OSError: nothing stands under ``path`` that was not there before, or all of it.
        """
        temporary = path.with_name(f".{path.name}.tmp")
        if self.path_identity(temporary) is not None:
            self.unlink(temporary)
        fd = self.create(temporary)
        try:
            try:
                self._write_all(fd, data)
                self.sync_data(fd)
            finally:
                self.close(fd)
            self.rename(temporary, path)
        except OSError:
            with suppress(OSError):
                self.unlink(temporary)
            raise
        self.sync_folder(path.parent)

    def _write_all(self, fd: int, data: bytes) -> None:
        rest = memoryview(data)
        while rest:
            taken = self.write(fd, bytes(rest))
            if taken == 0:
                raise OSError(errno.ENOSPC, "nothing was taken")
            rest = rest[taken:]

    def filesystem_note(self, path: Path, mounts: Path = Path("/proc/self/mountinfo")) -> str:
        """A sentence where the medium cannot promise what this program promises, else empty."""
        kind = ""
        longest = -1
        try:
            table = self.read_file(mounts, 1_048_576).decode(errors="replace")
        except BadInputError:
            return ""  # no such table on this system: nothing is known
        place = Path(os.path.realpath(path))  # resolve() may raise on a loop of links
        for line in table.splitlines():
            before, _, after = line.partition(" - ")
            fields = before.split(" ")
            if not after or len(fields) < 5:
                continue
            mount = Path(re.sub(r"\\([0-7]{3})", lambda code: chr(int(code[1], 8)), fields[4]))
            if place.is_relative_to(mount) and len(mount.parts) >= longest:
                longest = len(mount.parts)
                kind = after.split(" ", 1)[0]
        if re.fullmatch(_WEAK_SYSTEMS, kind) is None:
            return ""
        return (
            f"{path} is on a {kind} medium: "
            "this medium cannot promise that a saved reading survives a power cut."
        )


def unreadable(path: Path, why: str) -> BadInputError:
    """The error for a file that cannot be taken in."""
    remedy = "Check the path, or use a plain file in its place."
    problem = Problem(f"The file cannot be read: {why}.", remedy, file=str(path))
    return BadInputError(problem.what, where=str(path), remedy=remedy, problems=(problem,))


def _identity(found: os.stat_result) -> Identity:
    return Identity(
        size=found.st_size,
        inode=found.st_ino,
        device=found.st_dev,
        links=found.st_nlink,
        is_regular=stat.S_ISREG(found.st_mode),
        is_folder=stat.S_ISDIR(found.st_mode),
    )


def _flag(name: str) -> int:
    return int(getattr(os, name, 0))


def _careful() -> int:
    """Not through links, not waiting on pipes, not inherited, bytes as they are."""
    names = ("O_NOFOLLOW", "O_NONBLOCK", "O_CLOEXEC", "O_NOCTTY", "O_BINARY", "O_NOINHERIT")
    return sum(_flag(name) for name in names)


def _refuse_link(path: Path) -> None:
    """What O_NOFOLLOW does, where the system has no such flag."""
    if not hasattr(os, "O_NOFOLLOW") and path.is_symlink():
        raise OSError(errno.ELOOP, "a link")


def _module(name: str) -> Any:
    """A module that only some systems have, else None."""
    try:
        return importlib.import_module(name)
    except ImportError:
        return None


def _lock_byte(fd: int, mode: str) -> None:
    msvcrt = importlib.import_module("msvcrt")
    os.lseek(fd, 0, os.SEEK_SET)
    msvcrt.locking(fd, getattr(msvcrt, mode), 1)
