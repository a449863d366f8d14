"""The start screen over real folders: what is listed, what Enter does, what trouble looks like."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.screens.start import StartScreen
from tests.ui.review_fixtures import PLAIN_METER, START, heard_by, page_of, shown_screen

SIZES = [(80, 24), (120, 40)]

ROUTE = """\
format = 1
title = "{title}"
asset = "amphibious twin"
unit = "mohm"

[[sections]]
id = "SW"
title = "Wing"

[[points]]
id = "SW-01"
section = "SW"
title = "Flap"
limit = {{ max = 2.5, cmp = "<" }}

[[points]]
id = "SW-02"
section = "SW"
title = "Slat"
limit = {{ max = 2.5, cmp = "<" }}
"""


class StandingClock:
    """A clock that moves on a second each time it is looked at."""

    def __init__(self) -> None:
        self.looks = 0

    def wall(self) -> datetime:
        self.looks += 1
        return START + timedelta(seconds=self.looks)

    def elapsed(self) -> float:
        return float(self.looks)


def workspace_in(root: Path, **titles: str) -> Workspace:
    """A workspace with a route for each name, titled as given."""
    (root / "routes").mkdir(parents=True)
    for name, title in titles.items():
        (root / "routes" / f"{name}.toml").write_text(ROUTE.format(title=title), encoding="utf-8")
    return Workspace(root, Disk())


def take(workspace: Workspace, route: str, *values: str, close: bool = False) -> Path:
    """A session along ``route`` with these readings."""
    brief = Brief("JC-1", Crew("Ben", "Ana"), PLAIN_METER, None, overrides={"calibration": "loan meter"})
    with begin_session(workspace, workspace.load_route(route), brief, StandingClock()) as desk:
        for value in values:
            desk.record(desk.weigh(value))
        if close:
            desk.close()
        return desk.folder


@pytest.mark.parametrize("size", SIZES)
async def test_an_open_session_comes_first_and_one_key_resumes_it(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    take(workspace, "wing", "1.38", "1.2", close=True)
    folder = take(workspace, "wing", "1.38")
    async with shown_screen(StartScreen(workspace), size) as pilot:
        page = page_of(pilot)
        assert "1 of 2 settled, 1 reading" in page
        assert "closed, 2 of 2 settled, 2 readings" in page
        assert page.index("Open sessions") < page.index("Routes") < page.index("Closed sessions")
        await pilot.press("enter")
        (message,) = heard_by(pilot)
    assert isinstance(message, StartScreen.SessionChosen)
    assert (message.folder, message.mode) == (folder, "resume")


async def test_enter_on_a_route_chooses_it(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, hull="Hull plates", wing="Wing bonds")
    async with shown_screen(StartScreen(workspace)) as pilot:
        assert "2 points   hull" in page_of(pilot)
        await pilot.press("down", "enter")
        (message,) = heard_by(pilot)
    assert isinstance(message, StartScreen.RouteChosen)
    assert message.path == tmp_path / "routes" / "wing.toml"


async def test_enter_on_a_closed_session_reviews_it(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    folder = take(workspace, "wing", close=True)
    async with shown_screen(StartScreen(workspace)) as pilot:
        await pilot.press("end", "enter")
        (message,) = heard_by(pilot)
    assert (message.folder, message.mode) == (folder, "review")


async def test_v_reviews_an_open_session_and_a_route_cannot_be_reviewed(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    folder = take(workspace, "wing", "1.38")
    async with shown_screen(StartScreen(workspace)) as pilot:
        await pilot.press("v")
        await pilot.press("end", "v")
        (message,) = heard_by(pilot)
    assert (message.folder, message.mode) == (folder, "review")


async def test_a_route_that_cannot_be_used_says_why(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    (tmp_path / "routes" / "bad.toml").write_text("format = 1\n", encoding="utf-8")
    async with shown_screen(StartScreen(workspace)) as pilot:
        page = page_of(pilot)
    assert "not usable   bad" in page
    assert "! " in page.split("not usable   bad")[1].splitlines()[1]
    (tmp_path / "routes" / "bad.toml").write_text("format = 1\n[defaults\n", encoding="utf-8")
    async with shown_screen(StartScreen(workspace)) as pilot:
        assert "! line 2: a table's name without its closing bracket" in page_of(pilot)


async def test_a_table_that_cannot_be_used_is_told_with_its_line_and_no_route_is_blamed(
    tmp_path: Path,
) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds", tail="Tail bonds")
    (tmp_path / "shared").mkdir(exist_ok=True)
    (tmp_path / "shared" / "instruments.toml").write_text("format = 1\n[instruments.m\n", encoding="utf-8")
    async with shown_screen(StartScreen(workspace)) as pilot:
        page = " ".join(page_of(pilot).split())
    assert "not usable" not in page
    assert "2 points tail" in page and "2 points wing" in page
    assert page.count("without its closing bracket") == 1
    assert "instruments.toml:2: a table's name" in "".join(page.split("\n"))


async def test_a_session_that_cannot_be_read_is_listed_with_its_trouble(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    folder = tmp_path / "sessions" / "2026-05-02_half"
    folder.mkdir(parents=True)
    (folder / "session.toml").write_text("not toml", encoding="utf-8")
    async with shown_screen(StartScreen(workspace)) as pilot:
        page = page_of(pilot)
    assert "Sessions that cannot be read" in page
    assert "2026-05-02_half" in page


async def test_folders_that_never_became_sessions_are_mentioned(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    for number in range(5):
        (tmp_path / "sessions" / f"s{number}").mkdir(parents=True)
    (tmp_path / "sessions" / "notes.txt").write_text("no folder", encoding="utf-8")
    async with shown_screen(StartScreen(workspace)) as pilot:
        page = page_of(pilot)
    assert "s0, s1, s2 and 2 more are folders in sessions/ without session.toml" in page
    assert "notes.txt" not in page


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_workspace_says_what_to_do(tmp_path: Path, size: tuple[int, int]) -> None:
    async with shown_screen(StartScreen(Workspace(tmp_path, Disk())), size) as pilot:
        page = page_of(pilot)
        assert "There is nothing here yet" in page
        assert "fieldtui new DIR" in page
        await pilot.press("enter", "v")
        assert heard_by(pilot) == []
        await pilot.press("q")
        (message,) = heard_by(pilot)
    assert isinstance(message, StartScreen.Left)


async def test_hostile_titles_are_shown_as_they_are(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="[bold red]W[/] [@click=app.quit]x[/] [P-014]")
    async with shown_screen(StartScreen(workspace)) as pilot:
        assert "[bold red]W[/] [@click=app.quit]x[/] [P-014]" in page_of(pilot)


async def test_the_list_is_made_anew_when_the_screen_comes_back(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    async with shown_screen(StartScreen(workspace)) as pilot:
        assert "Open sessions" not in page_of(pilot)
        await pilot.press("f1")
        take(workspace, "wing", "1.38")
        await pilot.press("escape")
        await pilot.pause()
        page = page_of(pilot)
    assert "Open sessions" in page


async def test_f2_goes_round_the_three_lights(tmp_path: Path) -> None:
    async with shown_screen(StartScreen(Workspace(tmp_path, Disk()))) as pilot:
        lights = [pilot.app.theme]
        for _ in range(3):
            await pilot.press("f2")
            lights.append(pilot.app.theme)
    assert lights == ["daylight", "dim", "night", "daylight"]


async def test_the_workspace_is_only_read(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, wing="Wing bonds")
    take(workspace, "wing", "1.38")
    files = {path: path.stat() for path in tmp_path.rglob("*")}
    async with shown_screen(StartScreen(workspace)) as pilot:
        await pilot.press("down", "up", "v")
    after = {path: path.stat() for path in tmp_path.rglob("*")}
    assert {p: (s.st_mtime_ns, s.st_size) for p, s in after.items()} == {
        p: (s.st_mtime_ns, s.st_size) for p, s in files.items()
    }


async def test_the_marked_row_has_a_shape_that_moves_with_the_cursor(tmp_path: Path) -> None:
    workspace = workspace_in(tmp_path, hull="Hull plates", wing="Wing bonds")
    async with shown_screen(StartScreen(workspace)) as pilot:
        assert "▶ Hull plates" in page_of(pilot) and "▶ Wing" not in page_of(pilot)
        await pilot.press("down")
        assert "▶ Wing bonds" in page_of(pilot) and "▶ Hull" not in page_of(pilot)


async def test_a_row_too_long_goes_on_under_itself(tmp_path: Path) -> None:
    """Whatever the width, and once it changes: nothing begins in the first column but a heading."""
    workspace = workspace_in(tmp_path, wing="Wing bonds of the starboard side with many more words " * 2)
    take(workspace, "wing", "1.38")
    async with shown_screen(StartScreen(workspace), (80, 24)) as pilot:
        for width in (80, 60, 50):
            await pilot.resize_terminal(width, 24)
            await pilot.pause()
            lines = page_of(pilot).splitlines()
            rows = lines[next(n for n, line in enumerate(lines) if "Open sessions" in line) + 1 :]
            rows = rows[: next(n for n, line in enumerate(rows) if "Routes" in line)]
            assert "UTC" in " ".join(rows)
            assert all(row[1:].startswith(("  ", "▶ ")) for row in rows), rows
