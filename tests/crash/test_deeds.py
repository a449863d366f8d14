"""Each deed does what it says, and together they are all that the screens can write."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.trail.events import KINDS
from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import find_remarks
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.actions import ACTIONS
from fieldtui.ui.app import FieldApp
from tests.crash.deeds import BY_THEMSELVES, DEEDS, REMARKS, STAGES, Deed, keys_of
from tests.desk.scenes import QuickDisk
from tests.ui.every_screen import every_dialog
from tests.ui.walking import LOW, Hand


def app_of(deed: Deed, workspace: Workspace, folder: Path | None) -> FieldApp:
    clock = SystemClock()
    command = STAGES[deed.stage].command
    if command == "resume":
        assert folder is not None
        return FieldApp(workspace, clock, desk=resume_session(workspace, folder, clock))
    if command == "review":
        assert folder is not None
        return FieldApp(workspace, clock, session=read_session(Disk(), folder))
    route = workspace.load_route("wing") if command else None
    return FieldApp(workspace, clock, route=route)


async def until(hand: Hand, words: str) -> None:
    for _ in range(300):
        if words in hand.screen():
            return
        await hand.pilot.pause(0.01)
    raise AssertionError(f"{words!r} never came:\n{hand.screen()}")


@pytest.mark.parametrize("name", DEEDS)
async def test_a_deed_writes_what_it_says(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    deed = DEEDS[name]
    folder = STAGES[deed.stage].make(tmp_path)
    monkeypatch.chdir(tmp_path)
    workspace = Workspace(tmp_path, QuickDisk())
    known = read_session(Disk(), folder).rows if folder is not None else 0
    app = app_of(deed, workspace, folder)
    seen = set()
    async with app.run_test(size=LOW, notifications=True) as pilot:
        hand = Hand(pilot, folder or tmp_path)
        await until(hand, STAGES[deed.stage].ready)
        await hand.settle()
        for key in keys_of(deed, folder):
            seen |= {type(screen).__name__ for screen in app.screen_stack}
            if key.startswith("?"):
                await until(hand, key[1:].replace("_", " "))
                await hand.settle()
            else:
                await hand.press(key)
        seen |= {type(screen).__name__ for screen in app.screen_stack}
        await until(hand, deed.said)
    if folder is None:
        (folder,) = (tmp_path / "sessions").iterdir()
    found = read_session(Disk(), folder)
    assert found.is_intact
    wanted = deed.rows.split()
    opened = ["open"] if STAGES[deed.stage].command == "resume" else []
    assert [event.kind for event in found.events[known:]] == [*opened, *wanted]
    assert set(deed.dialogs.split()) <= seen
    assert len(find_remarks(Disk(), found).entries) == REMARKS.get(name, 0) - (name == "remark withdrawn")


# --- together they are everything ---------------------------------------------------------------

# Actions of the table that write nothing, or only lead to where something is written.
WRITE_NOTHING = {
    "walk": {"menu", "help", "light", "leave"},
    "start": {"open", "review", "theme", "leave", "help"},
    "brief": {"read", "next_line", "choose", "move", "leave", "help"},
    "drift": {"choose", "leave", "help"},
    "drift_points": {"move", "last", "by", "leave", "help"},
    "reconcile": {"narrow", "mark", "leave", "help"},
    "close_out": {"mark", "leave", "help"},
    # A reviewer's remarks are all that the review writes; its own tests hold that it touches nothing else.
    "review": {action.name for action in ACTIONS if action.screen == "review"} - {"remark", "withdraw"},
    "point_story": {action.name for action in ACTIONS if action.screen == "point_story"},
}
# The deed in which each action that writes is done.
DONE_IN = {
    ("walk", "skip"): "skip",
    ("walk", "redo"): "take again",
    ("walk", "rework"): "rework",
    ("walk", "void"): "void",
    ("walk", "attempt"): "no value",
    ("walk", "check"): "number agrees",
    ("walk", "standard"): "check standard",
    ("walk", "lead"): "lead",
    ("walk", "insert"): "insert",
    ("walk", "jump"): "jump",
    ("walk", "reverse"): "far end",
    ("walk", "note"): "remark",
    ("walk", "pause"): "pause",
    ("walk", "amend"): "correct",
    ("walk", "fresh_run"): "next run",
    ("walk", "hand_over"): "handover",
    ("walk", "other_meter"): "another meter of the table",
    ("walk", "move"): "readings moved by the crew",
    ("walk", "reconcile"): "reconcile, all that is certain",
    ("walk", "points"): "open points",
    ("walk", "done"): "close-out: close",
    ("start", "reopen"): "reopen",
    ("brief", "begin"): "brief",
    ("drift", "take"): "number differs",
    ("drift_points", "take"): "readings move",
    ("reconcile", "certain"): "reconcile, all that is certain",
    ("reconcile", "single"): "reconcile, one line",
    ("close_out", "settle"): "close-out: restored",
    ("close_out", "close"): "close-out: close",
    ("review", "remark"): "remark of a reviewer",
    ("review", "withdraw"): "remark withdrawn",
}
# Dialogs in which nothing that leads to a row is keyed.
READ_ONLY = {"HelpDialog", "LeaveBriefDialog", "InUseDialog", "ProblemsDialog", "LessonOverDialog"}


def test_every_kind_of_row_is_written_by_a_deed() -> None:
    written = {kind for deed in DEEDS.values() for kind in deed.rows.split()}
    assert written | BY_THEMSELVES == set(KINDS)


def test_every_action_that_writes_is_a_deed() -> None:
    for action in ACTIONS:
        is_quiet = action.name in WRITE_NOTHING[action.screen]
        assert is_quiet != ((action.screen, action.name) in DONE_IN), f"{action.screen}: {action.name}"
    assert set(DONE_IN.values()) <= set(DEEDS)


def test_every_dialog_that_leads_to_a_row_is_in_a_deed() -> None:
    gone_through = {name for deed in DEEDS.values() for name in deed.dialogs.split()}
    assert every_dialog() - READ_ONLY == gone_through - {"BriefScreen", "StartScreen", "ReviewScreen"}
