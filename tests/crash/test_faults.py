"""Let each call to the disk fail in turn, once and for ever, and see that nobody is told a lie."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.trail.events import Noted
from fieldtui.errors import DiskFullError, FieldtuiError, MediumFailedError, NotSavedError
from fieldtui.files import durable
from fieldtui.files.disk import Disk
from fieldtui.files.trail.scan import scan_trail
from tests.crash.model import (
    FIRST_LINK,
    FOLDER,
    SESSION_ID,
    SESSIONS,
    TOML,
    ModelDisk,
    reading,
    started,
)

CALLS = (
    "make_folder", "list_folder", "sync_folder", "rename", "unlink", "path_identity", "create",
    "open_append", "open_lock", "open_read", "close", "identity", "write", "read_at", "sync_data",
    "truncate", "lock", "unlock",
)  # fmt: skip
SHORT = -1  # not an error number: the write takes half of what it is given
FAULTS = (errno.EIO, errno.ENOSPC, errno.EROFS, errno.EDQUOT, errno.EINTR, SHORT)
fault_name = {SHORT: "short-write", **errno.errorcode}.get


class Fault:
    """Counts the calls of a disk and lets the ``nth`` fail, or all from there on."""

    def __init__(self, disk: Disk, number: int, nth: int, *, is_lasting: bool) -> None:
        self.number, self.nth, self.is_lasting = number, nth, is_lasting
        self.calls = self.failed = 0
        for name in CALLS:
            setattr(disk, name, self._guard(disk, name, getattr(disk, name)))

    def _guard(self, disk: Disk, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any) -> Any:
            self.calls += 1
            if self.calls != self.nth and not (self.is_lasting and self.calls > self.nth):
                return real(*args)
            if self.number == SHORT:
                if name != "write":
                    return real(*args)
                self.failed += 1
                return real(args[0], args[1][: len(args[1]) // 2])
            self.failed += 1
            if name == "sync_data" and isinstance(disk, ModelDisk):
                disk.drop_pending(args[0])
            if name == "close":  # the descriptor is gone all the same, on Linux
                real(*args)
            raise OSError(self.number, os.strerror(self.number))

        return call


def run(disk: Disk, sessions: Path, acknowledged: list[Any]) -> None:
    """Make, fill, leave and open a session again; note what was acknowledged, stop at nothing."""
    writer = durable.create_session(disk, sessions, SESSION_ID, TOML, FIRST_LINK, started())
    acknowledged.append(started())
    keep_going(writer, [reading(1), reading(2)], acknowledged)
    writer.close()
    append_and_recover(disk, sessions / SESSION_ID, acknowledged)


def append_and_recover(disk: Disk, folder: Path, acknowledged: list[Any]) -> None:
    lock = durable.lock_session(disk, folder)
    try:
        writer, scan, recovery = durable.open_session(disk, folder, lock, TOML, FIRST_LINK)
    except FieldtuiError:
        lock.release()
        raise
    assert list(scan.events)[: len(acknowledged)] == acknowledged
    acknowledged[:] = scan.events
    last = scan.events[-1].time
    events = [recovery.event(last, "rec")] if recovery else []
    remarks = [Noted(time=last, by="rec", note=text) for text in ("after", "after that")]
    keep_going(writer, [*events, *remarks], acknowledged)
    writer.close()


def keep_going(writer: durable.TrailWriter, events: list[Any], acknowledged: list[Any]) -> None:
    for event in events:
        try:
            assert writer.append(event) == len(acknowledged) + 1
        except NotSavedError as error:
            assert error.what.startswith("NOT SAVED: ")
            assert error.where and error.remedy
            assert writer.is_failed is isinstance(error, MediumFailedError)
        else:
            acknowledged.append(event)


def loop(make: Callable[[], tuple[Disk, Path]], job: Callable[..., None], check: Callable[..., None],
         number: int, *, is_lasting: bool) -> int:  # fmt: skip
    """Run ``job`` with the first call failing, the second, … until none fails any more."""
    for nth in range(1, 400):
        disk, place = make()
        fault = Fault(disk, number, nth, is_lasting=is_lasting)
        acknowledged: list[Any] = []
        try:
            job(disk, place, acknowledged)
        except FieldtuiError as error:
            assert error.where and error.remedy, error.what
            assert error.what.endswith((".", "!")), error.what
        check(disk, place, acknowledged)
        if fault.calls < nth:
            return nth
    raise AssertionError("the job never came to its end")


def rows_on(content: bytes | None) -> list[Any]:
    return [] if content is None else scan_trail(content, first_link=FIRST_LINK).events


# --- in memory: what a power cut right after would leave is looked at too ---------------------


def empty_model() -> tuple[ModelDisk, Path]:
    disk = ModelDisk()
    return disk, SESSIONS


def torn_model() -> tuple[ModelDisk, Path]:
    disk = ModelDisk()
    durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started()).close()
    fd = disk.open_append(FOLDER / "trail.csv")
    disk.write(fd, b"2,2026-05-04T08:3")
    disk.sync_data(fd)
    return disk.killed(), FOLDER


def check_model(disk: ModelDisk, place: Path, acknowledged: list[Any]) -> None:
    trail = FOLDER / "trail.csv"
    assert rows_on(disk.content(trail))[: len(acknowledged)] == acknowledged
    if not acknowledged:
        return
    for left in disk.killed().power_cuts(step=1_000_000):
        content = left.content(trail)
        assert content is not None
        assert left.content(FOLDER / "session.toml") == TOML
        assert rows_on(content)[: len(acknowledged)] == acknowledged


@pytest.mark.parametrize("is_lasting", [False, True], ids=["once", "for-ever"])
@pytest.mark.parametrize("number", FAULTS, ids=fault_name)
def test_create_append_and_open_with_each_call_failing(number: int, is_lasting: bool) -> None:
    assert loop(empty_model, run, check_model, number, is_lasting=is_lasting) > 50


@pytest.mark.parametrize("is_lasting", [False, True], ids=["once", "for-ever"])
@pytest.mark.parametrize("number", FAULTS, ids=fault_name)
def test_recover_with_each_call_failing(number: int, is_lasting: bool) -> None:
    def recover(disk: Disk, folder: Path, acknowledged: list[Any]) -> None:
        append_and_recover(disk, folder, acknowledged)

    def check(disk: ModelDisk, place: Path, acknowledged: list[Any]) -> None:
        check_model(disk, place, acknowledged or [started()])
        left = disk.killed()  # nothing was lost, and the next opening succeeds
        torn = b"2,2026-05-04T08:3"
        append_and_recover(left, FOLDER, [])
        kept = [left.content(FOLDER / name) for name in left.list_folder(FOLDER) if "torn-" in name]
        assert kept == [torn]
        names = [
            event.ref for event in rows_on(left.content(FOLDER / "trail.csv")) if event.kind == "recovered"
        ]
        assert len(names) == 1

    assert loop(torn_model, recover, check, number, is_lasting=is_lasting) > 25


# --- on a real disk ---------------------------------------------------------------------------


@pytest.fixture
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a sync does cannot be seen from inside one run, and it takes most of the time."""
    monkeypatch.setattr(os, "fsync", lambda fd: None)
    monkeypatch.setattr(os, "fdatasync", lambda fd: None)


