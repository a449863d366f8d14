from __future__ import annotations

import multiprocessing
import os
import socket
import stat
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.trail.events import Event, Noted, ReadingTaken, Recovered, Started
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import (
    BadInputError,
    FieldtuiError,
    MediumFailedError,
    SessionDamagedError,
    SessionInUseError,
    WrongUseError,
)
from fieldtui.files import durable
from fieldtui.files.disk import Disk
from fieldtui.files.trail.rows import HEADER, MAX_LINE
from fieldtui.files.trail.scan import Scan, scan_trail
from tests.files.test_disk import take_posix_away

TOML = b"format = 1\n"
DIGEST = sha256(TOML).hexdigest()
LINK = "0123456789abcdef" * 2
ID = "2026-05-04_zx-41_wing_01"
START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
STARTED = Started(time=START, by="rec", ref=DIGEST)
disk = Disk()


def reading(number: int) -> ReadingTaken:
    return ReadingTaken(
        time=START + timedelta(seconds=number),
        by="rec",
        record=number,
        point=f"SW-{number:02}",
        reading=Resistance(Decimal("1.50"), Unit.MOHM),
        verdict=Verdict.PASS,
    )


def create(parent: Path, on: Disk = disk) -> durable.TrailWriter:
    return durable.create_session(on, parent, ID, TOML, LINK, STARTED)


def reopen(folder: Path) -> tuple[durable.TrailWriter, Scan, durable.Recovery | None]:
    lock = durable.lock_session(disk, folder)
    try:
        return durable.open_session(disk, folder, lock, TOML, LINK)
    except FieldtuiError:
        lock.release()
        raise


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / ID


@pytest.fixture
def writer(tmp_path: Path, folder: Path) -> Iterator[durable.TrailWriter]:
    made = create(tmp_path)
    yield made
    made.close()


