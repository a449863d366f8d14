"""One writer a session: a lock on a side file, never on the trail itself.

A lock on the trail would keep reviewers out where locks are mandatory (flock(2): SMB).
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from fieldtui.errors import MediumFailedError, SessionInUseError
from fieldtui.files.disk import Disk, reason

LOCK_NAME = ".lock"


class SessionLock:
    """The right to write a session, held until :meth:`release` or the end of the program."""

    def __init__(self, disk: Disk, fd: int) -> None:
        self._disk = disk
        self._fd: int | None = fd

    def release(self) -> None:
        """Give the right back. Closing the file does it too, whatever unlocking says."""
        fd, self._fd = self._fd, None
        if fd is not None:
            with suppress(OSError):
                self._disk.unlock(fd)
            self._disk.close_quietly(fd)


def lock_session(disk: Disk, folder: Path) -> SessionLock:
    """Take the right to write the session in ``folder``, without waiting.

    Raises:
        SessionInUseError: another program has it.
        MediumFailedError: the folder or medium cannot carry a lock.
    """
    path = folder / LOCK_NAME
    try:
        fd = disk.open_lock(path)
    except OSError as error:
        raise MediumFailedError(
            f"The session cannot be opened for writing: {reason(error)}.",
            where=str(path),
            remedy="Check that the session's folder is there and may be written to, or only review it.",
        ) from None
    try:
        if not disk.identity(fd).is_regular:
            raise MediumFailedError(
                "The session's lock is not a regular file.",
                where=str(path),
                remedy="Take away what stands there in its place.",
            )
        if not disk.lock(fd):
            raise SessionInUseError(
                "Another program has this session open for writing.",
                where=str(folder),
                remedy="Go on in that window, or leave it there first. To look at it meanwhile: "
                f"v on the start screen, or fieldtui review {folder}",
            )
    except OSError as error:
        disk.close_quietly(fd)
        raise MediumFailedError(
            f"The session cannot be locked: {reason(error)}.",
            where=str(path),
            remedy="Two programs could write at once here. Keep the session on a local disk.",
        ) from None
    except (MediumFailedError, SessionInUseError):
        disk.close_quietly(fd)
        raise
    return SessionLock(disk, fd)
