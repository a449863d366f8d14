"""The whole program with a disk that fails: what the recorder sees on the real walk screen.

A value that did not reach the disk stays on the line, with NOT SAVED and the reason; RECORDED is
never said of it; nobody sees a traceback; and what was recorded before is there.
"""

from __future__ import annotations

import asyncio
import errno
import shutil
import subprocess
import sys
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import DiskFullError
from fieldtui.files.disk import Disk, reason
from fieldtui.ui.app import FieldApp
from tests.crash.loop_disk import NoLoopDiskError, loop_disk, small_tmpfs
from tests.crash.test_faults import SHORT, Fault, fault_name
from tests.desk.scenes import QuickDisk, Scene, SetClock
from tests.ui.walking import HIGH, Hand, Ticking, begin_desk, route_text, walking

APPEND_CALLS = 5  # identity, path, write, sync, read back
LOST_WORDS = ("Traceback", "Error:", "did not expect")


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    return workspace_in(tmp_path)


def workspace_in(root: Path, disk: Disk | None = None) -> Workspace:
    (root / "routes").mkdir()
    (root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    return Workspace(root, disk or QuickDisk())


@asynccontextmanager
async def walk_in(workspace: Workspace) -> AsyncIterator[tuple[Hand, Desk]]:
    """The walk screen over a fresh session with one reading taken."""
    desk = begin_desk(workspace)
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, HIGH) as hand:
        await hand.press("‹1.11›", "enter")
        assert "RECORDED 1 " in hand.screen()
        yield hand, desk


def found(desk: Desk) -> ReadSession:
    """What a reviewer finds, through a disk that works."""
    return read_session(Disk(), desk.folder)


async def key_and_see(hand: Hand, value: str, number: int, unsaid: int = 0) -> bool:
    """Key a value and hold what is said against what is on the disk; whether it was recorded."""
    before = len(hand.rows("reading"))
    await hand.press(f"‹{value}›", "enter")
    return see(hand, value, number, before, unsaid)


def see(hand: Hand, value: str, number: int, before: int, unsaid: int = 0) -> bool:
    """The same for what stands there now. ``unsaid`` rows may be on the disk that nobody is told of."""
    screen = hand.screen()
    assert not any(words in screen for words in LOST_WORDS)
    assert hand.app.return_code is None, "the program has ended"
    is_recorded = f"RECORDED {number} " in screen
    if is_recorded:
        assert hand.rows("reading")[-1]["value"] == value
        assert hand.walk.entry.text == ""
    else:
        assert "NOT SAVED" in screen
        assert hand.walk.entry.text == value, "the value left the line"
        assert len(hand.rows("reading")) - before in (0, unsaid)
    return is_recorded


# --- each call of an append in turn -------------------------------------------------------------


CALLS = range(1, APPEND_CALLS + 1)
WRITE, SYNC = 3, 4
FAULTS = [
    *((errno.EIO, nth, is_lasting) for nth in CALLS for is_lasting in (False, True)),
    *((errno.ENOSPC, nth, is_lasting) for nth in (WRITE, SYNC) for is_lasting in (False, True)),
    *((number, WRITE, is_lasting) for number in (SHORT, errno.EINTR) for is_lasting in (False, True)),
]


@pytest.mark.parametrize(
    ("number", "nth", "is_lasting"),
    FAULTS,
    ids=[f"{fault_name(n)} at {nth} {'for ever' if ever else 'once'}" for n, nth, ever in FAULTS],
)
async def test_each_call_of_an_append_failing(
    workspace: Workspace, number: int, nth: int, is_lasting: bool
) -> None:
    # A disk that never answers again cannot be made to take back what it was given before.
    unsaid = 1 if is_lasting and nth >= SYNC else 0
    async with walk_in(workspace) as (hand, desk):
        Fault(workspace.disk, number, nth, is_lasting=is_lasting)
        is_said = await key_and_see(hand, "1.38", 2, unsaid)
        if not is_said:
            first = hand.screen()
            why = "the disk is full" if number == SHORT else reason(OSError(number, ""))
            assert why in first or "interrupted the write" in first
            await hand.press("enter")  # a second try: it says the same, or the fault is over
            is_said = see(hand, "1.38", 2, 1, unsaid)
        assert is_said is (not is_lasting and nth == WRITE and number != errno.EIO)
    session = found(desk)
    assert session.is_intact
    values = [str(each.reading.value) for each in session.survey.records.values()]
    assert values == ["1.11", "1.38"][: 1 + max(is_said, unsaid)]
    with resume_session(Workspace(workspace.root, Disk()), desk.folder, Ticking()) as again:
        assert len(again.survey.records) == len(values)


