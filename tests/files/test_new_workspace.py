"""An empty workspace and a practice one: made whole, never over what is there."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from fieldtui.errors import NotSavedError, WrongUseError
from fieldtui.files import starter
from fieldtui.files.disk import Disk
from fieldtui.files.new_workspace import make_workspace
from fieldtui.files.route.file import load_route
from fieldtui.files.starter import lay_out_practice, starter_folder
from fieldtui.files.tables.tables import load_tables


def read(folder: Path, name: str) -> bytes | None:
    path = folder / "shared" / name
    return path.read_bytes() if path.exists() else None


@pytest.mark.parametrize("is_there", [True, False])
def test_what_is_made_can_be_read_at_once(tmp_path: Path, is_there: bool) -> None:
    folder = tmp_path / "survey"
    if is_there:
        folder.mkdir()
    written = make_workspace(Disk(), folder)
    assert set(written) == {path for path in folder.rglob("*") if path.is_file()}
    assert list((folder / "sessions").iterdir()) == []
    tables = load_tables(lambda name: read(folder, name))
    example = (folder / "routes" / "example.toml").read_bytes()
    route = load_route(example, "example.toml", "example", tables.criteria).route
    assert [point.id for point in route.points] == ["FR-01", "FR-02", "FR-03"]


def test_a_folder_with_anything_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(WrongUseError, match="not empty"):
        make_workspace(Disk(), tmp_path)
    with pytest.raises(WrongUseError, match="not a folder"):
        make_workspace(Disk(), tmp_path / "notes.txt")
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_a_medium_that_refuses_is_told_with_its_reason(tmp_path: Path) -> None:
    class Full(Disk):
        def write_whole(self, path: Path, data: bytes) -> None:
            raise OSError(errno.ENOSPC, "full")

    with pytest.raises(NotSavedError, match="the disk is full"):
        make_workspace(Full(), tmp_path / "new")
    with pytest.raises(NotSavedError, match="does not exist"):
        make_workspace(Disk(), tmp_path / "no" / "such" / "place")


@pytest.mark.parametrize("with_sessions", [True, False])
def test_a_practice_workspace_is_a_copy_of_the_demo(tmp_path: Path, with_sessions: bool) -> None:
    lay_out_practice(Disk(), tmp_path, with_sessions=with_sessions)
    starting = starter_folder(Disk())
    assert (tmp_path / "sessions").exists() is with_sessions
    for kind in ("routes", "shared", "sessions") if with_sessions else ("routes", "shared"):
        for path in (starting / "demo" / kind).rglob("*"):
            if path.is_file():
                copy = tmp_path / kind / path.relative_to(starting / "demo" / kind)
                assert copy.read_bytes() == path.read_bytes()
    assert load_tables(lambda name: read(tmp_path, name)).criteria


def test_the_starter_of_an_installed_package_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(starter, "_PACKAGE", tmp_path / "package")
    assert starter_folder(Disk()) == tmp_path
    inside = tmp_path / "package" / "_starter"
    for name in ("routes", "shared", "demo/routes", "demo/shared"):
        (inside / name).mkdir(parents=True)
    (inside / "shared" / "a.toml").write_text("common")
    (inside / "demo" / "shared" / "a.toml").write_text("the demo's own")
    (inside / "shared" / "gone.toml").symlink_to(tmp_path / "nowhere")  # neither a file nor a folder
    (tmp_path / "practice").mkdir()
    lay_out_practice(Disk(), tmp_path / "practice", with_sessions=False)
    assert (tmp_path / "practice" / "shared" / "a.toml").read_text() == "the demo's own"
    assert not (tmp_path / "practice" / "shared" / "gone.toml").exists()
