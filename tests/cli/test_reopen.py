"""``reopen``: what it says, what it writes, and that nothing else can be reopened."""

from __future__ import annotations

import shutil
from pathlib import Path

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


def test_a_reason_is_wanted(ask: Ask) -> None:
    shutil.copytree(ROOT / "demo" / "sessions" / DEMO, DEMO)
    assert ask("reopen", DEMO).code == 2
    answered = ask("reopen", DEMO, "--reason", " ")
    assert answered.code == 2 and "A reason is wanted" in answered.err
    assert ask("verify", DEMO).code == 0
