"""A disk in memory that can lose its power at any moment.

The abstract rules are those of POSIX without any file system's kindness: a write is safe after
the file's sync, a name after its folder's sync, names not yet synced may survive in any subset,
and what was not synced of a file may be there up to any byte, as NUL bytes with the new length,
as garbage, or in any choice of 512-byte sectors. A failed sync drops the data and forgets that
it did (Rebello et al., USENIX ATC 2020).
"""

from __future__ import annotations

import copy
import errno
import itertools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.trail.events import Event, Noted, ReadingTaken, Started
from fieldtui.core.verdict.judging import Verdict
from fieldtui.files.disk import Disk, Identity

SESSIONS = Path("/sessions")
SESSION_ID = "2026-05-04_zx-41_wing_01"
FOLDER = SESSIONS / SESSION_ID
# Longer than two sectors, as a real one is.
TOML = b'format = 1\nid = "2026-05-04_zx-41_wing_01"\n' + b"".join(b"# point %03d\n" % n for n in range(110))
FIRST_LINK = "0123456789abcdef" * 2
START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
SECTOR = 512
MOST_CHOICES = 6  # sectors of one write of which every choice is looked at

Content = bytes
Entries = dict[str, int]


def started() -> Started:
    return Started(time=START, by="rec", ref=sha256(TOML).hexdigest())


def reading(number: int, note: str = "") -> ReadingTaken:
    return ReadingTaken(
        time=START + timedelta(seconds=number),
        by="rec",
        record=number,
        point=f"SW-{number:02}",
        reading=Resistance(Decimal("1.50"), Unit.MOHM),
        verdict=Verdict.PASS,
        run=1,
        number=number,
        note=note,
    )


def noted(second: int, text: str) -> Noted:
    return Noted(time=START + timedelta(seconds=second), by="rec", note=text)


@dataclass(frozen=True)
class Write:
    """Bytes on their way to the medium."""

    offset: int
    data: bytes

    def on(self, content: Content) -> Content:
        content = content.ljust(self.offset, b"\0")
        return content[: self.offset] + self.data + content[self.offset + len(self.data) :]

    def torn(self, content: Content, step: int) -> Iterator[Content]:
        """Every way in which this write may have reached the medium in part."""
        size = len(self.data)
        for cut in range(0, size + 1, step):
            yield Write(self.offset, self.data[:cut]).on(content)
            yield Write(self.offset, self.data[:cut] + b"\0" * (size - cut)).on(content)
            yield Write(self.offset, self.data[:cut] + b"\xa5" * (size - cut)).on(content)
            yield Write(self.offset, b"\0" * cut + self.data[cut:]).on(content)
        first = self.offset // SECTOR
        last = (self.offset + size - 1) // SECTOR
        for kept in _choices(last - first + 1):
            image = bytearray(self.data)
            for sector, is_kept in zip(range(first, last + 1), kept, strict=True):
                if not is_kept:
                    start = max(sector * SECTOR - self.offset, 0)
                    end = min((sector + 1) * SECTOR - self.offset, size)
                    image[start:end] = b"\0" * (end - start)
            yield Write(self.offset, bytes(image)).on(content)


def _choices(sectors: int) -> Iterable[tuple[bool, ...]]:
    """Which sectors reached the medium: every choice of few; of many all but one, and one alone."""
    if sectors <= MOST_CHOICES:
        return itertools.product((True, False), repeat=sectors)
    alone = [tuple(place == n for place in range(sectors)) for n in range(sectors)]
    return [*alone, *(tuple(not each for each in one) for one in alone)]


@dataclass(frozen=True)
class Cut:
    """A shortening on its way to the medium."""

    size: int

    def on(self, content: Content) -> Content:
        return content[: self.size].ljust(self.size, b"\0")

    def torn(self, content: Content, step: int) -> Iterator[Content]:
        yield content


@dataclass
class Inode:
    """One file: what programs see, what the medium holds, and what is between the two."""

    seen: Content = b""
    safe: Content = b""
    pending: list[Write | Cut] = field(default_factory=list)

    def settled(self) -> Content:
        content = self.safe
        for step in self.pending:
            content = step.on(content)
        return content

    def images(self, step: int) -> Iterator[Content]:
        """What a power cut may leave."""
        content = self.safe
        yield content
        for change in self.pending:
            yield from change.torn(content, step)
            content = change.on(content)
            yield content
        for left_out in range(len(self.pending) - 1):  # the medium may write in another order
            content = self.safe
            for place, change in enumerate(self.pending):
                if place != left_out:
                    content = change.on(content)
            yield content


@dataclass
class Folder:
    """One folder's names: as programs see them and as the medium holds them."""

    seen: Entries = field(default_factory=dict)
    safe: Entries = field(default_factory=dict)
    pending: list[tuple[str | None, str | None, int]] = field(default_factory=list)  # (gone, come, inode)

    def change(self, gone: str | None, come: str | None, inode: int) -> None:
        self.pending.append((gone, come, inode))
        self._apply(self.seen, gone, come, inode)

    @staticmethod
    def _apply(entries: Entries, gone: str | None, come: str | None, inode: int) -> None:
        if gone is not None and entries.get(gone) == inode:
            del entries[gone]
        if come is not None:
            entries[come] = inode

    def images(self) -> Iterator[Entries]:
        """Every subset of the pending changes, each in order."""
        for kept in itertools.product((True, False), repeat=len(self.pending)):
            entries = dict(self.safe)
            for change, is_kept in zip(self.pending, kept, strict=True):
                if is_kept:
                    self._apply(entries, *change)
            yield entries


