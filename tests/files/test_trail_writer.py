"""The open trail: what a medium refuses is told, and the file says what the crew was told."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from fieldtui.errors import BadInputError, DiskFullError, MediumFailedError, NotSavedError, WrongUseError
from fieldtui.files.disk import Disk, Identity
from fieldtui.files.durable import create_session
from fieldtui.files.trail.links import trail_links
from fieldtui.files.trail.scan import scan_trail
from fieldtui.files.trail.writer import TrailWriter
from tests.crash.model import FIRST_LINK, SESSION_ID, START, TOML, noted, reading, started


class Faulty(Disk):
    """A disk of which each call can be told what happens next, once."""

    def __init__(self) -> None:
        self.next: dict[str, list[OSError | Callable[[bytes], bytes]]] = {}

    def _due(self, call: str) -> Callable[[bytes], bytes]:
        due = self.next.get(call, [])
        what = due.pop(0) if due else None
        if isinstance(what, OSError):
            raise what
        return what or bytes

    def write(self, fd: int, data: bytes) -> int:
        return super().write(fd, self._due("write")(data))

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        change = self._due("read_at")
        return change(super().read_at(fd, size, offset))

    def sync_data(self, fd: int) -> None:
        self._due("sync_data")
        super().sync_data(fd)

    def truncate(self, fd: int, size: int) -> None:
        self._due("truncate")
        super().truncate(fd, size)

    def identity(self, fd: int) -> Identity:
        self._due("identity")
        return super().identity(fd)


disk = Faulty()


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[TrailWriter]:
    disk.next = {}
    made = create_session(disk, tmp_path, SESSION_ID, TOML, FIRST_LINK, started())
    yield made
    disk.next = {}
    made.close()


@pytest.fixture
def trail(tmp_path: Path) -> Path:
    return tmp_path / SESSION_ID / "trail.csv"


def half(data: bytes) -> bytes:
    return data[: len(data) // 2]


def test_a_row_is_there_whole_once_it_has_a_number(writer: TrailWriter, trail: Path) -> None:
    for number in (1, 2, 3):
        assert writer.append(reading(number)) == number + 1 == writer.rows
        data = trail.read_bytes()
        scan = scan_trail(data, first_link=FIRST_LINK)
        assert (scan.rows, scan.last_link, scan.torn) == (writer.rows, writer.seal, b"")
        assert writer.end == len(data)
        assert writer.last_time == f"2026-05-04T08:30:0{number}.000Z"
    assert trail_links(trail.read_bytes(), 4)[-1] == writer.seal


def test_the_links_are_found_where_a_spreadsheet_put_signs_around_them(
    writer: TrailWriter, trail: Path
) -> None:
    writer.append(reading(1))
    data = trail.read_bytes()
    quoted = b"\r\n".join(
        b",".join(b'"%s"' % cell for cell in line.split(b",")) for line in data.splitlines()
    )
    assert trail_links(quoted + b"\r\n", 2) == trail_links(data, 2)
    assert trail_links(data, 2)[1] == writer.seal


@pytest.mark.parametrize(
    "fault", [OSError(errno.ENOSPC, ""), OSError(errno.EDQUOT, ""), half, lambda data: b""]
)
def test_a_full_disk_leaves_the_file_as_it_was_and_the_next_try_may_go_well(
    writer: TrailWriter, trail: Path, fault: OSError | Callable[[bytes], bytes]
) -> None:
    before = trail.read_bytes()
    disk.next["write"] = [fault]
    with pytest.raises(DiskFullError, match="NOT SAVED: the disk is full") as caught:
        writer.append(reading(1))
    assert "key it again" in caught.value.remedy
    assert (trail.read_bytes(), writer.rows, writer.is_failed) == (before, 1, False)
    assert writer.append(reading(1)) == 2


def test_a_signal_before_the_write_is_passed_over_and_told_where_it_does_not_end(
    writer: TrailWriter, trail: Path
) -> None:
    disk.next["write"] = [InterruptedError(errno.EINTR, "")] * 2
    assert writer.append(reading(1)) == 2
    before = trail.read_bytes()
    disk.next["write"] = [InterruptedError(errno.EINTR, "")] * 3
    with pytest.raises(NotSavedError, match="interrupted the write"):
        writer.append(reading(2))
    assert (trail.read_bytes(), writer.is_failed) == (before, False)
    assert writer.append(reading(2)) == 3


FATAL: list[tuple[dict[str, list[OSError | Callable[[bytes], bytes]]], str]] = [
    ({"write": [OSError(errno.EIO, "")]}, "cannot be written: the disk reported"),
    ({"write": [half], "truncate": [OSError(errno.EIO, "")]}, "only part of a row and it could not be cut"),
    ({"write": [half], "sync_data": [OSError(errno.EIO, "")]}, "only part of a row and it could not be cut"),
    ({"sync_data": [OSError(errno.EIO, "")]}, "did not confirm the row"),
    ({"read_at": [OSError(errno.EIO, "")]}, "cannot be read back"),
    ({"read_at": [lambda data: data.replace(b"1.50", b"1.58")]}, "reads back other than it was written"),
    ({"identity": [OSError(errno.EIO, "")]}, "cannot be reached"),
]


@pytest.mark.parametrize(("faults", "words"), FATAL)
def test_after_what_cannot_be_trusted_the_writer_is_finished(
    writer: TrailWriter,
    trail: Path,
    faults: dict[str, list[OSError | Callable[[bytes], bytes]]],
    words: str,
) -> None:
    before = trail.read_bytes()
    disk.next = {call: list(fault) for call, fault in faults.items()}
    for _ in range(2):  # never tried again, though the disk would take it now
        with pytest.raises(MediumFailedError, match=f"NOT SAVED: .*{words}"):
            writer.append(reading(1))
        disk.next = {}
    assert writer.is_failed
    assert writer.rows == 1
    if "confirm" in words or "cannot be read back" in words:
        assert trail.read_bytes() == before  # nobody is to take it for saved


def test_an_event_before_the_last_row_is_refused_and_nothing_written(
    writer: TrailWriter, trail: Path
) -> None:
    writer.append(noted(5, "wind"))
    before = trail.read_bytes()
    with pytest.raises(WrongUseError, match="before the last row") as caught:
        writer.append(noted(4, "earlier"))
    assert "clock" in caught.value.remedy
    assert trail.read_bytes() == before
    assert writer.append(noted(5, "at the same time")) == 3
    assert (
        START + timedelta(seconds=5) == scan_trail(trail.read_bytes(), first_link=FIRST_LINK).events[-1].time
    )


def test_a_closed_writer_takes_nothing_and_may_be_closed_again(writer: TrailWriter) -> None:
    writer.close()
    writer.close()
    with pytest.raises(MediumFailedError, match="closed in this program"):
        writer.append(reading(1))


def test_a_rehearsal_refuses_what_the_writer_would_and_writes_nothing(
    writer: TrailWriter, trail: Path
) -> None:
    """It comes as far as the writer will: to the same row, link and length."""
    before, end = trail.read_bytes(), writer.end
    tried = writer.rehearsal()
    assert [tried.append(reading(number)) for number in (1, 2)] == [2, 3]
    with pytest.raises(WrongUseError, match="before the last row"):
        tried.append(noted(1, "earlier"))
    with pytest.raises(BadInputError):
        tried.append(noted(3, "\x1b"))
    tried.close()
    assert (trail.read_bytes(), writer.rows, writer.end) == (before, 1, end)
    for number in (1, 2):
        writer.append(reading(number))
    assert (writer.rows, writer.seal, writer.end) == (tried.rows, tried.seal, tried.end)


def test_a_finished_writer_is_rehearsed_as_one(writer: TrailWriter) -> None:
    writer.close()
    with pytest.raises(MediumFailedError, match="closed in this program"):
        writer.rehearsal().append(reading(1))
