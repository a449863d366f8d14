"""Which screen follows which."""

from __future__ import annotations

import pytest
from textual.notifications import Notification

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.brief import BriefScreen
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.screens.start import StartScreen
from fieldtui.ui.screens.walk import WalkScreen
from tests.ui.walking import LOW, METER, Ticking, begin_desk, screen_text


async def rest(app: FieldApp, pilot: object) -> None:
    await app.workers.wait_for_complete()
    await pilot.pause()  # type: ignore[attr-defined]


def brief(next_number: int = 5) -> Brief:
    return Brief(job="J-100", crew=Crew("Ada", "Bo"), instrument=METER, next_number=next_number)


async def test_start_brief_walk_and_back(workspace: Workspace) -> None:
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        assert isinstance(app.screen, StartScreen)
        app.screen.post_message(StartScreen.RouteChosen(workspace.root / "routes" / "wing.toml"))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, BriefScreen)
        app.screen.post_message(BriefScreen.Briefed(brief()))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, WalkScreen)
        await pilot.press("q")
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, StartScreen)
        await pilot.press("q")
        await pilot.pause()
        assert app.return_value == 0


async def test_briefed_twice_begins_one_session(workspace: Workspace) -> None:
    app = FieldApp(workspace, Ticking(), route=workspace.load_route("wing"))
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        for _ in range(2):
            app.screen.post_message(BriefScreen.Briefed(brief()))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, WalkScreen)
        assert len(list(workspace.sessions_folder.iterdir())) == 1


async def test_a_practice_says_so_and_its_brief_is_filled_in(workspace: Workspace) -> None:
    route = workspace.load_route("wing")
    app = FieldApp(workspace, Ticking(), route=route, suggested=brief(), is_practice=True)
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        assert "J-100" in screen_text(app)
        app.screen.post_message(BriefScreen.Briefed(brief()))
        await pilot.pause()
        await rest(app, pilot)
        assert "PRACTICE" in screen_text(app).splitlines()[0]


async def test_a_session_that_cannot_begin_stays_in_the_brief(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    app = FieldApp(workspace, Ticking(), route=workspace.load_route("wing"))
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        with monkeypatch.context() as patch:
            patch.setattr(workspace.disk, "write", full)
            app.screen.post_message(BriefScreen.Briefed(brief()))
            await pilot.pause()
            await rest(app, pilot)
        assert isinstance(app.screen, BriefScreen)
        assert notices(app)
        app.screen.post_message(BriefScreen.Briefed(brief()))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, WalkScreen)


async def test_start_resumes_and_reviews(workspace: Workspace) -> None:
    with begin_desk(workspace) as earlier:
        earlier.record(earlier.weigh("1.2"))
        folder = earlier.folder
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        app.screen.post_message(StartScreen.SessionChosen(folder, "review"))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, ReviewScreen)
        app.screen.post_message(ReviewScreen.Left())
        await pilot.pause()
        app.screen.post_message(StartScreen.SessionChosen(folder, "resume"))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, WalkScreen)
        assert app.screen.desk.survey.next_record == 2


async def test_a_bad_route_says_what_is_wrong(workspace: Workspace) -> None:
    path = workspace.root / "routes" / "bad.toml"
    path.write_text('format = 1\ntitle = "[b]x"\n', encoding="utf-8")
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        app.screen.post_message(StartScreen.RouteChosen(path))
        await pilot.pause()
        await rest(app, pilot)
        assert isinstance(app.screen, StartScreen)
        (notice,) = notices(app)
        assert "bad.toml" in notice.message


async def test_review_alone_leaves_the_program(workspace: Workspace) -> None:
    with begin_desk(workspace) as earlier:
        folder = earlier.folder
    app = FieldApp(workspace, Ticking(), session=read_session(workspace.disk, folder))
    async with app.run_test(size=LOW) as pilot:
        await rest(app, pilot)
        assert isinstance(app.screen, ReviewScreen)
        await pilot.press("q")
        await pilot.pause()
        assert app.return_value == 0


async def test_ctrl_c_leaves_from_a_dialog_in_the_walk(workspace: Workspace) -> None:
    desk = begin_desk(workspace)
    app = FieldApp(workspace, Ticking(), desk=desk)
    async with app.run_test(size=LOW) as pilot:
        await pilot.pause()
        await pilot.press("i", "x")
        assert "what is measured" in screen_text(app)
        await pilot.press("ctrl+c")
        assert app.return_value == 0
    with resume_session(workspace, desk.folder, Ticking()) as again:
        assert "X01" not in again.survey.points


def notices(app: FieldApp) -> list[Notification]:
    return list(app._notifications)
