"""``review-NAME.toml``: a reviewer's remarks on a session. The session's own files are not touched.

The file only grows: each remark is one more ``[[remarks]]`` table at its end, and the bytes before
it stay as they are. It is replaced whole, so that a power cut leaves the old file or the new one. A
lock on a side file keeps two programs from writing it at once.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC
from hashlib import sha256
from pathlib import Path
from typing import Annotated, Any

import tomli_w

from fieldtui.core.remarks import Place, Remark
from fieldtui.core.text import refusal
from fieldtui.errors import BadInputError, DiskFullError, MediumFailedError, NotSavedError, Problem
from fieldtui.files.disk import Disk, is_full, reason
from fieldtui.files.toml.fields import FolderName, Format, Id, Link, Moment, Text, Title, whole_number
from fieldtui.files.toml.schema import Findings, read_as, refuse
from fieldtui.files.toml.strict import Strict
from fieldtui.files.toml.text import parse_toml

MAX_BYTES = 1_048_576  # of one file; a remark takes some 300
MAX_FILES = 200  # of reviewers that are looked at beside one session
_HIGHEST = 10**9
_FILE = re.compile(r"review-[a-z0-9]+(?:-[a-z0-9]+)*\.toml", re.ASCII)
_NAME_LENGTH = 40

Count = Annotated[int, whole_number(1, _HIGHEST)]


class RemarkModel(Strict):
    number: Count
    time: Moment
    by: Title
    text: Text
    point: Id | None = None
    record: Count | None = None
    row: Count | None = None
    withdraws: Count | None = None
    seal: Link
    rows: Count


class RemarksModel(Strict):
    """The whole of a file of remarks."""

    format: Format
    session: FolderName
    remarks: tuple[RemarkModel, ...] = ()


def file_name(by: str) -> str:
    """The file of a reviewer: ``review-ivo-marr.toml``, a name that is legal on every system.

    Two people may come to one file by this; every remark in it has its own name.
    """
    plain = unicodedata.normalize("NFKD", by).encode("ascii", "ignore").decode().lower()
    name = re.sub("[^a-z0-9]+", "-", plain).strip("-")[:_NAME_LENGTH].strip("-")
    return f"review-{name or sha256(by.encode('utf-8', 'surrogatepass')).hexdigest()[:12]}.toml"


# --- read ---------------------------------------------------------------------------------


def parse_remarks(data: bytes, file: str, session: str) -> tuple[Remark, ...]:
    """The remarks in ``data`` on the session of that id; ``file`` is the name used in problems.

    Raises:
        BadInputError: with every problem of the file.
    """
    findings = Findings(parse_toml(data, file))
    model = read_as(RemarksModel, findings.text.data, findings)
    if model is None:
        raise refuse(findings.in_order(), "the file of remarks")
    if model.session != session:
        what = f"these are remarks on another session, {model.session}"
        findings.add(("session",), what, f"put the file beside that one; here it would be {session}")
    remarks = tuple(_remark_of(each) for each in model.remarks)
    _check_numbers(remarks, findings)
    if findings.has_errors:
        raise refuse(findings.in_order(), "the file of remarks")
    return remarks


def _check_numbers(remarks: tuple[Remark, ...], findings: Findings) -> None:
    """Remarks are counted 1, 2, 3; a withdrawal names an earlier one that still holds."""
    gone: set[int] = set()
    for index, remark in enumerate(remarks):
        path = ("remarks", index)
        if remark.number != index + 1:
            what = f"remark {remark.number} stands where {index + 1} is next"
            findings.add((*path, "number"), what, "one was taken out or moved; look for an untouched copy")
        if not remark.text:
            findings.add((*path, "text"), "the text is empty", "write what is remarked")
        named = remark.withdraws
        if named is None:
            continue
        if named > index or remarks[named - 1].withdraws is not None:
            findings.add((*path, "withdraws"), f"there is no remark {named} before it", "name an earlier one")
        elif named in gone:
            findings.add((*path, "withdraws"), f"remark {named} is withdrawn already", "once is enough")
        gone.add(named)


def _remark_of(model: RemarkModel) -> Remark:
    return Remark(
        number=model.number,
        time=model.time,
        by=model.by,
        text=model.text,
        seal=model.seal,
        rows=model.rows,
        about=Place(point=model.point or "", record=model.record, row=model.row),
        withdraws=model.withdraws,
    )


def read_remarks(
    disk: Disk, folder: Path, session: str
) -> Iterator[tuple[Path, tuple[Remark, ...], list[Problem]]]:
    """Every file of remarks in ``folder``: what it holds, or all that is wrong with it.

    A folder that is not there, or cannot be listed, has none.
    """
    try:
        names = [name for name in disk.list_folder(folder) if _FILE.fullmatch(name)]
    except OSError:
        return
    for name in names[:MAX_FILES]:
        path = folder / name
        try:
            yield path, parse_remarks(disk.read_file(path, MAX_BYTES), str(path), session), []
        except BadInputError as error:
            yield path, (), list(error.problems)
    if len(names) > MAX_FILES:
        what = f"more than {MAX_FILES} files of remarks; the others are not shown"
        yield folder, (), [Problem(what, "move some of them to a folder of their own", file=str(folder))]


# --- write --------------------------------------------------------------------------------


def append_remark(disk: Disk, folder: Path, session: str, remark: Remark) -> Remark:
    """Put a remark at the end of its reviewer's file in ``folder``; the remark with its number.

    ``folder`` is made where it is missing, its parent too.

    Raises:
        BadInputError: its text or a name may not be recorded, or it withdraws what it cannot.
        NotSavedError: the medium refused, or the file there has problems; what stood there stands.
    """
    _require_clean(remark)
    path = folder / file_name(remark.by)
    try:
        _make_folders(disk, folder)
        lock = disk.open_lock(path.with_name(f".{path.name}.lock"))
        try:
            if not disk.lock(lock):
                raise NotSavedError(
                    "The remark is not saved: another program is writing this file",
                    where=str(path),
                    remedy="try again in a moment",
                )
            return _append(disk, path, session, remark)
        finally:
            disk.close_quietly(lock)
    except OSError as error:
        failure = DiskFullError if is_full(error) else MediumFailedError
        raise failure(
            f"The remark is not saved: {reason(error)}",
            where=str(path),
            remedy="open the review again with --remarks DIR, a folder that can be written to",
        ) from None


def _require_clean(remark: Remark) -> None:
    for what, text in (("The name", remark.by), ("The remark", remark.text)):
        why = refusal(text) if text else "there is none"
        if why is not None:
            raise BadInputError(f"{what} cannot be recorded: {why}", remedy="key it again without it")


def _make_folders(disk: Disk, folder: Path) -> None:
    for each in (folder.parent, folder):
        if disk.path_identity(each) is None:
            disk.make_folder(each)
            disk.sync_folder(each.parent)


def _append(disk: Disk, path: Path, session: str, remark: Remark) -> Remark:
    is_new = disk.path_identity(path) is None
    before = tomli_w.dumps({"format": 1, "session": session}).encode() if is_new else _read(disk, path)
    try:
        known = parse_remarks(before, str(path), session)
    except BadInputError as error:
        raise NotSavedError(
            "The remark is not saved: the file of remarks that is there has problems, and was left alone",
            where=str(path),
            remedy="put it right, or remark under another name",
            problems=error.problems,
        ) from None
    numbered = replace(remark, number=len(known) + 1)
    after = before + (b"" if before.endswith(b"\n") else b"\n") + format_remark(numbered)
    if parse_remarks(after, str(path), session) != (*known, numbered):
        raise BadInputError(
            "The remark cannot be recorded as it is", where=str(path), remedy="word it in another way"
        )
    if len(after) > MAX_BYTES:
        raise NotSavedError(
            "The remark is not saved: the file of remarks is full",
            where=str(path),
            remedy="remark under another name",
        )
    disk.write_whole(path, after)
    if _read(disk, path) != after:
        raise MediumFailedError(
            "The remark is not saved: the file reads back other than it was written",
            where=str(path),
            remedy="open the review again with --remarks DIR, on another disk or stick",
        )
    return numbered


def _read(disk: Disk, path: Path) -> bytes:
    try:
        return disk.read_file(path, MAX_BYTES)
    except BadInputError as error:
        raise NotSavedError(
            f"The remark is not saved. {error.what}", where=error.where, remedy=error.remedy
        ) from None


def format_remark(remark: Remark) -> bytes:
    """One more table for the end of the file."""
    about = remark.about
    table: dict[str, Any] = {
        "number": remark.number,
        "time": remark.time.astimezone(UTC),
        "by": remark.by,
        "text": remark.text,
        "point": about.point or None,
        "record": about.record,
        "row": about.row,
        "withdraws": remark.withdraws,
        "seal": remark.seal,
        "rows": remark.rows,
    }
    given = {key: value for key, value in table.items() if value is not None}
    return b"\n[[remarks]]\n" + tomli_w.dumps(given).encode("utf-8", "surrogatepass")
