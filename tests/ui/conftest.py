"""A small route, a real session on the disk, and the app to walk it in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from tests.ui.walking import Ticking, begin_desk, route_text


@pytest.fixture
def disk() -> Disk:
    return Disk()


@pytest.fixture
def workspace(tmp_path: Path, disk: Disk) -> Workspace:
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(), encoding="utf-8")
    return Workspace(tmp_path, disk)


@pytest.fixture
def desk(workspace: Workspace) -> Desk:
    return begin_desk(workspace)


@pytest.fixture
def app_of(workspace: Workspace) -> Callable[[Desk], FieldApp]:
    """The app with a desk on its walk screen."""
    return lambda desk: FieldApp(workspace, Ticking(), desk=desk)
