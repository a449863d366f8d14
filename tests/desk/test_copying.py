"""The second copy beside the desk: it follows by itself, and no reading waits for it or fails with it."""

from __future__ import annotations

import errno
import shutil
import threading
from pathlib import Path

import pytest

from fieldtui.core.trail.chain import seal_groups
from fieldtui.desk.copying import Copying
from fieldtui.desk.opening import reopen_session, resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import Paper, verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.session.second_copy import SecondCopy
from tests.desk.scenes import QuickDisk, Scene, record


class StickDisk(QuickDisk):
    """A disk whose calls at the stick wait for a gate, or fail."""

    def __init__(self, stick: Path) -> None:
        self.stick = stick
        self.gate = threading.Event()
        self.gate.set()
        self.fails = False

    def open_append(self, path: Path) -> int:
        if path.is_relative_to(self.stick):
            assert self.gate.wait(30)
            if self.fails:
                raise OSError(errno.EIO, "told to fail")
        return super().open_append(path)


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    (tmp_path / "stick").mkdir()
    scene = Scene(tmp_path, StickDisk(tmp_path / "stick"))
    scene.workspace.copy_to = tmp_path / "stick"
    return scene


def copy_of(desk: Desk, scene: Scene) -> Path:
    return scene.root / "stick" / desk.folder.name


def is_same(desk: Desk, scene: Scene) -> bool:
    names = ("session.toml", "trail.csv")
    return all(
        (desk.folder / name).read_bytes() == (copy_of(desk, scene) / name).read_bytes() for name in names
    )


def stick_disk(scene: Scene) -> StickDisk:
    assert isinstance(scene.disk, StickDisk)
    return scene.disk


def test_the_copy_has_every_row_once_the_session_is_left(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        assert desk.copying is not None
        state = desk.copying.wait()
        assert (state.recorded, state.behind, state.trouble) == (desk.rows, 0, "")
        record(desk, "1.3")
    assert is_same(desk, scene)


def test_a_resumed_and_a_reopened_session_is_copied_too(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    with scene.resume(desk.folder) as again:
        record(again, "1.2")
        again.close()
    assert is_same(desk, scene)
    with reopen_session(scene.workspace, desk.folder, scene.clock, "a strap was missed") as again:
        record(again, "1.3")
    assert is_same(desk, scene)


def test_the_copy_is_a_session_that_can_be_gone_on_with(scene: Scene) -> None:
    """The laptop is lost: its stick goes into another one."""
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        seal, rows = seal_groups(desk.seal), desk.rows
    copy = copy_of(desk, scene)
    assert verify_session(Disk(), copy, Paper.copied(seal, rows)).ok
    shutil.rmtree(desk.folder)
    other = Workspace(scene.root, QuickDisk())
    with resume_session(other, copy, scene.clock) as again:
        assert again.survey.next_record == 3
        record(again, "1.3")
        assert len(again.survey.records) == 3


def test_a_reading_does_not_wait_for_a_stick_that_hangs(scene: Scene) -> None:
    stick_disk(scene).gate.clear()
    desk = scene.begin()
    record(desk, "1.1", "1.2")  # comes back though the stick does not answer
    assert desk.copying is not None
    assert len(desk.survey.records) == 2
    assert desk.copying.state.behind == desk.rows
    stick_disk(scene).gate.set()
    assert desk.copying.wait().behind == 0
    desk.leave()
    assert is_same(desk, scene)


def test_a_stick_that_fails_costs_nothing_and_is_tried_again(scene: Scene) -> None:
    stick_disk(scene).fails = True
    with scene.begin() as desk:
        record(desk, "1.1")
        assert desk.copying is not None
        state = desk.copying.wait()
        assert "read or write error" in state.trouble
        assert state.behind == desk.rows
        assert not desk.is_failed
        stick_disk(scene).fails = False
        record(desk, "1.2")
        assert desk.copying.wait().trouble == ""
    assert is_same(desk, scene)


def test_leaving_waits_for_a_hanging_stick_only_for_a_while(scene: Scene, tmp_path: Path) -> None:
    disk = stick_disk(scene)
    with scene.begin() as desk:
        pass
    disk.gate.clear()
    copying = Copying(SecondCopy(disk, desk.folder, tmp_path / "stick" / "other"))
    copying.follow(10, 1)
    assert copying.finish(patience_s=0.01).behind == 1
    disk.gate.set()


def test_no_copy_is_kept_where_none_is_asked_for(tmp_path: Path) -> None:
    scene = Scene(tmp_path)
    with scene.begin() as desk:
        assert desk.copying is None
