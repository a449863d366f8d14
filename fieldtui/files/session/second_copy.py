"""A session's two files once more, on another medium, a moment behind.

The copy holds the same bytes, so it is a session like any other: it can be verified, reviewed and,
where the first medium is lost, gone on with. It takes only rows that are safe on the first medium,
and nothing that happens to it can hold up or undo one of those.

What a failed sync leaves in the system's memory proves nothing (fsync(2); Rebello et al., USENIX ATC
2020), so after one the copy's trail is made anew. What stood there before is kept beside it.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from fieldtui.errors import BadInputError, CopyFailedError, NotSavedError, SessionInUseError
from fieldtui.files.disk import Disk, reason
from fieldtui.files.durable import MAX_SESSION, MAX_TRAIL, SESSION_NAME
from fieldtui.files.session.lock import SessionLock, lock_session
from fieldtui.files.trail.scan import TRAIL_NAME


class SecondCopy:
    """Keeps ``target`` the same as ``source``. Not for use from two threads at once.

    Args:
        source: the session's folder.
        target: the copy's folder; its parent, the other medium's folder, must be there.
    """

    def __init__(self, disk: Disk, source: Path, target: Path) -> None:
        self._disk = disk
        self._source = source
        self.target = target
        self._fd = -1
        self._lock: SessionLock | None = None  # nobody goes on in the copy while it is being kept
        self._device: int | None = None  # where the copy was begun
        self.is_on_same_disk = False  # known once the copy is begun
        self._copied = 0  # bytes that are safe over there
        self._distrusted = False  # a sync failed over there: what reads back may be in memory only

    def catch_up(self, end: int) -> None:
        """Bring the copy to the first ``end`` bytes of the trail, all of them safe over here.

        Raises:
            CopyFailedError: why not; the next call begins by comparing afresh.
        """
        try:
            if self._fd < 0 or not self._is_ours():
                self._begin(end)
            if self._copied < end:
                self._carry(end)
        except OSError as error:
            self.close()
            raise self._failure(reason(error)) from None
        except (BadInputError, CopyFailedError, NotSavedError, SessionInUseError) as error:
            self.close()
            raise self._failure(error.what.rstrip(".")) from None

    def close(self) -> None:
        """Let the copy go; what was carried over is safe there."""
        if self._fd >= 0:
            self._disk.close_quietly(self._fd)
            self._fd = -1
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    def _is_ours(self) -> bool:
        """The path still leads to the file that is open, and only this program has made it longer."""
        ours = self._disk.identity(self._fd)
        named = self._disk.path_identity(self.target / TRAIL_NAME)
        is_same = named is not None and (named.device, named.inode) == (ours.device, ours.inode)
        if not is_same or ours.size != self._copied:
            self.close()
            return False
        return True

    def _begin(self, end: int) -> None:
        """Make the copy, or find out how far the one that is there has come."""
        self.close()
        medium = self._find_medium()
        session = self._disk.read_file(self._source / SESSION_NAME, MAX_SESSION)
        path, trail = self.target / SESSION_NAME, self.target / TRAIL_NAME
        has_session = self._disk.path_identity(path) is not None
        if not has_session and self._device not in (None, medium):
            # A stick that was pulled out leaves an empty folder on the first disk.
            raise CopyFailedError("another medium is there now")
        if self._disk.path_identity(self.target) is None:
            self._disk.make_folder(self.target)
            self._disk.sync_folder(self.target.parent)
        if has_session and self._disk.read_file(path, MAX_SESSION) != session:
            raise CopyFailedError("another session of this name is there")
        self._lock = lock_session(self._disk, self.target)
        self._begin_trail(trail, end)
        if not has_session:  # last, as for the session itself
            self._disk.write_whole(path, session)
        self._device = medium

    def _find_medium(self) -> int:
        """The device that the copy goes to."""
        medium = self._disk.path_identity(self.target.parent)
        if medium is None or not medium.is_folder:
            raise CopyFailedError("its folder is not there; put the medium in place")
        home = self._disk.path_identity(self._source.parent)
        if home is not None and (home.device, home.inode) == (medium.device, medium.inode):
            raise CopyFailedError("it would lie where the session itself lies; give another folder")
        self.is_on_same_disk = home is not None and home.device == medium.device
        return medium.device

    def _begin_trail(self, trail: Path, end: int) -> None:
        found = self._disk.path_identity(trail)
        wanted = self._rows(0, end)
        if found is not None:
            there = self._disk.read_file(trail, MAX_TRAIL)
            if self._distrusted or not wanted.startswith(there):
                name = f"differs-{len(there)}-{sha256(there).hexdigest()[:12]}.csv"
                self._disk.rename(trail, self.target / name)
                found = None
        if found is None:
            self._disk.write_whole(trail, wanted)
            self._distrusted = False
        self._fd = self._disk.open_append(trail)
        self._copied = self._disk.identity(self._fd).size
        self._sync()  # bytes of an earlier run may never have been confirmed

    def _carry(self, end: int) -> None:
        """Append what is missing; a medium that takes half a row takes the rest next time."""
        piece = self._rows(self._copied, end)
        taken = self._disk.write(self._fd, piece)
        if taken != len(piece):
            self._disk.truncate(self._fd, self._copied)
            self._sync()
            raise CopyFailedError("the disk is full")
        self._sync()
        if self._disk.read_at(self._fd, len(piece) + 1, self._copied) != piece:
            self._distrusted = True
            raise CopyFailedError("it reads back other than it was written")
        self._copied = end

    def _sync(self) -> None:
        try:
            self._disk.sync_data(self._fd)
        except OSError:
            self._distrusted = True
            raise

    def _rows(self, begin: int, end: int) -> bytes:
        """Bytes of the session's own trail."""
        fd = self._disk.open_read(self._source / TRAIL_NAME)
        try:
            rows = self._disk.read_span(fd, begin, end)
        finally:
            self._disk.close_quietly(fd)
        if len(rows) < end - begin:
            raise CopyFailedError("the session's own trail is shorter than what was recorded")
        return rows

    def _failure(self, why: str) -> CopyFailedError:
        return CopyFailedError(
            f"The second copy failed: {why}.",
            where=str(self.target),
            remedy="The session itself is safe. The copy is tried again after every reading.",
        )
