"""Cut the power at every step of creating, appending and recovering, and look at what is left."""

from __future__ import annotations

import dataclasses
import itertools
import random
from collections.abc import Callable
from pathlib import Path

import pytest

from fieldtui.errors import DiskFullError, FieldtuiError, MediumFailedError
from fieldtui.files import durable
from fieldtui.files.trail import writer as trail_writer
from fieldtui.files.trail.rows import HEADER, format_row
from fieldtui.files.trail.scan import scan_trail
from tests.crash.model import (
    FIRST_LINK,
    FOLDER,
    SESSION_ID,
    SESSIONS,
    TOML,
    ModelDisk,
    Truth,
    noted,
    reading,
    started,
)

TRAIL = FOLDER / "trail.csv"
Workload = Callable[[ModelDisk, Truth], None]
Seed = Callable[[pytest.MonkeyPatch], None]


class LostError(AssertionError):
    """A promise was broken."""


# --- workloads ------------------------------------------------------------------------------


def create_and_append(disk: ModelDisk, truth: Truth) -> None:
    events = [started(), reading(1), reading(2, 'x, "quoted" ' + "y" * 400), noted(3, "last")]
    truth.submitted = list(events)
    writer = durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started())
    truth.is_created, truth.acknowledged = True, 1
    for event in events[1:]:
        truth.acknowledged = writer.append(event)
    writer.close()


def reopen(disk: ModelDisk, truth: Truth, extra: int = 1) -> None:
    """Open as a writer does; rows on show count as acknowledged."""
    lock = durable.lock_session(disk, FOLDER)
    writer, scan, recovery = durable.open_session(disk, FOLDER, lock, TOML, FIRST_LINK)
    truth.submitted = list(scan.events)
    truth.is_created, truth.acknowledged = True, scan.rows
    if recovery is not None:
        event = recovery.event(scan.events[-1].time, "rec")
        truth.submitted.append(event)
        truth.acknowledged = writer.append(event)
    for number in range(extra):
        truth.submitted.append(noted(60 + number, "after opening"))
        truth.acknowledged = writer.append(truth.submitted[-1])
    writer.close()


# --- what must hold -------------------------------------------------------------------------


def check(disk: ModelDisk, truth: Truth) -> None:
    """Recover on what a crash left and hold it against what people were told."""
    before = disk.content(TRAIL) or b""
    if disk.content(FOLDER / "session.toml") is None:
        if truth.is_created:
            raise LostError("a session that was shown as started is gone")
        if disk.path_identity(FOLDER) and durable.unfinished_sessions(disk, SESSIONS) != [FOLDER]:
            raise LostError("an unfinished session is not offered for clean-up")
        return
    if disk.content(FOLDER / "session.toml") != TOML:
        raise LostError("session.toml is not whole")
    try:
        lock = durable.lock_session(disk, FOLDER)
        writer, scan, recovery = durable.open_session(disk, FOLDER, lock, TOML, FIRST_LINK)
    except FieldtuiError as error:
        raise LostError(f"a crash was taken for damage: {error.what}") from None
    writer.close()
    if scan.events[: truth.acknowledged] != truth.submitted[: truth.acknowledged]:
        raise LostError("an acknowledged row is gone or changed")
    if scan.events != truth.submitted[: scan.rows] or scan.rows > truth.acknowledged + 1:
        raise LostError("a row that nobody keyed")
    after = disk.content(TRAIL)
    if after is None or not before.startswith(after) or len(after) != scan.good_end:
        raise LostError("the good rows are not as they were")
    kept = [disk.content(FOLDER / name) for name in disk.list_folder(FOLDER) if name.startswith("torn-")]
    if scan.torn and scan.torn not in kept:
        raise LostError("the torn bytes were not kept")
    if scan.torn and recovery is None:
        raise LostError("nobody is told of the torn row")
    again_lock = durable.lock_session(disk, FOLDER)
    writer, again, recovery_again = durable.open_session(disk, FOLDER, again_lock, TOML, FIRST_LINK)
    if disk.content(TRAIL) != after or again.torn or recovery_again != recovery:
        raise LostError("recovering twice is not recovering once")
    if writer.append(noted(3600, "goes on")) != scan.rows + 1:
        raise LostError("the session cannot go on")
    writer.close()
    if not scan_trail(disk.content(TRAIL) or b"", first_link=FIRST_LINK).intact:
        raise LostError("the trail is not good after going on")