@pytest.mark.parametrize("is_lasting", [False, True], ids=["once", "for-ever"])
@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC, SHORT], ids=fault_name)
@pytest.mark.usefixtures("no_waiting")
def test_each_call_failing_on_a_real_disk(tmp_path: Path, number: int, is_lasting: bool) -> None:
    made = iter(range(1_000))

    def make() -> tuple[Disk, Path]:
        return Disk(), tmp_path / str(next(made))

    def check(disk: Disk, place: Path, acknowledged: list[Any]) -> None:
        trail = place / SESSION_ID / "trail.csv"
        content = trail.read_bytes() if trail.exists() else None
        assert rows_on(content)[: len(acknowledged)] == acknowledged

    assert loop(make, run, check, number, is_lasting=is_lasting) > 50


# --- single faults, named ---------------------------------------------------------------------


@pytest.fixture
def writer(tmp_path: Path) -> durable.TrailWriter:
    return durable.create_session(Disk(), tmp_path, SESSION_ID, TOML, FIRST_LINK, started())


def break_call(writer: durable.TrailWriter, name: str, number: int, times: int = 1) -> None:
    disk = writer._disk
    real = getattr(disk, name)
    left = [times]

    def call(*args: Any) -> Any:
        if left[0] == 0:
            return real(*args)
        left[0] -= 1
        raise OSError(number, os.strerror(number))

    setattr(disk, name, call)


def test_a_full_disk_is_said_and_the_session_goes_on_once_there_is_room(
    writer: durable.TrailWriter, tmp_path: Path
) -> None:
    trail = tmp_path / SESSION_ID / "trail.csv"
    before = trail.read_bytes()
    for number in (errno.ENOSPC, errno.EDQUOT):
        break_call(writer, "write", number)
        with pytest.raises(DiskFullError, match="NOT SAVED: the disk is full"):
            writer.append(reading(1))
        assert trail.read_bytes() == before
        assert not writer.is_failed
    assert writer.append(reading(1)) == 2


