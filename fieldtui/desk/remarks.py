"""A reviewer's remarks on a session: read beside it, added to a file of the reviewer's own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from fieldtui.core.remarks import WHOLE, Place, Remark, Since, since, withdrawals
from fieldtui.core.text import is_same_name, normal
from fieldtui.desk.clock import Clock
from fieldtui.desk.reading import ReadSession
from fieldtui.errors import Problem, WrongUseError
from fieldtui.files.disk import Disk, is_safe_name
from fieldtui.files.remarks import append_remark, file_name, read_remarks


@dataclass(frozen=True, slots=True)
class Entry:
    """A remark, where it stands, and what became of it and of the record."""

    file: Path
    remark: Remark
    withdrawn: Remark | None  # the entry that withdrew it
    since: Since

    @property
    def still_holds(self) -> bool:
        return self.withdrawn is None


@dataclass(frozen=True, slots=True)
class Remarks:
    """All remarks on a session, oldest first, and what is wrong with files that cannot be used."""

    entries: tuple[Entry, ...] = ()
    problems: tuple[Problem, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.entries or self.problems)

    def in_folder(self, folder: Path) -> bool:
        """Whether any of them, or of the files that cannot be used, is in ``folder``."""
        files = [*(entry.file for entry in self.entries), *(Path(each.file) for each in self.problems)]
        return any(file.parent == folder for file in files)


NO_REMARKS = Remarks()


def remarks_folder(session: ReadSession, elsewhere: Path | None) -> Path:
    """Where remarks are written: beside the session, or in a folder of its id in another place."""
    if elsewhere is None:
        return session.folder
    name = session.facts.id  # a hostile file may call itself ".."
    return elsewhere / (name if is_safe_name(name) else sha256(name.encode()).hexdigest()[:12])


def find_remarks(disk: Disk, session: ReadSession, elsewhere: Path | None = None) -> Remarks:
    """The remarks beside the session, and those in ``elsewhere`` where that is given.

    A file that cannot be used is told among the problems; the others are read all the same.
    """
    entries: list[Entry] = []
    problems: list[Problem] = []
    for folder in dict.fromkeys((session.folder, remarks_folder(session, elsewhere))):
        for file, remarks, wrong in read_remarks(disk, folder, session.facts.id):
            problems += wrong
            gone = withdrawals(remarks)
            entries += [
                Entry(file, each, gone.get(each.number), since(each, session.links))
                for each in remarks
                if each.withdraws is None
            ]
    entries.sort(key=lambda entry: (entry.remark.time, str(entry.file), entry.remark.number))
    return Remarks(tuple(entries), tuple(problems))


class RemarkDesk:
    """Reads and adds remarks on one reading of a session. The session's own files are not touched."""

    def __init__(self, disk: Disk, session: ReadSession, clock: Clock, elsewhere: Path | None = None) -> None:
        self._disk = disk
        self._session = session
        self._clock = clock
        self._elsewhere = elsewhere

    @property
    def folder(self) -> Path:
        """Where a remark would be written."""
        return remarks_folder(self._session, self._elsewhere)

    def read(self) -> Remarks:
        return find_remarks(self._disk, self._session, self._elsewhere)

    def add(self, by: str, text: str, about: Place = WHOLE) -> Path:
        """Put a remark on the disk; the file it stands in.

        Raises:
            BadInputError: the name or the text may not be recorded.
            NotSavedError: the medium refused. What stood there before stands.
        """
        return self._append(by, text, about, None)

    def withdraw(self, entry: Entry, by: str, why: str) -> Path:
        """Say that a remark no longer holds. It stays, and the one who made it says why.

        Raises:
            WrongUseError: it is another person's, or withdrawn already, or in a folder that is only read.
            BadInputError: the text may not be recorded.
            NotSavedError: the medium refused.
        """
        remark = entry.remark
        if not is_same_name(by, remark.by):
            raise WrongUseError(
                f"This remark is by {remark.by}, and only {remark.by} can withdraw it",
                remedy="remark on the same place that you see it otherwise",
            )
        if not entry.still_holds:
            raise WrongUseError("This remark is withdrawn already", remedy="once is enough")
        if entry.file != self.folder / file_name(remark.by):
            raise WrongUseError(
                "This remark is in a file that this review does not write to",
                where=str(entry.file),
                remedy=f"open the review with its remarks in {entry.file.parent}, or remark again",
            )
        return self._append(remark.by, why, remark.about, remark.number)

    def _append(self, by: str, text: str, about: Place, withdraws: int | None) -> Path:
        session = self._session
        remark = Remark(
            number=1,  # its file gives it its place
            time=_to_milliseconds(self._clock.wall()),
            by=normal(by),
            text=normal(text),
            seal=session.seal.replace(" ", ""),
            rows=session.rows,
            about=about,
            withdraws=withdraws,
        )
        append_remark(self._disk, self.folder, session.facts.id, remark)
        return self.folder / file_name(remark.by)


def _to_milliseconds(time: datetime) -> datetime:
    return time.replace(microsecond=time.microsecond // 1000 * 1000)
