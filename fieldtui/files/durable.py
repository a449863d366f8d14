"""Create, open and read sessions so that what was shown as recorded outlives a power cut.

A session exists once ``session.toml`` stands in its folder, which is the last step of creating
it. A torn end is copied to a side file before it is cut; anything else that is not as it was
written is left alone.

Sources: fsync(2), open(2), rename(2); SQLite documentation, "How To Corrupt An SQLite Database
File"; Pillai et al., "All File Systems Are Not Created Equal", OSDI 2014.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from fieldtui.core.trail.events import Recovered, Started
from fieldtui.errors import (
    BadInputError,
    DiskFullError,
    MediumFailedError,
    NotSavedError,
    Problem,
    SessionDamagedError,
    WrongUseError,
)
from fieldtui.files.disk import CHUNK, Disk, is_full, is_safe_name, reason
from fieldtui.files.session.lock import LOCK_NAME, SessionLock, lock_session
from fieldtui.files.trail.rows import HEADER, format_row
from fieldtui.files.trail.scan import TRAIL_NAME, Scan, scan_trail
from fieldtui.files.trail.writer import TrailWriter

__all__ = [
    "LOCK_NAME",
    "SESSION_NAME",
    "TRAIL_NAME",
    "Recovery",
    "Scan",
    "SessionFiles",
    "SessionLock",
    "TrailWriter",
    "create_session",
    "lock_session",
    "open_session",
    "read_session_files",
    "unfinished_sessions",
]

SESSION_NAME = "session.toml"
MAX_SESSION = 4_194_304  # bytes of session.toml; it carries the whole route
MAX_TRAIL = 67_108_864  # bytes of trail.csv: some 500,000 rows, where a long survey has a thousand

_SIDE_NAME = re.compile(r"torn-([0-9]{1,12})-[0-9a-f]{12}\.bin", re.ASCII)
_MAX_SIDE = 4096  # bytes of a torn end


# --- create --------------------------------------------------------------------------------


def create_session(
    disk: Disk, parent: Path, session_id: str, session_toml: bytes, first_link: str, started: Started
) -> TrailWriter:
    """Make the folder of a new session. It exists for everyone once this returns.

    Args:
        parent: the folder of all sessions; made where it is missing.
        session_id: the new folder's name.
        session_toml: the bytes of ``session.toml``; ``started.ref`` is their SHA-256.
        first_link: where the chain begins.
        started: the first row.

    Raises:
        WrongUseError: the name is taken or not a name, or the digest is not that of the bytes.
        BadInputError: the first row may not stand in a trail.
        NotSavedError: the medium refused a step; what was begun is no session.
    """
    folder = parent / session_id
    if not is_safe_name(session_id):
        raise WrongUseError(
            f"{session_id!r} cannot be the name of a folder on every system.",
            where=str(parent),
            remedy="Use letters, digits, points, hyphens and underscores only.",
        )
    if started.ref != sha256(session_toml).hexdigest():
        raise WrongUseError(
            "The first row does not carry the digest of session.toml.",
            where=str(folder),
            remedy="Start the session again.",
        )
    line, _ = format_row(1, started, first_link)
    try:
        _make_folders(disk, folder)
        lock = lock_session(disk, folder)
        try:
            return _create_files(disk, folder, session_toml, HEADER + line, first_link, lock)
        except (OSError, NotSavedError):
            lock.release()
            raise
    except FileExistsError:
        raise WrongUseError(
            "A session of this name exists already.", where=str(folder), remedy="Take the next free number."
        ) from None
    except OSError as error:
        failure = DiskFullError if is_full(error) else MediumFailedError
        raise failure(
            f"The session could not be started: {reason(error)}.",
            where=str(folder),
            remedy="Make room or use another disk or stick, then start again. Nothing was recorded yet.",
        ) from None


def _make_folders(disk: Disk, folder: Path) -> None:
    parent = folder.parent
    if disk.path_identity(parent) is None:
        with suppress(FileExistsError):  # another program was faster
            disk.make_folder(parent)
        disk.sync_folder(parent.parent)
    disk.make_folder(folder)
    disk.sync_folder(parent)


def _create_files(
    disk: Disk, folder: Path, session_toml: bytes, head: bytes, first_link: str, lock: SessionLock
) -> TrailWriter:
    path = folder / TRAIL_NAME
    fd = disk.create(path)
    try:
        if disk.write(fd, head) != len(head):
            raise DiskFullError(
                "The session could not be started: the disk is full.",
                where=str(folder),
                remedy="Make room, then start again. Nothing was recorded yet.",
            )
        disk.sync_data(fd)
        if disk.read_at(fd, len(head) + 1, 0) != head:
            raise MediumFailedError(
                "The session could not be started: the first row reads back other than it was written.",
                where=str(path),
                remedy="Start again on another disk or stick.",
            )
        # Before the name session.toml: it must never appear without the trail beside it.
        disk.sync_folder(folder)
        disk.write_whole(folder / SESSION_NAME, session_toml)
    except (OSError, NotSavedError):
        disk.close_quietly(fd)
        raise
    return TrailWriter(disk, path, fd, lock, scan_trail(head, first_link=first_link))


# --- open ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Recovery:
    """A torn end that was set aside and is not yet on record as a :class:`Recovered` event."""

    file: str  # the side file's name, beside the trail
    offset: int  # bytes; where the torn end stood
    length: int  # bytes
    sha256: str  # of the side file, 64 hex digits

    @property
    def note(self) -> str:
        """The facts in words, for the event's note."""
        return f"{self.length} bytes at offset {self.offset} set aside, SHA-256 {self.sha256}"

    def event(self, time: datetime, by: str) -> Recovered:
        """The event that puts this on record; the caller appends it."""
        return Recovered(time=time, by=by, note=self.note, ref=self.file)