class ModelDisk(Disk):
    """A disk in memory. ``on_change`` is called after every call that changes something."""

    def __init__(self) -> None:
        self.inodes: dict[int, Inode] = {}
        self.folders: dict[Path, Folder] = {Path("/"): Folder()}
        self.open: dict[int, int] = {}
        self.locked: set[int] = set()
        self.next = 100
        self.on_change: Callable[[], None] = lambda: None

    # --- names ---

    def _number(self) -> int:
        self.next += 1
        return self.next

    def make_folder(self, path: Path) -> None:
        if path in self.folders or path.name in self.folders[path.parent].seen:
            raise FileExistsError(errno.EEXIST, "exists")
        self.folders[path.parent].change(None, path.name, 0)
        self.folders[path] = Folder()
        self.on_change()

    def is_folder(self, path: Path) -> bool:
        return path in self.folders

    def list_folder(self, path: Path) -> list[str]:
        if path not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "missing")
        return sorted(self.folders[path].seen)

    def sync_folder(self, path: Path) -> str:
        folder = self.folders[path]
        folder.safe = dict(folder.seen)
        folder.pending.clear()
        self.on_change()
        return ""

    def rename(self, old: Path, new: Path) -> None:
        folder = self.folders[old.parent]
        folder.change(old.name, new.name, folder.seen[old.name])
        self.on_change()

    def unlink(self, path: Path) -> None:
        folder = self.folders[path.parent]
        folder.change(path.name, None, folder.seen[path.name])
        self.on_change()

    def path_identity(self, path: Path) -> Identity | None:
        if path in self.folders:
            return Identity(0, 0, 1, 1, is_regular=False, is_folder=True)
        number = self._find(path)
        return None if number is None else self._identity(number)

    def _find(self, path: Path) -> int | None:
        folder = self.folders.get(path.parent)
        return None if folder is None else folder.seen.get(path.name)

    # --- files ---

    def _open(self, number: int) -> int:
        fd = self._number()
        self.open[fd] = number
        return fd

    def create(self, path: Path) -> int:
        if self._find(path) is not None:
            raise FileExistsError(errno.EEXIST, "exists")
        if path.parent not in self.folders:
            raise FileNotFoundError(errno.ENOENT, "missing")
        number = self._number()
        self.inodes[number] = Inode()
        self.folders[path.parent].change(None, path.name, number)
        self.on_change()
        return self._open(number)

    def open_append(self, path: Path) -> int:
        number = self._find(path)
        if number is None:
            raise FileNotFoundError(errno.ENOENT, "missing")
        return self._open(number)

    open_read = open_append

    def open_lock(self, path: Path) -> int:
        return self.create(path) if self._find(path) is None else self.open_append(path)

    def close(self, fd: int) -> None:
        self.locked.discard(fd)
        del self.open[fd]

    def _identity(self, number: int) -> Identity:
        return Identity(len(self.inodes[number].seen), number, 1, 1, is_regular=True, is_folder=False)

    def identity(self, fd: int) -> Identity:
        return self._identity(self.open[fd])

    def write(self, fd: int, data: bytes) -> int:
        inode = self.inodes[self.open[fd]]
        change = Write(len(inode.seen), data)
        inode.seen = change.on(inode.seen)
        inode.pending.append(change)
        self.on_change()
        return len(data)

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        return self.inodes[self.open[fd]].seen[offset : offset + size]

    def sync_data(self, fd: int) -> None:
        inode = self.inodes[self.open[fd]]
        inode.safe = inode.settled()
        inode.pending.clear()
        self.on_change()

    def drop_pending(self, fd: int) -> None:
        """What a failed sync does: the data is neither on the medium nor waiting any more."""
        self.inodes[self.open[fd]].pending.clear()

    def truncate(self, fd: int, size: int) -> None:
        inode = self.inodes[self.open[fd]]
        inode.seen = inode.seen[:size]
        inode.pending.append(Cut(size))
        self.on_change()

    def lock(self, fd: int) -> bool:
        number = self.open[fd]
        if any(self.open[other] == number for other in self.locked):
            return False
        self.locked.add(fd)
        return True

    def unlock(self, fd: int) -> None:
        self.locked.discard(fd)

    # --- what may be left ---

    def content(self, path: Path) -> bytes | None:
        number = self._find(path)
        return None if number is None else self.inodes[number].seen

    def killed(self) -> ModelDisk:
        """The program is gone, the machine runs on: everything seen is still there, unsynced as before."""
        left = ModelDisk()
        left.inodes = copy.deepcopy(self.inodes)
        left.folders = copy.deepcopy(self.folders)
        left.next = self.next
        return left

    def power_cuts(self, step: int) -> Iterator[ModelDisk]:
        """Every disk a power cut at this moment may leave; ``step`` bytes between two cuts of a write."""
        paths = list(self.folders)
        for entries in itertools.product(*(self.folders[path].images() for path in paths)):
            kept = dict(zip(paths, entries, strict=True))
            numbers = [
                number
                for number in {n for names in kept.values() for n in names.values()}
                if number and self.inodes[number].pending
            ]
            for contents in itertools.product(*(set(self.inodes[n].images(step)) for n in numbers)):
                yield self._left(kept, dict(zip(numbers, contents, strict=True)))

    def _left(self, kept: dict[Path, Entries], contents: dict[int, Content]) -> ModelDisk:
        left = ModelDisk()
        left.next = self.next
        for path, names in kept.items():
            if all(p.name in kept.get(p.parent, {}) for p in (path, *path.parents) if p != Path("/")):
                left.folders[path] = Folder(dict(names), dict(names))
        for number, inode in self.inodes.items():
            content = contents.get(number, inode.safe)
            left.inodes[number] = Inode(content, content)
        return left


@dataclass
class Truth:
    """What the program told people, to hold against what a crash leaves."""

    submitted: list[Event] = field(default_factory=list)
    acknowledged: int = 0
    is_created: bool = False
