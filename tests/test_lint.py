"""What the linters say, as tests: nothing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TOOLS = Path(sys.executable).parent  # beside the interpreter that runs the tests


def said_by(*command: str) -> str:
    """What a linter has to say about the project, empty where it is content."""
    done = subprocess.run(
        [str(TOOLS / command[0]), *command[1:]],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_ruff_has_nothing_to_say() -> None:
    assert said_by("ruff", "check", "fieldtui", "tests", "demo") == ""


def test_the_code_is_laid_out_as_ruff_would() -> None:
    assert said_by("ruff", "format", "--check", "fieldtui", "tests", "demo") == ""


@pytest.mark.parametrize("system", ["linux", "win32"])
def test_mypy_has_nothing_to_say(system: str) -> None:
    assert said_by("mypy", "--strict", "--platform", system) == ""


def test_imports_keep_their_contracts() -> None:
    assert said_by("lint-imports") == ""
