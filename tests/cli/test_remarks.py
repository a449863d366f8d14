"""Remarks on the command line: the report prints them, wherever they are kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.files.disk import Disk
from tests.cli.conftest import Ask
from tests.ui.test_start import StandingClock, take, workspace_in


def remark(folder: Path, words: str, elsewhere: Path | None = None) -> None:
    RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock(), elsewhere).add("Ivo", words)


def test_the_report_prints_remarks_from_both_places(ask: Ask, tmp_path: Path) -> None:
    folder = take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38")
    remark(folder, "beside the session")
    remark(folder, "in the notes", tmp_path / "notes")
    here = ask("report", str(folder), "--out", "one")
    assert "beside the session" in here.out
    assert "in the notes" not in here.out
    both = ask("report", str(folder), "--out", "two", "--remarks", "notes")
    page = (tmp_path / "two" / "report.html").read_text(encoding="utf-8")
    for words in ("beside the session", "in the notes"):
        assert words in both.out
        assert words in page


def test_a_bad_file_of_remarks_stops_no_report(ask: Any, tmp_path: Path) -> None:
    folder = take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38")
    (folder / "review-bad.toml").write_bytes(b"format = 2\n")
    answer = ask("report", str(folder))
    assert answer.code == 0
    assert "NOT READ" in answer.out


def test_the_review_takes_the_place_for_remarks(ask: Ask, tmp_path: Path) -> None:
    folder = take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38")
    answer = ask("review", str(folder), "--remarks", "notes")
    assert "want a terminal" in answer.err  # the arguments were understood
    assert "--remarks DIR" in ask("review", "--help").out
