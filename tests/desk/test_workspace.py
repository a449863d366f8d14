"""A workspace: routes and sessions listed whatever state they are in, the last survey's results found."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.desk.opening import begin_session
from fieldtui.desk.workspace import Workspace, find_workspace
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from tests.desk.scenes import BRIEF, ROUTE, Scene, record


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


def test_routes_are_listed_the_unusable_ones_with_their_trouble(scene: Scene) -> None:
    routes = scene.root / "routes"
    (routes / "broken.toml").write_bytes(b"format = [")
    (routes / "empty.toml").write_text(ROUTE.split("[[points]]")[0], encoding="utf-8")
    (routes / "notes.txt").write_text("not a route", encoding="utf-8")
    listed = {entry.name: (entry.points, bool(entry.trouble)) for entry in scene.workspace.routes()}
    assert listed == {"broken": (0, True), "empty": (0, True), "wing": (5, False)}


@pytest.mark.parametrize("table", ["instruments.toml", "criteria.toml"])
def test_a_broken_table_is_told_once_and_no_route_is_blamed(scene: Scene, table: str) -> None:
    (scene.root / "routes" / "broken.toml").write_bytes(b"format = [")
    shared = scene.root / "shared"
    shared.mkdir(exist_ok=True)
    (shared / table).write_text("format = 1\n[x\n", encoding="utf-8")
    listed = {
        entry.name: (entry.title, entry.points, bool(entry.trouble)) for entry in scene.workspace.routes()
    }
    assert listed == {"broken": ("broken", 0, True), "wing": ("Starboard wing bonds", 5, False)}
    told = [each for each in scene.workspace.warnings() if "bracket" in each]
    assert told == [f"{shared / table}:2: a table's name without its closing bracket; put ] here"]
    with pytest.raises(BadInputError) as refused:
        scene.workspace.load_route("wing")  # but none is walked without its tables
    assert refused.value.where == f"{shared / table}:2"


def test_of_many_problems_of_the_tables_a_warning_names_some(scene: Scene) -> None:
    shared = scene.root / "shared"
    shared.mkdir(exist_ok=True)
    (shared / "reasons.toml").write_text("format = 1\n[reasons]\n" + "".join(f"k{n} = 1\n" for n in range(5)))
    told = [each for each in scene.workspace.warnings() if "tables" in each or "unknown key" in each]
    assert len(told) == 4
    assert told[-1] == "and 2 more in the tables: fieldtui route check tells all"


def test_a_route_is_found_by_name_or_path(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    path = scene.root / "routes" / "wing.toml"
    monkeypatch.chdir(scene.root)
    for ref in ("wing", "wing.toml", "routes/wing.toml", str(path)):
        assert scene.workspace.load_route(ref).route.title == "Starboard wing bonds"
    with pytest.raises(BadInputError, match="There is no route sling"):
        scene.workspace.load_route("sling")


def test_an_empty_folder_is_a_workspace_without_routes_and_sessions(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path, Disk())
    assert workspace.routes() == []
    assert workspace.sessions() == []
    assert workspace.tables().instruments  # the starter tables


def test_sessions_are_listed_newest_first_the_unreadable_ones_with_their_trouble(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        desk.close()
        closed = desk.folder
    with scene.begin(practice=True) as desk:
        opened = desk.folder
    unreadable = closed.with_name("2020-01-01_other_01")
    unreadable.mkdir()
    (unreadable / "session.toml").write_text("format = 7", encoding="utf-8")
    (scene.root / "sessions" / "half made").mkdir()
    entries = scene.workspace.sessions()
    assert [entry.folder for entry in entries] == [opened, closed, unreadable]
    assert [entry.is_closed for entry in entries] == [False, True, False]
    assert [(entry.settled, entry.points, entry.readings) for entry in entries] == [
        (0, 5, 0),
        (2, 5, 2),
        (0, 0, 0),
    ]
    assert [bool(entry.trouble) for entry in entries] == [False, False, True]
    assert [entry.is_practice for entry in entries] == [True, False, False]


def test_the_last_survey_of_the_route_is_at_hand(scene: Scene) -> None:
    for values in (["1.1", "1.2"], ["1.3"]):
        with scene.begin() as desk:
            record(desk, *values)
    with scene.begin() as desk:
        assert {point: result.value.digits for point, result in desk.previous.items()} == {"SW-01": "1.3"}
        readings = {point: [r.digits for r in values] for point, values in desk.history.readings().items()}
        assert readings == {"SW-01": ["1.1", "1.3"], "SW-02": ["1.2"]}
    with scene.resume(desk.folder) as again:
        assert again.previous == desk.previous


def test_what_the_last_survey_left_in_doubt_is_known_as_that(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        desk.check_standard("2.9")
        desk.release(2, "compared with a second meter")
    with scene.begin() as desk:
        assert desk.history.in_doubt == {"SW-01"}
        record(desk, "1.3")
    with scene.begin() as desk:
        assert desk.history.in_doubt == frozenset()  # the survey before the last says nothing of the last


def test_a_session_without_readings_and_one_of_another_route_are_no_history(scene: Scene) -> None:
    (scene.root / "routes" / "hull.toml").write_text(ROUTE, encoding="utf-8")
    with scene.begin():
        pass
    hull = scene.workspace.load_route("hull")
    with begin_session(scene.workspace, hull, BRIEF, scene.clock) as desk:
        record(desk, "1.1")
    with scene.begin() as desk:
        assert desk.previous == {}


def test_a_damaged_earlier_session_does_not_keep_one_from_starting(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    (desk.folder / "session.toml").write_bytes(b"\x00")
    with scene.begin() as desk:
        assert desk.previous == {}


def test_a_route_file_given_by_path_brings_its_own_workspace(tmp_path: Path) -> None:
    home, here = tmp_path / "home", tmp_path / "here"
    for folder in (home, here, home / "shared"):
        folder.mkdir()
    scene = Scene(home)
    found = find_workspace(here, Disk(), str(home / "routes" / "wing.toml"))
    assert (found.root, found.sessions_folder) == (home, here / "sessions")
    assert find_workspace(here, Disk(), "wing").root == here
    out = find_workspace(scene.root, Disk(), "wing", tmp_path / "stick")
    assert (out.root, out.sessions_folder) == (home, tmp_path / "stick")