async def test_an_append_makes_no_more_calls_than_were_let_fail(workspace: Workspace) -> None:
    async with walk_in(workspace) as (hand, _):
        fault = Fault(workspace.disk, errno.EIO, 1000, is_lasting=False)
        assert await key_and_see(hand, "1.38", 2)
        assert fault.calls == APPEND_CALLS


@pytest.mark.parametrize("number", [errno.EROFS, errno.EDQUOT, errno.EACCES, errno.ENODEV], ids=fault_name)
@pytest.mark.parametrize("call", ["write", "sync_data"])
async def test_the_reason_is_said(
    workspace: Workspace, number: int, call: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with walk_in(workspace) as (hand, desk):

        def fail(*_: object) -> int:
            raise OSError(number, "told to fail")

        monkeypatch.setattr(workspace.disk, call, fail)
        assert not await key_and_see(hand, "1.38", 2)
        said = hand.screen().replace("\n", " ")
        assert reason(OSError(number, "")) in said or "the disk is full" in said
        await hand.press("enter")
        see(hand, "1.38", 2, 1)
    assert len(found(desk).survey.records) == 1


# --- media ----------------------------------------------------------------------------------------


async def test_a_full_disk_takes_the_value_once_there_is_room(tmp_path: Path) -> None:
    try:
        with small_tmpfs(tmp_path, "128k"):
            async with walk_in(workspace_in(tmp_path)) as (hand, desk):
                ballast = tmp_path / "ballast"
                with ballast.open("wb", buffering=0) as file:
                    try:
                        while file.write(b"x" * 4096):
                            pass
                    except OSError as error:
                        assert error.errno == errno.ENOSPC
                with pytest.raises(DiskFullError):  # the trail's last page has room yet
                    while True:
                        desk.note("x" * 450)
                number = 2
                while await key_and_see(hand, f"1.{number:02d}", number):
                    number += 1
                    assert number < 12
                assert "the disk is full" in hand.screen()
                assert found(desk).is_intact
                ballast.unlink()
                await hand.press("enter")
                assert see(hand, f"1.{number:02d}", number, number - 1)
                assert len(found(desk).survey.records) == number
    except NoLoopDiskError as error:
        pytest.skip(f"no small disk here: {error}")


async def test_a_medium_pulled_out_keeps_the_value_on_the_line(tmp_path: Path) -> None:
    try:
        with loop_disk(tmp_path) as loop:
            async with walk_in(workspace_in(loop.place, Disk())) as (hand, desk):
                loop.cut_power()
                await hand.press("‹1.38›", "enter")
                screen = hand.screen()
                assert "NOT SAVED" in screen and "RECORDED 2" not in screen
                assert hand.walk.entry.text == "1.38"
                assert "CANNOT SAVE" in screen
                assert not any(words in screen for words in LOST_WORDS)
            loop.remount()
            assert len(found(desk).survey.records) == 1
    except NoLoopDiskError as error:
        pytest.skip(f"no loop disk here: {error}")


async def test_a_mount_that_is_gone_keeps_the_value_on_the_line(tmp_path: Path) -> None:
    """Taken away while files on it are open: writing to them would still succeed, and reach nobody."""
    try:
        with small_tmpfs(tmp_path, "4m"):
            async with walk_in(workspace_in(tmp_path)) as (hand, desk):
                kept = tmp_path.parent / "kept"
                shutil.copytree(desk.folder, kept)
                subprocess.run(["umount", "--lazy", str(tmp_path)], check=True, timeout=20)
                for _ in range(2):
                    await hand.press("‹1.38›" if not hand.walk.entry.text else "enter", "enter")
                    screen = hand.screen()
                    assert "NOT SAVED" in screen and "RECORDED 2" not in screen
                    assert hand.walk.entry.text == "1.38"
                    assert "CANNOT SAVE" in screen
                    assert not any(words in screen for words in LOST_WORDS)
                assert len(read_session(Disk(), kept).survey.records) == 1
            subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(tmp_path)], check=True, timeout=20)
    except NoLoopDiskError as error:
        pytest.skip(f"no small disk here: {error}")


