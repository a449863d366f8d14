"""Hints on the real screens: there on the first sessions, gone once acted upon, never in the session."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.cli import make_parser
from fieldtui.cli.places import hint_book
from fieldtui.core.teaching.hints import WORDS, Moment
from fieldtui.desk.hinting import HintBook
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.hints_file import NAME
from fieldtui.ui.app import FieldApp
from tests.ui.walking import LOW, Ticking, begin_desk, screen_text, walking


def words(moment: Moment) -> str:
    return f"Hint: {WORDS[moment][:40]}"


async def test_on_the_walk_they_come_and_go(workspace: Workspace, tmp_path: Path) -> None:
    state = tmp_path / "state"
    desk = begin_desk(workspace)
    app = FieldApp(workspace, Ticking(), desk=desk, hints=lambda: HintBook(Disk(), state))
    async with walking(app, desk, LOW) as hand:
        assert words(Moment.FIRST_READING) in hand.screen()
        assert "F1 help" in hand.screen().splitlines()[-1]
        await hand.press("‹1.1›", "enter")
        assert "Hint:" not in hand.screen()
        await hand.press("s", "0", "‹paint›", "enter")
        assert words(Moment.NUMBER_CHECK) in hand.screen()
        await hand.press("c", "‹5›", "enter")
        assert "Hint:" not in hand.screen()
        await hand.press("‹110›", "enter")  # far beyond its limit: the line stops
        assert words(Moment.DOUBT) in hand.screen()
        await hand.press("escape", "escape")
    kinds = [row["kind"] for row in hand.trail()]
    assert not any("int" in row["note"] for row in hand.trail()), kinds
    assert '"first reading"' in (state / NAME).read_text(encoding="utf-8")
    again = begin_desk(workspace)
    app = FieldApp(workspace, Ticking(), desk=again, hints=lambda: HintBook(Disk(), state))
    async with walking(app, again, LOW) as hand:
        assert "Hint:" not in hand.screen()  # the first reading was acted upon the last time


async def test_over_the_brief(workspace: Workspace, tmp_path: Path) -> None:
    route = workspace.load_route("wing")
    for is_first in (True, True, True, False):  # not acted upon, it goes after a few times
        app = FieldApp(workspace, Ticking(), route=route, hints=lambda: HintBook(Disk(), tmp_path / "state"))
        async with app.run_test(size=LOW) as pilot:
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert (words(Moment.BRIEF) in screen_text(app)) is is_first


async def test_without_a_book_there_are_none(desk: Desk, workspace: Workspace) -> None:
    async with walking(FieldApp(workspace, Ticking(), desk=desk), desk) as hand:
        assert "Hint:" not in hand.screen()


@pytest.mark.parametrize(
    "line", ["--no-hints", "walk wing --no-hints", "--no-hints resume", "resume --no-hints"]
)
def test_they_can_be_turned_off(line: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.delenv("FIELDTUI_HINTS")
    parser = make_parser()
    assert hint_book(parser.parse_args(line.split())) is None
    without = [word for word in line.split() if word != "--no-hints"]
    opened = hint_book(parser.parse_args(without))
    assert opened is not None and isinstance(opened(), HintBook)
    monkeypatch.setenv("FIELDTUI_HINTS", "off")
    assert hint_book(parser.parse_args(without)) is None
