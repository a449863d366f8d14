"""``reopen``: what it says, what it writes, and that nothing else can be reopened."""

from __future__ import annotations

import shlex
import shutil
from pathlib import Path

import pytest

from fieldtui.desk.opening import known_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.cli.conftest import ROOT, Ask

DEMO = "2026-04-21_saltwhin-hangar_hangar-ground_01"


def test_a_closed_session_is_reopened_once_with_its_seal_kept(ask: Ask) -> None:
    shutil.copytree(ROOT / "demo" / "sessions" / DEMO, DEMO)
    before = ask("verify", DEMO, "--json").json
    answered = ask("reopen", DEMO, "--reason", "retest of two points", "--by", "Ute", "--json").json
    assert answered["seal"] == before["seal"]
    assert (answered["closed_row"], answered["row"]) == (before["rows"], before["rows"] + 1)
    after = ask("verify", DEMO, "--json")
    assert after.code == 0 and after.json["rows"] == before["rows"] + 1
    assert ask("verify", DEMO, "--rows", str(before["rows"])).code == 1
    again = ask("reopen", DEMO, "--reason", "once more")
    assert again.code == 2 and "not closed" in again.err
    ask("report", DEMO, "--out", "out")
    summary = Path("out", "summary.txt").read_text(encoding="utf-8")
    assert "reopened by Ute" in " ".join(summary.split())


@pytest.mark.parametrize("folder", ["sessions", "old surveys"])
def test_what_it_says_to_go_on_with_finds_the_session(ask: Ask, tmp_path: Path, folder: str) -> None:
    shutil.copytree(ROOT / "demo" / "sessions" / DEMO, Path(folder, DEMO))
    said = ask("reopen", f"{folder}/{DEMO}", "--reason", "retest").out
    program, command, session = shlex.split(said.rpartition("go on with: ")[2])
    assert (program, command) == ("fieldtui", "resume")
    assert known_session(Workspace(tmp_path, Disk()), session).samefile(Path(folder, DEMO))


def test_a_reason_is_wanted(ask: Ask) -> None:
    shutil.copytree(ROOT / "demo" / "sessions" / DEMO, DEMO)
    assert ask("reopen", DEMO).code == 2
    answered = ask("reopen", DEMO, "--reason", " ")
    assert answered.code == 2 and "A reason is wanted" in answered.err
    assert ask("verify", DEMO).code == 0
