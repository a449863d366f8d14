"""Shell completion, asked as a shell asks: through the library's protocol, and in a real bash."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli.setting_up import SHELLS

ROOT = Path(__file__).resolve().parents[2]


def offered(folder: Path, line: str) -> list[str]:
    """What is offered after ``line`` in ``folder``."""
    answer = folder / "answer"
    done = subprocess.run(
        [sys.executable, "-m", "fieldtui"],
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "_ARGCOMPLETE": "3",  # the words that start the program here: python -m fieldtui
            "_ARGCOMPLETE_IFS": "\n",
            "_ARGCOMPLETE_SUPPRESS_SPACE": "1",
            "_ARGCOMPLETE_STDOUT_FILENAME": str(answer),
            "COMP_LINE": f"python -m {line}",
            "COMP_POINT": str(len(f"python -m {line}".encode())),
        },
        capture_output=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return answer.read_text(encoding="utf-8").split("\n")


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    for folder in ("routes", "sessions/2026-05-04_rig_wing_01", "sessions/bad\x1b[2J"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "routes" / "wing.toml").write_text("", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("fieldtui ve", {"verify"}),
        ("fieldtui route ", {"--help", "check", "import", "export", "sheet"}),
        ("fieldtui route sheet --m", {"--meter"}),
        ("fieldtui schema c", {"criteria", "cautions", "conductors"}),
        ("fieldtui walk w", {"wing"}),
        ("fieldtui verify 2026", {"2026-05-04_rig_wing_01"}),
        ("fieldtui completion f", {"fish"}),
    ],
)
def test_what_could_come_next_is_offered(workspace: Path, line: str, names: set[str]) -> None:
    assert set(offered(workspace, line)) == names


def test_paths_are_offered_beside_names_and_nothing_wild(workspace: Path) -> None:
    found = offered(workspace, "fieldtui review ")
    assert {"2026-05-04_rig_wing_01", "routes/", "sessions/"} <= set(found)
    assert not [name for name in found if "\x1b" in name]


def test_outside_a_workspace_paths_are_offered(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_text("", encoding="utf-8")
    assert "plan.toml" in offered(tmp_path, "fieldtui walk ")


@pytest.mark.parametrize("shell", SHELLS)
def test_a_script_for_every_shell(ask: Any, shell: str) -> None:
    answer = ask("completion", shell)
    assert (answer.code, answer.err) == (0, "")
    assert "fieldtui" in answer.out
    assert "_ARGCOMPLETE" in answer.out


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
def test_bash_itself_completes(ask: Any, workspace: Path) -> None:
    script = ask("completion", "bash").out
    program = workspace / "bin" / "fieldtui"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m fieldtui "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    asked = 'COMP_LINE="fieldtui tran"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9; _python_argcomplete fieldtui'
    done = subprocess.run(
        ["bash", "-c", f'{script}\n{asked}; echo "${{COMPREPLY[*]}}"'],
        cwd=workspace,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "PATH": f"{program.parent}{os.pathsep}{os.environ['PATH']}",
        },
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "transcribe", "")


def test_the_library_is_not_loaded_until_a_shell_asks() -> None:
    code = (
        "import sys, fieldtui.cli; fieldtui.cli.make_parser(); print([m for m in sys.modules if m in heavy])"
    )
    heavy = "heavy = {'argcomplete', 'pydantic', 'textual', 'rich', 'jinja2'}"
    done = subprocess.run(
        [sys.executable, "-c", f"{heavy}\n{code}"],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout.strip() == "[]"