# --- another program at the file ---------------------------------------------------------------


def replace(folder: Path) -> None:
    copy = folder / "copy"
    copy.write_bytes((folder / "trail.csv").read_bytes())
    copy.replace(folder / "trail.csv")


def truncate(folder: Path) -> None:
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes()[:-40])


def append(folder: Path) -> None:
    with (folder / "trail.csv").open("ab") as file:
        file.write(b"hello\n")


def unlink(folder: Path) -> None:
    (folder / "trail.csv").unlink()


def second_name(folder: Path) -> None:
    (folder / "other.csv").hardlink_to(folder / "trail.csv")


def folder_gone(folder: Path) -> None:
    folder.rename(folder.with_name("elsewhere"))


MEDDLERS: dict[Callable[[Path], None], str] = {
    replace: "replaced by another program",
    truncate: "changed by another program",
    append: "changed by another program",
    unlink: "deleted or moved",
    second_name: "second name",
    folder_gone: "deleted or moved",
}


@pytest.mark.skipif(sys.platform == "win32", reason="an open file cannot be replaced there")
@pytest.mark.parametrize(
    ("meddle", "words"), MEDDLERS.items(), ids=lambda each: getattr(each, "__name__", "")
)
async def test_a_file_that_another_program_was_at_is_left_alone(
    workspace: Workspace, meddle: Callable[[Path], None], words: str
) -> None:
    async with walk_in(workspace) as (hand, desk):
        meddle(desk.folder)
        left = {path: path.read_bytes() for path in desk.folder.parent.rglob("*.csv") if path.is_file()}
        for _ in range(2):  # and it stays so
            await hand.press("‹1.38›" if not hand.walk.entry.text else "enter", "enter")
            assert "NOT SAVED" in hand.screen()
            assert "RECORDED 2" not in hand.screen()
            assert hand.walk.entry.text == "1.38"
        assert desk.is_failed
        assert not any(each in hand.screen() for each in LOST_WORDS)
        assert {path: path.read_bytes() for path in left} == left
    assert words in desk._trail._trouble


# --- the clock ------------------------------------------------------------------------------------


@pytest.mark.parametrize("step", [-3600.0, 365 * 86400.0], ids=["back an hour", "forward a year"])
async def test_a_stepped_clock_is_on_record_and_time_never_goes_back(tmp_path: Path, step: float) -> None:
    clock = SetClock()
    scene = Scene(tmp_path, clock=clock)
    desk = scene.begin()
    async with walking(FieldApp(scene.workspace, clock, desk=desk), desk, HIGH) as hand:
        assert await key_and_see(hand, "1.11", 1)
        clock.tick(60)
        clock.step(step)
        assert await key_and_see(hand, "1.38", 2)
        clock.tick(60)
        assert await key_and_see(hand, "1.39", 3)
    session = found(desk)
    assert session.is_intact and session.problems == ()
    times = [event.time for event in session.events]
    assert times == sorted(times)
    (told,) = (event for event in session.events if event.kind == "clock")
    assert told.note.endswith(f"{'forward' if step > 0 else 'back'} by {abs(step):.0f} s")


# --- a slow disk ----------------------------------------------------------------------------------


class HeldDisk(QuickDisk):
    """Its sync does not come back before ``gate`` is open. How long a person waits is the bench's to say."""

    def __init__(self) -> None:
        self.gate = threading.Event()
        self.gate.set()
        self.is_asked = threading.Event()
        self.syncs = 0

    def sync_data(self, fd: int) -> None:
        self.syncs += 1
        self.is_asked.set()
        assert self.gate.wait(60), "the sync waits for the screen, and the screen for the sync"


