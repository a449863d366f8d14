"""Earlier surveys are those of the same route and asset that lie beside the session, oldest first."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.desk.earlier import earlier_of
from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.ui.test_start import take, workspace_in


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    return workspace_in(tmp_path, wing="Wing bonds", hull="Hull bonds")


def test_values_of_the_surveys_before_come_oldest_first(workspace: Workspace) -> None:
    disk = Disk()
    take(workspace, "wing", "1.1", "1.5")
    take(workspace, "wing", "1.2")
    take(workspace, "hull", "9.9")
    last = take(workspace, "wing", "1.3")
    after = take(workspace, "wing", "1.4")
    found = earlier_of(workspace, read_session(disk, last))
    assert found.surveys == 2
    assert [str(each.reading.value) for each in found.of("SW-01")] == ["1.1 mΩ", "1.2 mΩ"]
    assert [str(each.reading.value) for each in found.of("SW-02")] == ["1.5 mΩ"]
    assert found.of("XX") == ()
    assert earlier_of(workspace, read_session(disk, after)).surveys == 3


def test_a_damaged_earlier_session_is_left_out_and_the_others_are_there(workspace: Workspace) -> None:
    first = take(workspace, "wing", "1.1")
    take(workspace, "wing", "1.2")
    last = take(workspace, "wing", "1.3")
    (first / "session.toml").write_bytes(b"not toml [")
    found = earlier_of(workspace, read_session(Disk(), last))
    assert [str(each.reading.value) for each in found.of("SW-01")] == ["1.2 mΩ"]


def test_sessions_are_looked_for_beside_the_one_in_review(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, "wing", "1.1")
    last = take(workspace, "wing", "1.3")
    elsewhere = Workspace(tmp_path / "nowhere", Disk())
    assert earlier_of(elsewhere, read_session(Disk(), last)).surveys == 1
