"""Append events to an open trail: one write, one sync, one read back, and only then an answer.

A sync that failed is never tried again, because the system may report success for data it has
dropped (fsync(2); Rebello et al., "Can Applications Recover from fsync Failures?", USENIX ATC
2020): the writer is finished then, and so is it once another program was at the file.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from fieldtui.core.trail.events import Event
from fieldtui.errors import DiskFullError, MediumFailedError, NotSavedError, WrongUseError
from fieldtui.files.disk import Disk, is_full, reason
from fieldtui.files.session.lock import SessionLock
from fieldtui.files.trail.rows import format_row, format_time, time_in
from fieldtui.files.trail.scan import Scan

_WRITE_TRIES = 3  # a write that a signal cut off before it began may be tried again
_ELSEWHERE = "Nothing recorded before is lost. Go on in a new session on another disk or stick."
MAKE_ROOM = "Make room on the disk, then key it again. Nothing recorded before is lost."


class TrailWriter:
    """The open trail of one session. Not for use from two threads at once."""

    def __init__(self, disk: Disk, path: Path, fd: int, lock: SessionLock, scan: Scan) -> None:
        self._disk = disk
        self._path = path
        self._fd = fd
        self._lock = lock
        self._end = scan.good_end
        self._trouble = ""  # why this writer is finished
        self._last_time = format_time(scan.events[-1].time)
        self.rows = scan.rows
        self.seal = scan.last_link

    @property
    def is_failed(self) -> bool:
        """True once the file may not be written to any more."""
        return bool(self._trouble)

    @property
    def end(self) -> int:
        """How many bytes of the file are acknowledged rows."""
        return self._end

    @property
    def last_time(self) -> str:
        """The time of the last row, as it stands there; the next may not be earlier."""
        return self._last_time

    def append(self, event: Event) -> int:
        """Put an event on disk for good and return its row number.

        Raises:
            BadInputError: a field may not stand in the trail. Nothing was written.
            WrongUseError: the event is earlier than the row before. Nothing was written.
            DiskFullError: no room. The file is as it was; try again once there is.
            MediumFailedError: the file can no longer be trusted; so will every later call say.
            NotSavedError: the system broke the write off. The file is as it was; try again.
        """
        if self._trouble:
            raise self._failure(self._trouble)
        line, link = format_row(self.rows + 1, event, self.seal)
        time = time_in(line)
        if time < self._last_time:
            raise WrongUseError(
                f"The event is timed {time}, before the last row at {self._last_time}.",
                where=str(self._path),
                remedy="Put the clock's step on record first, at a time that is not earlier.",
            )
        self._put(line)
        self._end += len(line)
        self._last_time = time
        self.rows += 1
        self.seal = link
        return self.rows

    def close(self) -> None:
        """Give file and lock back. Every row that was acknowledged is safe already."""
        if self._fd >= 0:
            self._disk.close_quietly(self._fd)
            self._fd = -1
            self._lock.release()
            self._trouble = self._trouble or "The session is closed in this program"

    def rehearsal(self) -> TrailWriter:
        """A writer that refuses the events that this one would, one after the other, and writes nothing."""
        return _Rehearsal(self)

    def _put(self, line: bytes) -> None:
        self._require_ours()
        self._write(line)
        self._sync()
        self._compare(line)

    def _require_ours(self) -> None:
        """The path still leads to this file, and nobody else has changed its length or its names."""
        try:
            ours = self._disk.identity(self._fd)
            named = self._disk.path_identity(self._path)
        except OSError as error:
            raise self._fail(f"The trail cannot be reached: {reason(error)}") from None
        if named is None:
            raise self._fail("The trail was deleted or moved by another program")
        if (named.device, named.inode) != (ours.device, ours.inode):
            raise self._fail("The trail was replaced by another program")
        if ours.size != self._end:
            raise self._fail("The trail was changed by another program")
        if ours.links != 1:
            raise self._fail("The trail got a second name, under which another program can change it")

    def _write(self, line: bytes) -> None:
        for _ in range(_WRITE_TRIES):
            try:
                taken = self._disk.write(self._fd, line)
            except InterruptedError:
                continue
            except OSError as error:
                if not is_full(error):
                    raise self._fail(f"The trail cannot be written: {reason(error)}") from None
                taken = 0
            if taken == len(line):
                return
            self._cut_back()
            raise DiskFullError(
                "NOT SAVED: the disk is full.", where=str(self._path), remedy=MAKE_ROOM
            ) from None
        self._cut_back()
        raise NotSavedError(
            "NOT SAVED: the system interrupted the write.",
            where=str(self._path),
            remedy="Key it again. Nothing recorded before is lost.",
        )

    def _cut_back(self) -> None:
        try:
            self._disk.truncate(self._fd, self._end)
            self._disk.sync_data(self._fd)
        except OSError as error:
            raise self._fail(
                f"The disk took only part of a row and it could not be cut off: {reason(error)}"
            ) from None

    def _sync(self) -> None:
        try:
            self._disk.sync_data(self._fd)
        except OSError as error:
            self._take_back()
            raise self._fail(f"The disk did not confirm the row: {reason(error)}") from None

    def _compare(self, line: bytes) -> None:
        try:
            found = self._disk.read_at(self._fd, len(line) + 1, self._end)
        except OSError as error:
            self._take_back()
            raise self._fail(f"The row cannot be read back: {reason(error)}") from None
        if found != line:
            raise self._fail("The row reads back other than it was written")

    def _take_back(self) -> None:
        """Cut a row off that nobody is told of.

        Whoever opens the trail next would take it for saved, and it may stand in memory only. Cutting
        promises nothing; it makes the file say what the crew was told.
        """
        with suppress(OSError):
            self._disk.truncate(self._fd, self._end)

    def _fail(self, trouble: str) -> MediumFailedError:
        """Finish this writer for good."""
        self._trouble = trouble
        return self._failure(trouble)

    def _failure(self, trouble: str) -> MediumFailedError:
        return MediumFailedError(f"NOT SAVED: {trouble}.", where=str(self._path), remedy=_ELSEWHERE)


class _Rehearsal(TrailWriter):
    """What :meth:`TrailWriter.rehearsal` answers. File and lock stay with the writer."""

    def __init__(self, writer: TrailWriter) -> None:
        self._path, self._fd = writer._path, -1
        self._end, self._trouble, self._last_time = writer._end, writer._trouble, writer._last_time
        self.rows, self.seal = writer.rows, writer.seal

    def close(self) -> None:
        """Nothing is held."""

    def _put(self, line: bytes) -> None:
        """The row would stand here."""
