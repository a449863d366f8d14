"""What the system may do to a running program: end it, suspend it, resize it, take its terminal away."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import resume_session
from fieldtui.desk.verifying import verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk

if sys.platform == "win32":
    pytest.skip("a pseudo-terminal and signals are wanted", allow_module_level=True)

from tests.crash.terminal import Terminal
from tests.crash.test_kill import begin_long_session

ALTERNATE_SCREEN_OFF, CURSOR_ON = b"\x1b[?1049l", b"\x1b[?25h"


class Walk:
    """The program on its walk screen, one reading recorded."""

    def __init__(self, workspace: Path) -> None:
        self.workspace = workspace
        self.folder = begin_long_session(workspace)
        self.terminal = Terminal(["resume", str(self.folder)], workspace)
        self.is_over = False
        self.terminal.wait_for("P-0001")
        self.take(1)

    def take(self, number: int) -> None:
        self.terminal.send(f"1.{number:03d}\r")
        self.terminal.wait_for(f"RECORDED {number}")

    def look(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while time.monotonic() < until and self.terminal.look(0.05):
            pass

    def wait_for_raw(self, wanted: bytes, since: int) -> None:
        until = time.monotonic() + 20
        while wanted not in self.terminal.raw[since:]:
            assert time.monotonic() < until and self.terminal.look(0.1), f"{wanted!r} never came"

    def check(self, readings: int) -> None:
        """Nothing is lost, the lock is free, and the session goes on at the next point."""
        found = verify_session(Disk(), self.folder)
        assert (found.ok, found.readings) == (True, readings), found.problems
        with resume_session(Workspace(self.workspace, Disk()), self.folder, SystemClock()) as desk:
            here = desk.survey.here
            assert here is not None and here.id == f"P-{readings + 1:04d}"


@pytest.fixture
def walk(tmp_path: Path) -> Iterator[Walk]:
    walk = Walk(tmp_path)
    yield walk
    if not walk.is_over:
        walk.terminal.kill()


def test_asked_to_end_it_leaves_in_order(walk: Walk) -> None:
    since = len(walk.terminal.raw)
    walk.terminal.signal(signal.SIGTERM)
    walk.is_over = True
    assert walk.terminal.wait_for_end() == 128 + signal.SIGTERM
    printed = bytes(walk.terminal.raw[since:])
    assert ALTERNATE_SCREEN_OFF in printed and CURSOR_ON in printed
    assert b"Traceback" not in walk.terminal.raw
    walk.check(1)


def test_asked_to_end_in_a_dialog_it_writes_nothing_half(walk: Walk) -> None:
    walk.terminal.send("s")  # skip: the list of reasons
    walk.terminal.wait_for("Esc")
    walk.terminal.signal(signal.SIGTERM)
    walk.is_over = True
    assert walk.terminal.wait_for_end() == 128 + signal.SIGTERM
    walk.check(1)


def test_a_terminal_that_is_gone_ends_it(walk: Walk) -> None:
    walk.terminal.hang_up()
    walk.is_over = True
    assert walk.terminal.wait_without_terminal() == -signal.SIGHUP
    walk.check(1)


def test_a_hang_up_with_a_value_under_way_loses_nothing_that_was_acknowledged(walk: Walk) -> None:
    walk.terminal.send("1.002\r")
    walk.terminal.signal(signal.SIGHUP)
    walk.is_over = True
    assert walk.terminal.wait_for_end() == -signal.SIGHUP
    found = verify_session(Disk(), walk.folder)
    assert found.ok
    assert found.readings == (2 if "RECORDED 2" in walk.terminal.text else found.readings)
    assert found.readings in (1, 2)
    walk.check(found.readings)


def test_suspended_and_resumed_it_goes_on_where_it_was(walk: Walk) -> None:
    walk.terminal.send("1.0")  # half of a value stands on the line
    walk.terminal.wait_for("> 1.0")
    since = len(walk.terminal.raw)
    walk.terminal.signal(signal.SIGTSTP)
    walk.wait_for_raw(ALTERNATE_SCREEN_OFF, since)
    walk.look(0.3)
    assert walk.terminal.is_stopped()
    since = len(walk.terminal.raw)
    walk.terminal.signal(signal.SIGCONT)
    walk.wait_for_raw(b"\x1b[?1049h", since)
    walk.look(0.3)
    walk.terminal.send("02\r")
    walk.terminal.wait_for("RECORDED 2")
    walk.take(3)
    walk.terminal.kill()
    walk.is_over = True
    walk.check(3)


def test_resized_to_a_sliver_and_back_it_records_nothing_unseen_and_loses_nothing(walk: Walk) -> None:
    whole = walk.terminal.text
    for columns, rows in ((20, 5), (1, 1), (200, 60), (20, 5)):
        walk.terminal.resize(columns, rows)
        walk.look(0.3)
    walk.terminal.send("1.002\r")  # where nobody can see what is recorded nothing is, and it stays keyed
    walk.look(0.3)
    walk.terminal.resize(80, 24)
    walk.terminal.wait_for("> 1.002")
    assert "too small" in walk.terminal.text and "RECORDED 2" not in walk.terminal.text
    walk.terminal.send("\r")
    walk.terminal.wait_for("RECORDED 2")
    walk.look(0.5)
    assert b"Traceback" not in walk.terminal.raw
    lines = walk.terminal.text.splitlines()
    assert lines[-2:] == whole.splitlines()[-2:], "the key bar is not as it was before"
    walk.take(3)
    walk.terminal.kill()
    walk.is_over = True
    walk.check(3)
