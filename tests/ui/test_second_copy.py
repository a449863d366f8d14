"""What the recorder sees of the second copy while walking."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.desk.copying import CopyState
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from fieldtui.ui.phrases import copy_in_words
from fieldtui.ui.screens.walk import WalkScreen
from tests.desk.scenes import QuickDisk
from tests.ui.walking import LOW, Hand, Ticking, begin_desk, route_text, walking


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(4), encoding="utf-8")
    workspace = Workspace(tmp_path, QuickDisk())
    workspace.copy_to = tmp_path / "stick"
    return workspace


async def looked(hand: Hand, desk: Desk) -> str:
    """The screen, once the copy is at rest and the walk has looked at it."""
    assert desk.copying is not None
    desk.copying.wait()
    walk = hand.app.screen
    assert isinstance(walk, WalkScreen)
    walk.look_at_copy()
    await hand.settle()
    return hand.screen()


async def test_a_copy_that_is_up_to_date_is_said_in_the_title(workspace: Workspace, tmp_path: Path) -> None:
    (tmp_path / "stick").mkdir()
    desk = begin_desk(workspace)
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, LOW) as hand:
        await hand.press("‹1.11›", "enter")
        assert "COPY ON SAME DISK" in (await looked(hand, desk)).splitlines()[0]
    copy = tmp_path / "stick" / desk.folder.name / "trail.csv"
    assert copy.read_bytes() == (desk.folder / "trail.csv").read_bytes()


async def test_a_missing_stick_is_said_and_the_reading_is_recorded(
    workspace: Workspace, tmp_path: Path
) -> None:
    desk = begin_desk(workspace)
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, LOW) as hand:
        await hand.press("‹1.11›", "enter")
        assert "RECORDED 1 " in hand.screen()
        screen = await looked(hand, desk)
        assert "COPY FAILED" in screen.splitlines()[0]
        assert "its folder is not there" in screen
        assert "NOT SAVED" not in screen
        (tmp_path / "stick").mkdir()
        await hand.press("‹1.12›", "enter")
        screen = await looked(hand, desk)
        assert "COPY ON SAME DISK" in screen
        assert "its folder is not there" not in screen


def test_the_words_for_how_the_copy_stands() -> None:
    state = CopyState("stick/S1", recorded=5, copied=5)
    assert copy_in_words(state) == "COPY OK"
    assert copy_in_words(replace(state, copied=3)) == "COPY 2 BEHIND"
    assert copy_in_words(replace(state, copied=3, trouble="gone")) == "COPY FAILED"


async def test_nothing_is_said_where_no_copy_is_kept(workspace: Workspace) -> None:
    workspace.copy_to = None
    desk = begin_desk(workspace)
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, LOW) as hand:
        assert "COPY" not in hand.screen()
    assert Disk().is_file(desk.folder / "trail.csv")
