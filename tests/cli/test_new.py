"""``fieldtui new``: an empty workspace of the same shape, and nothing of anybody's touched."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk

ROOT = Path(__file__).resolve().parents[2]
TABLES = ["cautions.toml", "conductors.toml", "criteria.toml", "instruments.toml", "reasons.toml"]


def test_a_workspace_of_the_same_shape(ask: Any, tmp_path: Path) -> None:
    answer = ask("new", "surveys", "--json")
    assert answer.code == 0
    made = tmp_path / "surveys"
    assert sorted(path.name for path in made.iterdir()) == ["routes", "sessions", "shared"]
    assert sorted(path.name for path in (made / "shared").iterdir()) == TABLES
    assert [path.name for path in (made / "routes").iterdir()] == ["example.toml"]
    assert list((made / "sessions").iterdir()) == []
    assert sorted(answer.json["files"]) == sorted(
        str(path.relative_to(tmp_path)) for path in made.rglob("*.toml")
    )
    for table in TABLES:
        assert (made / "shared" / table).read_bytes() == (ROOT / "shared" / table).read_bytes()


def test_the_example_passes_the_check_and_shows_what_a_route_can_hold(
    ask: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert ask("new", "surveys").code == 0
    monkeypatch.chdir(tmp_path / "surveys")
    answer = ask("route", "check", "example")
    assert (answer.code, answer.out) == (0, "1 route checked: 0 errors, 0 warnings\n")
    route = Workspace(Path(), Disk()).load_route("example").route
    assert len(route.points) == 3
    text = (tmp_path / "surveys" / "routes" / "example.toml").read_text(encoding="utf-8")
    assert text.count("#") >= 15  # it explains itself


def test_an_empty_folder_is_taken(ask: Any, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    answer = ask("new", "empty")
    assert answer.code == 0
    assert "instruments.toml" in answer.out


def test_a_folder_with_anything_in_it_is_left_alone(ask: Any, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / ".hidden").write_text("x", encoding="utf-8")
    answer = ask("new", "mine")
    assert answer.code == 2
    assert "not empty" in answer.err
    assert [path.name for path in (tmp_path / "mine").iterdir()] == [".hidden"]


@pytest.mark.parametrize("name", ["file", "no/where/at/all", "loop", "x" * 300, "/dev/null"])
def test_a_place_that_cannot_be_one_is_told(ask: Any, tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "loop").symlink_to("loop")
    answer = ask("new", name)
    assert answer.code in (1, 2)
    assert answer.err.startswith("fieldtui: ")
    assert (tmp_path / "file").read_text(encoding="utf-8") == "x"
