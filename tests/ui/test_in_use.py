"""A session that another program writes: it is offered read-only, at once."""

from __future__ import annotations

import io

import pytest

from fieldtui.cli import screens
from fieldtui.desk.opening import resume_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import SessionInUseError
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.in_use import InUseDialog
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.screens.start import StartScreen
from tests.ui.walking import LOOK_S, LOOKS, LOW, Ticking, begin_desk, screen_text


@pytest.mark.parametrize("key", ["1", "minus", "enter"])
async def test_from_the_start_screen_one_key_looks_at_it(workspace: Workspace, key: str) -> None:
    with begin_desk(workspace) as desk:  # the other program
        before = (desk.folder / "trail.csv").read_bytes()
        app = FieldApp(workspace, Ticking())
        async with app.run_test(size=LOW) as pilot:
            await app.workers.wait_for_complete()
            app.screen.post_message(StartScreen.SessionChosen(desk.folder, "resume"))
            for _ in range(LOOKS):  # a key counts only once the question can be seen
                await pilot.pause(LOOK_S)
                if isinstance(app.screen, InUseDialog) and app.takes_keys:
                    break
            assert "Another program has this session open for writing" in screen_text(app)
            assert "look at it here, read-only" in screen_text(app)
            await pilot.press(key)
            if key != "enter":  # Enter was meant to resume: it decides nothing
                await app.workers.wait_for_complete()
            await pilot.pause()
            expected: dict[str, type[object]] = {
                "1": ReviewScreen,
                "minus": StartScreen,
                "enter": InUseDialog,
            }
            assert type(app.screen) is expected[key]
        assert (desk.folder / "trail.csv").read_bytes() == before


@pytest.mark.parametrize(("answer", "code", "looked"), [("y\n", 0, 1), ("\n", 2, 0), ("", 2, 0)])
def test_resume_in_the_shell_asks(
    workspace: Workspace,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    answer: str,
    code: int,
    looked: int,
) -> None:
    shown: list[object] = []

    def show(_workspace: object, session: object, _clock: object) -> int:
        shown.append(session)
        return 0

    monkeypatch.setattr("fieldtui.ui.app.run_review", show)
    monkeypatch.setattr("sys.stdin", io.StringIO(answer))
    with begin_desk(workspace) as desk:
        with pytest.raises(SessionInUseError) as caught:
            resume_session(workspace, desk.folder, Ticking())
        assert screens.look_instead(workspace, desk.folder, caught.value) == code
    assert len(shown) == looked
    assert "Another program has this session open" in capsys.readouterr().err