def test_a_short_write_is_cut_off_again(writer: durable.TrailWriter, tmp_path: Path) -> None:
    trail = tmp_path / SESSION_ID / "trail.csv"
    before = trail.read_bytes()
    real = writer._disk.write
    writer._disk.write = lambda fd, data: real(fd, data[:17])  # type: ignore[method-assign]
    with pytest.raises(DiskFullError):
        writer.append(reading(1))
    assert trail.read_bytes() == before
    writer._disk.write = real  # type: ignore[method-assign]
    assert writer.append(reading(1)) == 2


@pytest.mark.parametrize("name", ["truncate", "sync_data"])
def test_a_part_that_cannot_be_cut_off_finishes_the_writer(writer: durable.TrailWriter, name: str) -> None:
    break_call(writer, "write", errno.ENOSPC)
    break_call(writer, name, errno.EIO)
    with pytest.raises(MediumFailedError, match="could not be cut off"):
        writer.append(reading(1))
    with pytest.raises(MediumFailedError, match="could not be cut off"):
        writer.append(reading(1))


@pytest.mark.parametrize("number", FAULTS[:-1], ids=fault_name)
def test_a_failed_sync_is_never_tried_again(writer: durable.TrailWriter, number: int) -> None:
    break_call(writer, "sync_data", number)
    with pytest.raises(MediumFailedError, match="NOT SAVED: The disk did not confirm"):
        writer.append(reading(1))
    calls: list[str] = []
    for name in CALLS:
        setattr(writer._disk, name, lambda *_, name=name: calls.append(name))
    with pytest.raises(MediumFailedError, match="NOT SAVED: The disk did not confirm"):
        writer.append(reading(1))
    assert calls == []  # not a single call more


@pytest.mark.parametrize("name", ["identity", "path_identity", "read_at"])
def test_a_disk_that_stops_answering_finishes_the_writer(writer: durable.TrailWriter, name: str) -> None:
    break_call(writer, name, errno.EIO)
    with pytest.raises(MediumFailedError):
        writer.append(reading(1))
    assert writer.is_failed


def test_a_row_that_reads_back_otherwise_is_not_acknowledged(writer: durable.TrailWriter) -> None:
    writer._disk.read_at = lambda fd, size, offset: b"\0" * size  # type: ignore[method-assign]
    with pytest.raises(MediumFailedError, match="reads back other than it was written"):
        writer.append(reading(1))
    assert writer.rows == 1


def test_an_interrupted_write_is_tried_again_a_few_times(writer: durable.TrailWriter) -> None:
    break_call(writer, "write", errno.EINTR, times=2)
    assert writer.append(reading(1)) == 2
    break_call(writer, "write", errno.EINTR, times=3)
    with pytest.raises(NotSavedError, match="interrupted"):
        writer.append(reading(2))
    assert writer.append(reading(2)) == 3


def test_a_first_row_that_reads_back_otherwise_starts_no_session(tmp_path: Path) -> None:
    disk = Disk()
    disk.read_at = lambda fd, size, offset: b"\0" * size  # type: ignore[method-assign]
    with pytest.raises(MediumFailedError, match="reads back other than it was written"):
        durable.create_session(disk, tmp_path, SESSION_ID, TOML, FIRST_LINK, started())
    assert durable.unfinished_sessions(Disk(), tmp_path) == [tmp_path / SESSION_ID]
    durable.lock_session(Disk(), tmp_path / SESSION_ID).release()  # the lock was given back


# --- the loops would notice ------------------------------------------------------------------------


def passes_over_a_failed_sync(patch: pytest.MonkeyPatch) -> None:
    def sync(self: durable.TrailWriter) -> None:
        with suppress(OSError):
            self._disk.sync_data(self._fd)

    patch.setattr(durable.TrailWriter, "_sync", sync)


def passes_over_a_short_write(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(durable.TrailWriter, "_write", lambda self, line: self._disk.write(self._fd, line))
    patch.setattr(durable.TrailWriter, "_compare", lambda self, line: None)


def goes_on_after_a_failure(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(
        durable.TrailWriter,
        "_fail",
        lambda self, trouble: MediumFailedError(f"NOT SAVED: {trouble}.", where="x", remedy="y"),
    )


def lets_a_foreign_error_out(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(durable.TrailWriter, "_require_ours", lambda self: self._disk.identity(self._fd))


@pytest.mark.parametrize(
    ("seed", "number"),
    [
        (passes_over_a_failed_sync, errno.EIO),
        (passes_over_a_short_write, SHORT),
        (goes_on_after_a_failure, errno.EIO),
        (lets_a_foreign_error_out, errno.EIO),
    ],
    ids=lambda each: getattr(each, "__name__", ""),
)
def test_a_seeded_bug_is_noticed(
    monkeypatch: pytest.MonkeyPatch, seed: Callable[[pytest.MonkeyPatch], None], number: int
) -> None:
    seed(monkeypatch)
    with pytest.raises((AssertionError, OSError)):
        loop(empty_model, run, check_model, number, is_lasting=False)