async def test_a_slow_sync_leaves_the_screen_alive_and_records_once(tmp_path: Path) -> None:
    """That this test's own lines run at all while the sync is held shows that the screen's loop is free."""
    disk = HeldDisk()
    async with walk_in(workspace_in(tmp_path, disk)) as (hand, _):
        await hand.press("‹1.38›")
        disk.gate.clear()
        disk.is_asked.clear()
        syncs = disk.syncs
        await hand.pilot.press("enter", "enter", "enter")
        assert await asyncio.to_thread(disk.is_asked.wait, 60)
        await hand.pilot.press("enter")
        await hand.until("SAVING")
        screen = hand.screen()
        assert "1.38…" in screen and "RECORDED 2" not in screen
        assert not disk.gate.is_set() and disk.syncs == syncs + 1, "the sync was not what held it up"
        disk.gate.set()
        await hand.settle()
        await hand.settle()
        assert "RECORDED 2 " in hand.screen() and "SAVING" not in hand.screen()
        assert [row["value"] for row in hand.rows("reading")] == ["1.11", "1.38"]
        assert disk.syncs == syncs + 1


async def test_leaving_while_the_disk_is_slow_waits_for_what_is_on_its_way(tmp_path: Path) -> None:
    disk = HeldDisk()
    async with walk_in(workspace_in(tmp_path, disk)) as (hand, desk):
        await hand.press("‹1.38›")
        disk.gate.clear()
        disk.is_asked.clear()
        await hand.pilot.press("enter")
        assert await asyncio.to_thread(disk.is_asked.wait, 60)
        leaving = asyncio.create_task(hand.app.action_leave_program())
        await hand.pilot.pause()
        assert not leaving.done(), "it left while a value was on its way"
        disk.gate.set()
        await leaving
    assert [str(each.reading.value) for each in found(desk).survey.records.values()] == ["1.11", "1.38"]


# --- the system's own calls failing, under strace ------------------------------------------------

if sys.platform != "win32":
    from tests.crash.terminal import Terminal
    from tests.crash.test_kill import begin_long_session

INJECTIONS = {
    "fdatasync: EIO": ("fdatasync", "error=EIO", "The disk did not confirm the row"),
    "fdatasync: ENOSPC": ("fdatasync", "error=ENOSPC", "The disk did not confirm the row"),
    "write: ENOSPC": ("write", "error=ENOSPC", "the disk is full"),
    "write: short": ("write", "retval=7", "the disk is full"),
    "pread64: EIO": ("pread64", "error=EIO", "cannot be read back"),
}


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is wanted")
@pytest.mark.parametrize(("call", "fault", "words"), INJECTIONS.values(), ids=INJECTIONS.keys())
def test_the_system_s_own_call_failing(tmp_path: Path, call: str, fault: str, words: str) -> None:
    folder = begin_long_session(tmp_path)
    before = (folder / "trail.csv").read_bytes()
    # The tracer counts for each thread: opening takes less than five calls of each kind on the program's
    # main thread; on the writer's thread the fifth is that of the fifth reading.
    strace = ["strace", "--follow-forks", "--seccomp-bpf", "--output=/dev/null"]
    strace += [f"--trace-path={folder / 'trail.csv'}", f"--inject={call}:{fault}:when=5+"]
    terminal = Terminal(["resume", str(folder)], tmp_path, columns=120, rows=40, under=strace)
    try:
        terminal.wait_for("P-0001")
        for number in range(1, 5):
            terminal.send(f"1.{number}\r")
            terminal.wait_for(f"RECORDED {number} ")
        terminal.send("1.5\r")
        terminal.wait_for("NOT SAVED")
        assert words in " ".join(terminal.text.split())
        assert "RECORDED 5" not in terminal.text
        terminal.wait_for("> 1.5")  # the row below may come a moment later
        assert b"Traceback" not in terminal.raw
    finally:
        terminal.kill()
    after = (folder / "trail.csv").read_bytes()
    assert after.startswith(before)
    session = read_session(Disk(), folder)
    assert [str(each.reading.value) for each in session.survey.records.values()] == [
        "1.1",
        "1.2",
        "1.3",
        "1.4",
    ]