@pytest.fixture(params=["posix", "without posix"])
def system(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    if request.param == "without posix":
        take_posix_away(monkeypatch)
    return str(request.param)


# --- create, append, open ------------------------------------------------------------------------


def test_a_session_is_made_filled_left_and_gone_on_with(tmp_path: Path, folder: Path, system: str) -> None:
    writer = create(tmp_path)
    assert (writer.rows, writer.is_failed) == (1, False)
    assert [writer.append(reading(number)) for number in (1, 2)] == [2, 3]
    seal = writer.seal
    writer.close()
    assert (folder / "session.toml").read_bytes() == TOML
    assert disk.list_folder(folder) == [".lock", "session.toml", "trail.csv"]

    writer, scan, recovery = reopen(folder)
    assert recovery is None
    assert scan.events == [STARTED, reading(1), reading(2)]
    assert (writer.rows, writer.seal, scan.last_link) == (3, seal, seal)
    assert writer.last_time == "2026-05-04T08:30:02.000Z"
    assert writer.append(reading(3)) == 4
    assert writer.seal != seal
    writer.close()
    data = (folder / "trail.csv").read_bytes()
    assert data.startswith(HEADER)
    assert scan_trail(data, first_link=LINK, digest=DIGEST).intact


def test_the_folder_of_all_sessions_is_made_where_it_is_missing(tmp_path: Path) -> None:
    create(tmp_path / "sessions").close()
    assert (tmp_path / "sessions" / ID / "session.toml").exists()


class Recorder(Disk):
    """Notes the calls that decide what a power cut leaves, in order."""

    def __init__(self) -> None:
        self.calls: list[str] = []
        self.names: dict[int, str] = {}
        for call in (
            "make_folder",
            "create",
            "write",
            "sync_data",
            "sync_folder",
            "rename",
            "truncate",
            "read_at",
        ):
            setattr(self, call, self._note(call, getattr(self, call)))

    def _note(self, name: str, real: Callable[..., object]) -> Callable[..., object]:
        def call(*args: object) -> object:
            result = real(*args)
            if name == "create":
                assert isinstance(result, int)
                self.names[result] = args[0].name  # type: ignore[attr-defined]
            target = args[-1] if name == "rename" else args[0]
            shown = self.names.get(target, "") if isinstance(target, int) else target.name  # type: ignore[attr-defined]
            self.calls.append(f"{name} {shown}")
            return result

        return call


def test_the_steps_come_in_the_order_that_a_power_cut_wants(tmp_path: Path) -> None:
    recorder = Recorder()
    writer = create(tmp_path, recorder)
    assert recorder.calls == [
        f"make_folder {ID}",
        f"sync_folder {tmp_path.name}",
        "create trail.csv",
        "write trail.csv",
        "sync_data trail.csv",
        "read_at trail.csv",
        f"sync_folder {ID}",
        "create .session.toml.tmp",
        "write .session.toml.tmp",
        "sync_data .session.toml.tmp",
        "rename session.toml",
        f"sync_folder {ID}",
    ]
    recorder.calls.clear()
    writer.append(reading(1))
    assert recorder.calls == ["write trail.csv", "sync_data trail.csv", "read_at trail.csv"]
    writer.close()


@pytest.mark.parametrize("name", ["../up", "a/b", "", "CON", "x" * 101])
def test_a_session_needs_a_name_that_every_system_takes(tmp_path: Path, name: str) -> None:
    with pytest.raises(WrongUseError, match="cannot be the name"):
        durable.create_session(disk, tmp_path, name, TOML, LINK, STARTED)
    assert list(tmp_path.iterdir()) == []


def test_a_name_is_taken_only_once(tmp_path: Path, writer: durable.TrailWriter) -> None:
    with pytest.raises(WrongUseError, match="exists already"):
        create(tmp_path)
    assert writer.append(reading(1)) == 2  # and the first is none the worse


def test_the_first_row_carries_the_digest(tmp_path: Path) -> None:
    with pytest.raises(WrongUseError, match="digest"):
        durable.create_session(disk, tmp_path, ID, TOML + b"\n", LINK, STARTED)
    with pytest.raises(BadInputError):
        durable.create_session(disk, tmp_path, ID, TOML, LINK, replace(STARTED, by="\n"))
    assert list(tmp_path.iterdir()) == []


def test_an_event_that_may_not_stand_in_the_trail_changes_nothing(
    writer: durable.TrailWriter, folder: Path
) -> None:
    before = (folder / "trail.csv").read_bytes()
    with pytest.raises(BadInputError):
        writer.append(Noted(time=START, by="rec", note="two\nlines"))
    long = "\U0001f6e9" * 500
    with pytest.raises(BadInputError, match=str(MAX_LINE)):
        writer.append(replace(reading(1), point=long, reason=long, note=long))
    with pytest.raises(WrongUseError, match="before the last row"):
        writer.append(Noted(time=START - timedelta(milliseconds=1), by="rec", note="x"))
    assert (folder / "trail.csv").read_bytes() == before
    assert writer.append(Noted(time=START, by="rec", note="same moment")) == 2


def test_a_closed_writer_takes_nothing_and_may_be_closed_again(writer: durable.TrailWriter) -> None:
    writer.close()
    writer.close()
    with pytest.raises(MediumFailedError, match="closed in this program"):
        writer.append(reading(1))


# --- one writer ----------------------------------------------------------------------------------


def test_a_second_writer_is_refused_and_a_reader_is_not(tmp_path: Path, folder: Path, system: str) -> None:
    writer = create(tmp_path)
    with pytest.raises(SessionInUseError) as caught:
        durable.lock_session(disk, folder)
    assert caught.value.where == str(folder)
    assert "leave it there" in caught.value.remedy
    assert f"fieldtui review {folder}" in caught.value.remedy
    assert durable.read_session_files(disk, folder).scan(LINK).rows == 1
    assert writer.append(reading(1)) == 2
    writer.close()
    lock = durable.lock_session(disk, folder)
    lock.release()
    lock.release()


def _try_lock(folder: Path, answers: multiprocessing.SimpleQueue[str]) -> None:
    try:
        durable.lock_session(Disk(), folder)
    except SessionInUseError:
        answers.put("in use")
    else:
        answers.put("mine")  # and held to the end of this program


def test_a_lock_holds_against_another_program_and_dies_with_it(
    writer: durable.TrailWriter, folder: Path
) -> None:
    context = multiprocessing.get_context("spawn")
    for expected in ("in use", "mine"):
        answers: multiprocessing.SimpleQueue[str] = context.SimpleQueue()
        other = context.Process(target=_try_lock, args=(folder, answers))
        other.start()
        assert answers.get() == expected
        other.join(20)
        writer.close()
    durable.lock_session(disk, folder).release()


def test_a_lock_that_cannot_be_had_is_said(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(MediumFailedError, match="does not exist"):
        durable.lock_session(disk, folder)
    os.mkfifo(tmp_path / ".lock")
    with pytest.raises(MediumFailedError, match="not a regular file"):
        durable.lock_session(disk, tmp_path)
    (tmp_path / ".lock").unlink()
    broken = Disk()

    def refuse(fd: int) -> bool:
        raise OSError(37, "no locks")

    broken.lock = refuse  # type: ignore[method-assign]
    with pytest.raises(MediumFailedError, match="cannot be locked: the disk cannot lock files"):
        durable.lock_session(broken, tmp_path)


# --- another program at the file ------------------------------------------------------------------


def append_elsewhere(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"x\n")


def cut_elsewhere(path: Path) -> None:
    os.truncate(path, path.stat().st_size - 1)


def replace_elsewhere(path: Path) -> None:
    other = path.with_name("other")
    other.write_bytes(path.read_bytes())
    other.replace(path)


def link_instead(path: Path) -> None:
    path.rename(path.with_name("moved"))
    path.symlink_to(path.with_name("moved"))


CHANGES: list[tuple[Callable[[Path], object], str]] = [
    (append_elsewhere, "was changed by another program"),
    (cut_elsewhere, "was changed by another program"),
    (replace_elsewhere, "was replaced by another program"),
    (link_instead, "was replaced by another program"),
    (lambda path: path.unlink(), "was deleted or moved"),
    (lambda path: path.with_name("second").hardlink_to(path), "got a second name"),
]


@pytest.mark.parametrize(("change", "words"), CHANGES)
def test_a_file_that_another_program_was_at_is_not_written_to(
    writer: durable.TrailWriter, folder: Path, change: Callable[[Path], object], words: str
) -> None:
    path = folder / "trail.csv"
    writer.append(reading(1))
    change(path)
    before = path.read_bytes() if path.exists() else None
    for _ in range(2):
        with pytest.raises(MediumFailedError, match=f"NOT SAVED: The trail {words}") as caught:
            writer.append(reading(2))
    assert writer.is_failed
    assert "new session" in caught.value.remedy
    assert (path.read_bytes() if path.exists() else None) == before
    assert writer.rows == 2


# --- opening what is not as it was written ---------------------------------------------------------


def test_a_damaged_trail_is_left_untouched_and_all_findings_are_told(
    writer: durable.TrailWriter, folder: Path
) -> None:
    for number in (1, 2, 3):
        writer.append(reading(number))
    writer.close()
    path = folder / "trail.csv"
    data = path.read_bytes().replace(b"SW-01", b"SW-91").replace(b"SW-03", b"SW-93")
    path.write_bytes(data)
    with pytest.raises(SessionDamagedError) as caught:
        reopen(folder)
    assert [problem.line for problem in caught.value.problems] == [3, 5]
    assert caught.value.where == f"{path}:3"
    assert path.read_bytes() == data
    reader = durable.read_session_files(disk, folder).scan(LINK)
    assert reader.problems == caught.value.problems


def test_a_session_file_that_was_changed_is_found_out(writer: durable.TrailWriter, folder: Path) -> None:
    writer.close()
    lock = durable.lock_session(disk, folder)
    with pytest.raises(SessionDamagedError, match=r"session\.toml"):
        durable.open_session(disk, folder, lock, TOML + b"# edited\n", LINK)
    lock.release()
    (folder / "session.toml").write_bytes(TOML + b"# edited\n")
    assert not durable.read_session_files(disk, folder).scan(LINK).intact


def test_an_empty_trail_is_damage(writer: durable.TrailWriter, folder: Path) -> None:
    writer.close()
    (folder / "trail.csv").write_bytes(b"")
    with pytest.raises(SessionDamagedError) as caught:
        reopen(folder)
    assert caught.value.where == str(folder / "trail.csv")


def test_a_torn_row_is_set_aside_and_put_on_record(tmp_path: Path, folder: Path, system: str) -> None:
    writer = create(tmp_path)
    writer.append(reading(1))
    writer.close()
    path = folder / "trail.csv"
    good = path.read_bytes()
    path.write_bytes(good + b"3,2026-05-04T08")
    writer, scan, recovery = reopen(folder)
    assert recovery is not None
    assert (scan.rows, scan.torn) == (2, b"3,2026-05-04T08")
    assert recovery.file == f"torn-{len(good)}-{sha256(scan.torn).hexdigest()[:12]}.bin"
    assert (folder / recovery.file).read_bytes() == scan.torn
    event = recovery.event(START + timedelta(seconds=9), "rec")
    assert event == Recovered(
        time=START + timedelta(seconds=9), by="rec", ref=recovery.file, note=recovery.note
    )
    assert f"15 bytes at offset {len(good)}" in event.note
    assert writer.append(event) == 3
    writer.close()
    writer, scan, recovery = reopen(folder)
    assert (scan.rows, scan.torn, recovery) == (3, b"", None)
    writer.close()


def test_a_side_file_of_another_kind_is_no_recovery(writer: durable.TrailWriter, folder: Path) -> None:
    writer.close()
    (folder / "torn-9-0123456789ab.bin").mkdir()
    (folder / "torn-notes.bin").write_bytes(b"x")
    writer, _, recovery = reopen(folder)
    assert recovery is None
    writer.close()


@pytest.mark.parametrize("kind", ["symlink", "hard link", "pipe", "folder", "socket", "missing", "device"])
def test_a_trail_that_is_no_plain_file_is_refused_without_waiting(
    writer: durable.TrailWriter, folder: Path, kind: str
) -> None:
    writer.close()
    path = folder / "trail.csv"
    moved = folder / "moved.csv"
    path.rename(moved)
    with socket.socket(socket.AF_UNIX) as listener:
        if kind == "symlink":
            path.symlink_to(moved)
        elif kind == "hard link":
            path.hardlink_to(moved)
        elif kind == "pipe":
            os.mkfifo(path)
        elif kind == "folder":
            path.mkdir()
        elif kind == "device":
            with suppress(PermissionError):
                os.mknod(path, stat.S_IFCHR | 0o600, os.makedev(1, 3))
        elif kind == "socket":
            here = Path.cwd()
            os.chdir(folder)  # a socket's path may not be long
            listener.bind("trail.csv")
            os.chdir(here)
        with pytest.raises((SessionDamagedError, MediumFailedError)) as caught:
            reopen(folder)
    assert caught.value.where == str(path)
    assert caught.value.remedy
    if kind == "hard link":  # harmless to look at: backups are made of them
        assert durable.read_session_files(disk, folder).scan(LINK).rows == 1
    else:
        with pytest.raises(BadInputError):
            durable.read_session_files(disk, folder)


def test_a_trail_too_large_to_be_one_is_refused(writer: durable.TrailWriter, folder: Path) -> None:
    writer.close()
    os.truncate(folder / "trail.csv", durable.MAX_TRAIL + 1)
    with pytest.raises(SessionDamagedError, match="larger than"):
        reopen(folder)


# --- looking only ----------------------------------------------------------------------------------


def state_of(folder: Path) -> list[tuple[str, bytes, int]]:
    return [(path.name, path.read_bytes(), path.stat().st_mtime_ns) for path in sorted(folder.iterdir())]


def test_reading_changes_nothing_and_needs_no_right_to_write(
    writer: durable.TrailWriter, folder: Path
) -> None:
    writer.append(reading(1))
    writer.close()
    (folder / ".lock").unlink()
    before = state_of(folder)
    listed = folder.stat().st_mtime_ns
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    files = durable.read_session_files(disk, folder)
    folder.chmod(0o755)
    assert files.session_toml == TOML
    assert files.scan(LINK).events == [STARTED, reading(1)]
    assert state_of(folder) == before
    assert folder.stat().st_mtime_ns == listed


def test_reading_calls_for_nothing_that_writes(writer: durable.TrailWriter, folder: Path) -> None:
    class ReadOnly(Disk):
        def _refuse(self, *_: object) -> int:
            raise AssertionError("a reviewer's program wrote")

        create = open_append = open_lock = write = sync_data = truncate = lock = _refuse  # type: ignore[assignment]
        make_folder = rename = unlink = sync_folder = _refuse  # type: ignore[assignment]

    assert durable.read_session_files(ReadOnly(), folder).scan(LINK).rows == 1


def test_a_row_that_is_being_saved_while_one_looks_is_no_damage(
    writer: durable.TrailWriter, folder: Path
) -> None:
    seen: list[Scan] = []
    real = writer._disk.write

    def slow(fd: int, data: bytes) -> int:
        real(fd, data[:20])
        seen.append(durable.read_session_files(Disk(), folder).scan(LINK))
        return 20 + real(fd, data[20:])

    writer._disk.write = slow  # type: ignore[method-assign]
    try:
        writer.append(reading(1))
    finally:
        del writer._disk.write
    (scan,) = seen
    assert scan.intact
    assert scan.rows == 1
    assert len(scan.torn) == 20
    assert durable.read_session_files(disk, folder).scan(LINK).rows == 2


def test_sessions_that_were_never_finished_are_listed(tmp_path: Path, writer: durable.TrailWriter) -> None:
    (tmp_path / "begun").mkdir()
    (tmp_path / "begun" / "trail.csv").write_bytes(HEADER)
    (tmp_path / "a file").write_bytes(b"")
    (tmp_path / "a link").symlink_to(tmp_path / "begun")
    assert durable.unfinished_sessions(disk, tmp_path) == [tmp_path / "begun"]
    with pytest.raises(BadInputError, match="does not exist"):
        durable.unfinished_sessions(disk, tmp_path / "missing")


def test_messages_hold_no_text_of_the_system(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    jobs: list[Callable[[], object]] = [
        lambda: create(tmp_path / "file"),
        lambda: durable.lock_session(disk, tmp_path / "none"),
        lambda: durable.read_session_files(disk, tmp_path / "none"),
    ]
    for job in jobs:
        with pytest.raises(FieldtuiError) as caught:
            job()
        assert "Errno" not in caught.value.what
        assert caught.value.what.endswith(".")
        assert caught.value.remedy.endswith(".")


def test_events_of_any_kind_of_length_fit_a_row(writer: durable.TrailWriter) -> None:
    events: list[Event] = [Noted(time=START, by="rec", note="µ" * size) for size in (0, 1, 499, 500)]
    assert [writer.append(event) for event in events] == [2, 3, 4, 5]
