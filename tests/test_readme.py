"""The README and the demo tell the truth."""

from __future__ import annotations

import importlib.util
import re
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

from fieldtui.cli import main
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.route.schema import PointModel, RouteModel
from fieldtui.files.toml.strict import Strict, keys_of

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def demo(name: str) -> ModuleType:
    """A script of the demo as a module."""
    spec = importlib.util.spec_from_file_location(f"demo_{name}", ROOT / "demo" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def fenced(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_test_command_is_the_one_that_ci_runs() -> None:
    command = next(block for block in fenced("sh") if "pytest" in block).strip()
    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_key_page_is_that_of_the_action_table() -> None:
    found = re.search(r"<!-- keys: .*? -->\n(.*?)<!-- end of keys -->", README, re.DOTALL)
    assert found is not None
    assert found[1].strip() == demo("keys").format_key_page()


def test_the_trail_shown_is_the_demo_s() -> None:
    (shown,) = fenced("csv")
    (trail,) = (ROOT / "demo" / "sessions").glob("*practice*/trail.csv")
    assert trail.read_text(encoding="utf-8").startswith(shown)


def test_the_route_shown_has_no_problem(tmp_path: Path) -> None:
    (route,) = fenced("toml")
    (tmp_path / "wing.toml").write_text(route, encoding="utf-8")
    workspace = Workspace(ROOT, Disk())
    assert workspace.check_route(str(tmp_path / "wing.toml")) == []
    assert [point.id for point in workspace.load_route(str(tmp_path / "wing.toml")).route.points] == [
        "SW-07",
        "SW-08",
    ]


@pytest.mark.parametrize(
    ("heading", "model"), [("The keys of a route", RouteModel), ("The keys of a point", PointModel)]
)
def test_the_tables_of_keys_are_whole(heading: str, model: type[Strict]) -> None:
    table = README.partition(heading)[2].partition("|---|---|\n")[2].partition("\n\n")[0]
    first = [row.split("|")[1] for row in table.splitlines()]
    named = {key for cell in first for key in re.findall("`(.*?)`", cell)}
    of_route_and_point = {"unit", "correct_to_20", "decision", "guard"} if model is RouteModel else set()
    assert named | of_route_and_point == set(keys_of(model))


def test_the_sheets_to_try_can_be_tried(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (command,) = re.findall(r"fieldtui (transcribe .* demo/sheets/.*)", README)
    monkeypatch.chdir(ROOT)
    assert main([*command.split(), "--out", str(tmp_path)]) == 0
    assert len(list(tmp_path.iterdir())) == 1


def test_every_command_shown_exists() -> None:
    words = {"fieldtui": set(re.findall(r"fieldtui ([a-z]+)", "\n".join(fenced("sh"))))}
    help_text = subprocess.run(
        ["python", "-m", "fieldtui", "--help"], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout
    assert words["fieldtui"]
    for command in words["fieldtui"]:
        assert re.search(rf"^\s+{command}\b", help_text, re.MULTILINE), command


def test_the_starter_routes_and_the_demo_s_have_no_problem() -> None:
    workspace = Workspace(ROOT, Disk())
    for path in [*(ROOT / "routes").glob("*.toml"), *(ROOT / "demo" / "routes").glob("*.toml")]:
        assert workspace.check_route(str(path)) == [], path.name


def test_the_earlier_sessions_follow_from_their_sheets(tmp_path: Path) -> None:
    made = demo("make").make_sessions(tmp_path)
    assert {path.name for path in made} == {path.name for path in (ROOT / "demo" / "sessions").iterdir()}
    for folder in made:
        for name in ("session.toml", "trail.csv"):
            kept = ROOT / "demo" / "sessions" / folder.name / name
            assert (folder / name).read_bytes() == kept.read_bytes(), f"run demo/make.py: {kept}"


async def test_the_pictures_are_of_the_screens_as_they_are(tmp_path: Path) -> None:
    for picture in await demo("pictures").take_pictures(tmp_path):
        kept = ROOT / "demo" / picture.name
        assert picture.read_text(encoding="utf-8") == kept.read_text(encoding="utf-8"), "run demo/pictures.py"


def test_the_top_level_is_what_it_should_be() -> None:
    tracked = subprocess.run(
        ["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False
    ).stdout
    if not tracked:
        pytest.skip("not a checkout")
    names = {line.split("/")[0] for line in tracked.splitlines() if not line.startswith(".")}
    assert names <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "fieldtui",
        "routes",
        "tests",
        "demo",
        "shared",
    }