def moments(workload: Workload, disk: ModelDisk, told: Truth | None = None) -> list[tuple[ModelDisk, Truth]]:
    """The disk and what had been promised, after each call that changed something.

    ``told`` is what had been promised before.
    """
    truth = dataclasses.replace(told) if told is not None else Truth()
    seen: list[tuple[ModelDisk, Truth]] = []

    def remember() -> None:
        seen.append((disk.killed(), dataclasses.replace(truth, submitted=list(truth.submitted))))

    disk.on_change = remember
    workload(disk, truth)
    remember()
    disk.on_change = lambda: None
    return seen


def fresh() -> ModelDisk:
    disk = ModelDisk()
    disk.make_folder(SESSIONS)
    disk.sync_folder(Path("/"))
    return disk


def explore(step: int) -> int:
    """Power cuts while a session is made and filled; kill, reopen, power cut; recover, power cut."""
    states = 0
    first = moments(create_and_append, fresh())
    for disk, truth in first:
        for left in disk.power_cuts(step):
            check(left, truth)
            states += 1
    for disk, told in first:
        if disk.content(FOLDER / "session.toml") is not None:
            for later, truth in moments(reopen, disk.killed(), told):
                for left in later.power_cuts(97):
                    check(left, truth)
                    states += 1
    return states + explore_recovery(step)


def explore_recovery(step: int) -> int:
    """A torn row is on the disk; the power goes again at each step of setting it aside."""
    states = 0
    base = last_moment()
    good = base.content(TRAIL) or b""
    events = list(scan_trail(good, first_link=FIRST_LINK).events)
    line, _ = format_row(5, reading(5), scan_trail(good, first_link=FIRST_LINK).last_link)
    for cut in (1, len(line) // 2, len(line) - 1):
        disk = base.killed()
        fd = disk.open_append(TRAIL)
        disk.write(fd, line[:cut])
        disk.sync_data(fd)
        disk.close(fd)
        told = Truth(events, len(events), is_created=True)
        for later, truth in moments(reopen, disk, told):
            for left in later.power_cuts(step * 8):
                kept = b"".join(left.content(FOLDER / n) or b"" for n in left.list_folder(FOLDER))
                if line[:cut] not in kept:
                    raise LostError("torn bytes were cut before they were kept")
                check(left, truth)
                states += 1
    return states


def last_moment() -> ModelDisk:
    disk = fresh()
    create_and_append(disk, Truth())
    return disk.killed()


# --- the protocol holds ---------------------------------------------------------------------


def test_no_power_cut_loses_an_acknowledged_row() -> None:
    assert explore(step=1) > 10_000


def test_no_power_cut_inside_a_recovery_from_a_power_cut_loses_a_row() -> None:
    """Nested: a sample of torn states is recovered, and each step of that is cut again."""
    chance = random.Random(41)
    states = 0
    for disk, truth in moments(create_and_append, fresh()):
        if truth.is_created:
            lefts = [left for left in disk.power_cuts(7) if left.content(TRAIL) != disk.content(TRAIL)]
            for left in chance.sample(lefts, min(6, len(lefts))):
                for later, _ in moments(lambda d, t: reopen(d, t, extra=0), left):
                    for again in itertools.islice(later.power_cuts(41), 40):
                        scan = scan_trail(again.content(TRAIL) or b"", first_link=FIRST_LINK)
                        assert scan.problems == ()
                        acknowledged = truth.submitted[: truth.acknowledged]
                        assert scan.events[: truth.acknowledged] == acknowledged
                        states += 1
    assert states > 300


def test_a_failed_sync_is_never_followed_by_an_acknowledgement() -> None:
    disk, truth = failing_sync_run()
    for left in disk.power_cuts(9):
        check(left, truth)


# --- and the model would notice if it did not: seeded bugs ------------------------------------


def failing_sync_run() -> tuple[ModelDisk, Truth]:
    """The third row's sync fails once, as on a full thin disk; the data is dropped by that."""
    disk, truth = fresh(), Truth()
    truth.submitted = [started(), reading(1), reading(2)]
    writer = durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started())
    truth.is_created, truth.acknowledged = True, writer.append(reading(1))
    real = disk.sync_data

    def fail_once(fd: int) -> None:
        disk.drop_pending(fd)
        disk.sync_data = real  # type: ignore[method-assign]
        raise OSError(5, "input/output error")

    disk.sync_data = fail_once  # type: ignore[method-assign]
    for _ in range(2):
        try:
            truth.acknowledged = writer.append(reading(2))
        except MediumFailedError:
            assert writer.is_failed
    return disk, truth


