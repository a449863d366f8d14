"""``resume``: who takes the session up, without a screen."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.cli import main
from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.desk.scenes import QuickDisk, SetClock
from tests.ui.walking import METER, route_text


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An open session of Ada and Bo; a screen that only lets it go again."""
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(), encoding="utf-8")
    workspace = Workspace(tmp_path, QuickDisk())
    brief = Brief(job="J-1", crew=Crew("Ada", "Bo"), instrument=METER, next_number=1)
    with begin_session(workspace, workspace.load_route("wing"), brief, SetClock()) as desk:
        pass

    def leave(workspace: Workspace, desk: Desk, *_: object) -> int:
        desk.leave()
        return 0

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("fieldtui.cli.screens.want_terminal", lambda: None)
    monkeypatch.setattr("fieldtui.ui.app.run_resumed", leave)
    return desk.folder


def last_rows(folder: Path) -> list[tuple[str, str]]:
    events = read_session(Disk(), folder).events
    return [(event.kind, event.by) for event in events if event.kind in ("handover", "open")]


def test_somebody_else_takes_the_session_up(folder: Path) -> None:
    assert main(["resume", "--recorder", "Cleo"]) == 0
    assert last_rows(folder) == [("handover", "Cleo"), ("open", "Cleo")]
    assert main(["resume", str(folder), "--prober", "Dan"]) == 0
    assert last_rows(folder)[2:] == [("handover", "Cleo"), ("open", "Cleo")]
    handover = read_session(Disk(), folder).survey.handovers[-1]
    assert handover.crew == Crew(prober="Dan", recorder="Cleo")


def test_the_same_one_takes_it_up_without_a_word(folder: Path) -> None:
    assert main(["resume", "--recorder", "Bo", "--prober", "Ada"]) == 0
    assert last_rows(folder) == [("open", "Bo")]


def test_a_name_that_cannot_be_recorded_opens_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["resume", "--recorder", "Bo\x1b[31m"]) == 2
    assert "cannot be recorded" in capsys.readouterr().err
    assert last_rows(folder) == []
