"""A plain installation carries all it needs and works in any folder."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built and unpacked where nothing of the checkout can be seen."""
    built = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "wheel",
            "--quiet",
            "--no-deps",
            "--no-build-isolation",
            "-w",
            str(built),
            ".",
        ],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = built.glob("*.whl")
    target = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(target)
    return target


def run(installed: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(installed), "TMPDIR": str(folder)}
    return subprocess.run(
        [sys.executable, "-m", "fieldtui", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


def test_the_practice_plays_itself(installed: Path, tmp_path: Path) -> None:
    done = run(installed, tmp_path, "practice", "--auto", "--headless", "--dir", str(tmp_path / "p"))
    assert done.returncode == 0, done.stdout + done.stderr
    last = done.stdout.strip().splitlines()[-1]
    assert last.startswith("the practice session lies in "), last
    session = Path(last.removeprefix("the practice session lies in "))
    assert session.is_relative_to(tmp_path / "p" / "sessions")
    verified = run(installed, tmp_path, "verify", str(session))
    assert verified.returncode == 0, verified.stdout


def test_the_starter_routes_can_be_used_anywhere(installed: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("action,point,value\nreading,,0.9\n", encoding="utf-8")
    done = run(installed, tmp_path, "transcribe", "airframe-bonds", str(sheet))
    assert done.returncode == 0, done.stderr
    assert list((tmp_path / "sessions").iterdir())


def test_the_queries_of_the_fleet_travel_with_it(installed: Path, tmp_path: Path) -> None:
    done = run(installed, tmp_path, "trend", "--queries")
    assert done.returncode == 0, done.stderr
    assert "-- settled.sql" in done.stdout