def open_session(
    disk: Disk, folder: Path, lock: SessionLock, session_toml: bytes, first_link: str
) -> tuple[TrailWriter, Scan, Recovery | None]:
    """Open a session's trail to write. What the scan holds is safe on the medium.

    The writer owns ``lock`` from here on; where this raises, the caller releases it. Where the
    sync fails here, trying again proves little: the system may have dropped what it could not
    write. Copy the folder to another medium first.

    Args:
        session_toml: the bytes of ``session.toml`` as read.
        first_link: where the chain begins, as said there.

    Raises:
        SessionDamagedError: the trail is not as it was written; it was left untouched.
        MediumFailedError: the medium refused a step. Nothing is lost by that.
    """
    path = folder / TRAIL_NAME
    try:
        fd = disk.open_append(path)
        try:
            _require_plain(disk, fd, path)
            digest = sha256(session_toml).hexdigest()
            scan = scan_trail(_chunks(disk, fd), first_link=first_link, digest=digest)
            if scan.problems:
                raise _damaged(path, scan)
            if scan.torn:
                _set_aside(disk, folder, fd, scan)
            disk.sync_data(fd)
            # A crash may have come between the naming of session.toml and the sync of its name.
            disk.sync_folder(folder)
            recovery = _find_recovery(disk, folder, scan)
        except (OSError, SessionDamagedError):
            disk.close_quietly(fd)
            raise
    except OSError as error:
        failure = DiskFullError if is_full(error) else MediumFailedError
        raise failure(
            f"The session cannot be opened for writing: {reason(error)}.",
            where=str(path),
            remedy="Nothing recorded is lost. Review it, or open a copy of the folder on another disk.",
        ) from None
    return TrailWriter(disk, path, fd, lock, scan), scan, recovery


def _require_plain(disk: Disk, fd: int, path: Path) -> None:
    found = disk.identity(fd)
    why = ""
    if not found.is_regular:
        why = "is not a regular file"
    elif found.links != 1:
        why = "has a second name, under which another program can change it"
    elif found.size > MAX_TRAIL:
        why = f"is larger than the {MAX_TRAIL:,} bytes allowed"
    if why:
        what, remedy = f"The trail {why}.", "Copy the session's folder and open the copy."
        problem = Problem(what, remedy, file=TRAIL_NAME)
        raise SessionDamagedError(what, where=str(path), remedy=remedy, problems=(problem,))


def _chunks(disk: Disk, fd: int) -> Iterator[bytes]:
    offset = 0
    while piece := disk.read_at(fd, CHUNK, offset):
        yield piece
        offset += len(piece)


def _damaged(path: Path, scan: Scan) -> SessionDamagedError:
    first = scan.problems[0]
    return SessionDamagedError(
        f"The trail is not as it was written: {first.what}",
        where=f"{path}:{first.line}" if first.line is not None else str(path),
        remedy="It was left untouched and can be reviewed. Go on in a new session.",
        problems=scan.problems,
    )


def _set_aside(disk: Disk, folder: Path, fd: int, scan: Scan) -> None:
    """Keep the torn end in a side file, and only then cut it off."""
    name = f"torn-{scan.good_end}-{sha256(scan.torn).hexdigest()[:12]}.bin"
    disk.write_whole(folder / name, scan.torn)
    disk.truncate(fd, scan.good_end)


def _find_recovery(disk: Disk, folder: Path, scan: Scan) -> Recovery | None:
    """The first side file that no event names: of this opening, or of one that was cut off itself."""
    known = {event.ref for event in scan.events if isinstance(event, Recovered)}
    for name in disk.list_folder(folder):
        found = _SIDE_NAME.fullmatch(name)
        if found is None or name in known:
            continue
        try:
            data = disk.read_file(folder / name, _MAX_SIDE)
        except BadInputError:
            continue  # not one of ours: those are small plain files
        return Recovery(name, int(found[1]), len(data), sha256(data).hexdigest())
    return None


# --- look only -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SessionFiles:
    """A session's two files as they stood when they were read."""

    session_toml: bytes
    trail: bytes

    def scan(self, first_link: str) -> Scan:
        """The trail, held against ``session.toml`` and the link said there."""
        return scan_trail(self.trail, first_link=first_link, digest=sha256(self.session_toml).hexdigest())


def read_session_files(disk: Disk, folder: Path) -> SessionFiles:
    """Read a session to review it: no lock, nothing made, nothing changed, writers undisturbed.

    Raises:
        BadInputError: a file is missing, no plain file, or too large.
    """
    return SessionFiles(
        disk.read_file(folder / SESSION_NAME, MAX_SESSION), disk.read_file(folder / TRAIL_NAME, MAX_TRAIL)
    )


def unfinished_sessions(disk: Disk, sessions_folder: Path) -> list[Path]:
    """Folders whose creation never came to its end, or is at this moment under way elsewhere.

    Raises:
        BadInputError: the folder cannot be read.
    """
    try:
        folders = [sessions_folder / name for name in disk.list_folder(sessions_folder)]
        return [
            folder
            for folder in folders
            if (found := disk.path_identity(folder)) is not None
            and found.is_folder
            and disk.path_identity(folder / SESSION_NAME) is None
        ]
    except OSError as error:
        what = f"The folder of sessions cannot be read: {reason(error)}."
        raise BadInputError(what, where=str(sessions_folder), remedy="Check the path.") from None
