"""The second copy's medium is full, or pulled out in the middle of the walk (a real file system; root)."""

from __future__ import annotations

import subprocess
from contextlib import suppress
from pathlib import Path

import pytest

from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from tests.crash.loop_disk import NoLoopDiskError, small_tmpfs
from tests.desk.scenes import QuickDisk
from tests.ui.test_second_copy import looked
from tests.ui.walking import LOW, Ticking, begin_desk, route_text, walking


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(60), encoding="utf-8")
    (tmp_path / "stick").mkdir()
    workspace = Workspace(tmp_path, QuickDisk())
    workspace.copy_to = tmp_path / "stick"
    return workspace


async def test_a_stick_pulled_out_and_put_back(workspace: Workspace, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    try:
        with small_tmpfs(stick, "1m"):
            desk = begin_desk(workspace)
            async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, LOW) as hand:
                await hand.press("‹1.11›", "enter")
                assert "COPY OK" in await looked(hand, desk)
                held = tmp_path / "held"
                held.mkdir()
                subprocess.run(["mount", "--bind", str(stick), str(held)], check=True)  # the stick in a hand
                subprocess.run(["umount", "--lazy", str(stick)], check=True)
                try:
                    await hand.press("‹1.12›", "enter")
                    assert "RECORDED 2 " in hand.screen()
                    screen = await looked(hand, desk)
                    assert "COPY FAILED" in screen
                    assert "another medium is there now" in screen
                    assert not list(stick.iterdir()), "nothing was put where the stick used to be"
                    subprocess.run(["mount", "--bind", str(held), str(stick)], check=True)
                    await hand.press("‹1.13›", "enter")
                    assert "COPY OK" in await looked(hand, desk)
                    copy = (stick / desk.folder.name / "trail.csv").read_bytes()
                    assert copy == (desk.folder / "trail.csv").read_bytes()
                finally:
                    subprocess.run(["umount", "--lazy", str(held)], check=True)
    except NoLoopDiskError as error:
        pytest.skip(f"no file system can be mounted here: {error}")


async def test_a_full_stick(workspace: Workspace, tmp_path: Path) -> None:
    try:
        with small_tmpfs(tmp_path / "stick", "160k"):
            desk = begin_desk(workspace)
            async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, LOW) as hand:
                filler = tmp_path / "stick" / "filler"
                await looked(hand, desk)
                with filler.open("wb", buffering=0) as file, suppress(OSError):
                    while file.write(b"x" * 512):
                        pass
                assert desk.copying is not None
                for _ in range(60):  # until the last block of the copy is full
                    desk.note("a remark " * 12)
                    if desk.copying.wait().trouble:
                        break
                await hand.press("‹1.11›", "enter")
                assert "RECORDED 1 " in hand.screen()
                said = await looked(hand, desk)
                assert "COPY FAILED" in said
                assert "the disk is full" in said
                filler.unlink()
                await hand.press("‹1.11›", "enter")
                assert "COPY OK" in await looked(hand, desk)
                copy = (tmp_path / "stick" / desk.folder.name / "trail.csv").read_bytes()
                assert copy == (desk.folder / "trail.csv").read_bytes()
    except NoLoopDiskError as error:
        pytest.skip(f"no file system can be mounted here: {error}")
