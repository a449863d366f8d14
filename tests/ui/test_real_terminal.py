"""The real program in a pseudo-terminal: what it switches on there, and the way back after a crash."""

from __future__ import annotations

import re
import signal
import sys
import time
from pathlib import Path

import pytest

from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.held_keys import KeyedApp
from tests.ui.walking import begin_desk

if sys.platform == "win32":
    pytest.skip("a pseudo-terminal is wanted", allow_module_level=True)

from tests.crash.terminal import Terminal

# Private modes of xterm that report the mouse (xterm, Control Sequences; from memory).
MOUSE = re.compile(rb"\x1b\[\?(?:[0-9;]*;)?(?:9|1000|1001|1002|1003|1005|1006|1015|1016)(?:;[0-9;]*)?h")


def test_the_mouse_is_left_to_the_terminal_and_resume_is_three_words_and_keys(workspace: Workspace) -> None:
    """``fieldtui``, ``resume``, Enter; then the next value is keyed without any key between."""
    desk = begin_desk(workspace)
    desk.record(desk.weigh("1.38"))
    desk.leave()  # what a dead program's lock does by itself
    terminal = Terminal(["resume"], workspace.root)
    terminal.wait_for("SW-02")
    terminal.wait_for("RECORD")
    terminal.send("1.29\r")
    terminal.wait_for("RECORDED 2")
    terminal.send("q")
    assert terminal.wait_for_end() == 0
    assert b"\x1b[?1049h" in terminal.raw, "no screen was opened: the test looks at nothing"
    assert not MOUSE.findall(bytes(terminal.raw))
    readings = read_session(Disk(), desk.folder).survey.records
    assert [readings[number].reading.digits for number in (1, 2)] == ["1.38", "1.29"]


def test_from_the_start_screen_the_open_session_is_one_enter_away(workspace: Workspace) -> None:
    desk = begin_desk(workspace)
    desk.record(desk.weigh("1.38"))
    desk.leave()
    terminal = Terminal([], workspace.root)
    terminal.wait_for(desk.session.id[:20])
    terminal.send("\r")
    terminal.wait_for("value mΩ")
    terminal.send("1.29\r")
    terminal.wait_for("RECORDED 2")
    terminal.send("q")
    terminal.wait_for("quit")
    terminal.send("q")
    assert terminal.wait_for_end() == 0
    assert not MOUSE.findall(bytes(terminal.raw))


def test_keys_typed_ahead_of_every_page_are_neither_lost_nor_shifted(workspace: Workspace) -> None:
    """Opening, a value, a list keyed blind: all of it is sent before anything has opened."""
    desk = begin_desk(workspace)
    for value in ("1.38", "1.31", "1.29"):
        desk.record(desk.weigh(value))
    desk.leave()
    terminal = Terminal([], workspace.root)
    terminal.wait_for(desk.session.id[:20])
    terminal.send("\r1.27\rh21.38\r1.31\r1.29\r1.2")
    terminal.wait_for("number 8: value?")
    terminal.wait_for(" 1.2")
    terminal.send("7\r\r11")  # what takes over was pressed before the comparison could be seen
    terminal.wait_for("nothing differs")
    terminal.wait_for("do not count")
    assert "RECONCILE" in terminal.text and "TAKEN OVER" not in terminal.text
    until = time.monotonic() + 3 * KeyedApp.HURRY_S  # the hand stops, and the comparison is read
    while time.monotonic() < until:
        terminal.look(0.1)
    terminal.send("1")
    terminal.wait_for("own words")
    terminal.send("1")
    terminal.wait_for("TAKEN OVER")
    terminal.send("-")
    terminal.wait_for("RECONCILED  run 1")
    terminal.kill()
    survey = read_session(Disk(), desk.folder).survey
    assert [survey.records[n].reading.digits for n in (1, 2, 3, 4)] == ["1.38", "1.31", "1.29", "1.27"]
    assert set(survey.reconciled) == {1}


def test_the_pattern_sees_the_mouse_being_switched_on() -> None:
    for sent in (b"\x1b[?1000h", b"\x1b[?1003h\x1b[?1015h", b"\x1b[?1006;1000h"):
        assert MOUSE.search(sent)
    assert not MOUSE.search(b"\x1b[?1049h\x1b[?2004h\x1b[?1000l\x1b[?25h")


def test_no_place_runs_the_toolkit_with_a_mouse() -> None:
    ui = Path(__file__).parents[2] / "fieldtui" / "ui"
    lines = [line for path in ui.rglob("*.py") for line in path.read_text("utf-8").splitlines()]
    runs = [line for line in lines if "app.run(" in line]
    assert runs and all("mouse=False" in line for line in runs), runs


@pytest.mark.parametrize(("keys", "code"), [("\x03", 0), ("q", 0)])
def test_leaving_in_the_middle_says_how_to_resume(workspace: Workspace, keys: str, code: int) -> None:
    desk = begin_desk(workspace)
    desk.leave()
    terminal = Terminal(["resume"], workspace.root)
    terminal.wait_for("value mΩ")
    terminal.send("1.38\r")
    terminal.wait_for("RECORDED 1")
    terminal.send(keys)
    assert terminal.wait_for_end() == code
    after = bytes(terminal.raw).rpartition(b"\x1b[?1049l")[2].decode()  # once the screen is as it was
    assert "The session is open at SW-02." in after
    assert f"fieldtui resume {desk.session.id}" in after


def test_a_termination_signal_says_so_too(workspace: Workspace) -> None:
    desk = begin_desk(workspace)
    desk.leave()
    terminal = Terminal(["resume"], workspace.root)
    terminal.wait_for("value mΩ")
    terminal.signal(signal.SIGTERM)
    assert terminal.wait_for_end() == 128 + signal.SIGTERM
    assert f"fieldtui resume {desk.session.id}" in bytes(terminal.raw).rpartition(b"\x1b[?1049l")[2].decode()