def seed_no_sync(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(ModelDisk, "sync_data", lambda self, fd: self.on_change())


def seed_no_folder_sync(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(ModelDisk, "sync_folder", lambda self, path: self.on_change())


def seed_parent_not_synced(patch: pytest.MonkeyPatch) -> None:
    real = ModelDisk.sync_folder
    patch.setattr(ModelDisk, "sync_folder", lambda self, path: real(self, path) if path == FOLDER else "")


def seed_session_folder_not_synced(patch: pytest.MonkeyPatch) -> None:
    real = ModelDisk.sync_folder
    patch.setattr(ModelDisk, "sync_folder", lambda self, path: "" if path == FOLDER else real(self, path))


def seed_one_folder_sync_too_few(patch: pytest.MonkeyPatch) -> None:
    """The trail's name is left to the sync that follows the naming of session.toml."""
    real = ModelDisk.sync_folder

    def sync(self: ModelDisk, path: Path) -> str:
        is_early = path == FOLDER and self.content(FOLDER / "session.toml") is None
        return "" if is_early else real(self, path)

    patch.setattr(ModelDisk, "sync_folder", sync)


def seed_rename_without_sync(patch: pytest.MonkeyPatch) -> None:
    def write_whole(self: ModelDisk, path: Path, data: bytes) -> None:
        temporary = path.with_name(".tmp")
        fd = self.create(temporary)
        self.write(fd, data)
        self.close(fd)
        self.rename(temporary, path)
        self.sync_folder(path.parent)

    patch.setattr(ModelDisk, "write_whole", write_whole)


def seed_header_in_place(patch: pytest.MonkeyPatch) -> None:
    """session.toml is written under its own name."""

    def write_whole(self: ModelDisk, path: Path, data: bytes) -> None:
        fd = self.create(path)
        self.write(fd, data)
        self.sync_data(fd)
        self.close(fd)
        self.sync_folder(path.parent)

    patch.setattr(ModelDisk, "write_whole", write_whole)


def seed_header_first(patch: pytest.MonkeyPatch) -> None:
    """session.toml comes before the trail."""
    real = durable._create_files

    def create(disk, folder, session_toml, head, first_link, lock):  # type: ignore[no-untyped-def]
        disk.write_whole(folder / "session.toml", session_toml)
        return real(disk, folder, session_toml, head, first_link, lock)

    patch.setattr(durable, "_create_files", create)


def seed_trail_not_synced_at_creation(patch: pytest.MonkeyPatch) -> None:
    real = ModelDisk.sync_data

    def sync(self: ModelDisk, fd: int) -> None:
        if self.inodes[self.open[fd]].safe or not self.inodes[self.open[fd]].seen.startswith(HEADER):
            real(self, fd)

    patch.setattr(ModelDisk, "sync_data", sync)


def seed_acknowledged_before_sync(patch: pytest.MonkeyPatch) -> None:
    """Each row is synced when the next one comes."""
    writer = trail_writer.TrailWriter
    real_write = writer._write

    def write(self, line):  # type: ignore[no-untyped-def]
        self._disk.sync_data(self._fd)
        real_write(self, line)

    patch.setattr(writer, "_write", write)
    patch.setattr(writer, "_sync", lambda self: None)


def seed_acknowledged_before_write(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(trail_writer.TrailWriter, "_write", lambda self, line: None)
    patch.setattr(trail_writer.TrailWriter, "_compare", lambda self, line: None)
    patch.setattr(trail_writer.TrailWriter, "_require_ours", lambda self: None)


def seed_cut_before_copy(patch: pytest.MonkeyPatch) -> None:
    real = durable._set_aside

    def cut(disk, folder, fd, scan):  # type: ignore[no-untyped-def]
        disk.truncate(fd, scan.good_end)
        disk.sync_data(fd)
        real(disk, folder, fd, scan)

    patch.setattr(durable, "_set_aside", cut)


def seed_torn_end_not_kept(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(durable, "_set_aside", lambda disk, folder, fd, scan: disk.truncate(fd, scan.good_end))


def seed_torn_end_not_cut(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(durable, "_set_aside", lambda disk, folder, fd, scan: None)


def seed_shown_before_sync_on_opening(patch: pytest.MonkeyPatch) -> None:
    real = ModelDisk.sync_data
    real_open = durable.open_session

    def open_session(*args):  # type: ignore[no-untyped-def]
        patch.setattr(ModelDisk, "sync_data", lambda self, fd: self.on_change())
        try:
            return real_open(*args)
        finally:
            patch.setattr(ModelDisk, "sync_data", real)

    patch.setattr(durable, "open_session", open_session)


def seed_name_not_synced_on_opening(patch: pytest.MonkeyPatch) -> None:
    real = ModelDisk.sync_folder
    real_open = durable.open_session

    def open_session(*args):  # type: ignore[no-untyped-def]
        patch.setattr(ModelDisk, "sync_folder", lambda self, path: "")
        try:
            return real_open(*args)
        finally:
            patch.setattr(ModelDisk, "sync_folder", real)

    patch.setattr(durable, "open_session", open_session)


SEEDED = [value for name, value in list(globals().items()) if name.startswith("seed_")]


@pytest.mark.parametrize("seed", SEEDED, ids=lambda seed: seed.__name__.removeprefix("seed_"))
def test_the_model_catches(
    seed: Callable[[pytest.MonkeyPatch], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    seed(monkeypatch)
    with pytest.raises(LostError):
        explore(step=61)


def test_the_model_catches_a_second_try_after_a_failed_sync(monkeypatch: pytest.MonkeyPatch) -> None:
    def sync(self) -> None:  # type: ignore[no-untyped-def]
        try:
            self._disk.sync_data(self._fd)
        except OSError:
            self._disk.sync_data(self._fd)

    monkeypatch.setattr(trail_writer.TrailWriter, "_sync", sync)
    disk, truth = failing_sync_run()
    with pytest.raises(LostError):
        for left in disk.power_cuts(9):
            check(left, truth)


def test_a_row_written_in_two_pieces_before_the_sync_is_harmless(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model is no alarm that always rings: this change breaks no promise."""

    def write(self, line: bytes) -> None:  # type: ignore[no-untyped-def]
        self._disk.write(self._fd, line[:40])
        self._disk.write(self._fd, line[40:])

    monkeypatch.setattr(trail_writer.TrailWriter, "_write", write)
    assert explore(step=61) > 200


def test_a_full_disk_leaves_nothing_that_a_power_cut_could_bring_back() -> None:
    disk, truth = fresh(), Truth()
    truth.submitted = [started(), reading(1)]
    writer = durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started())
    truth.is_created, truth.acknowledged = True, 1
    real = disk.write
    disk.write = lambda fd, data: real(fd, data[:30])  # type: ignore[method-assign]
    with pytest.raises(DiskFullError):
        writer.append(reading(1))
    for left in disk.power_cuts(1):
        check(left, truth)
        assert left.content(TRAIL) is not None
