"""Where hints are kept: a file of the user's own that may be missing, broken or refused without harm."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fieldtui.core.teaching.hints import MOST_TIMES, WORDS, Moment
from fieldtui.desk.hinting import HintBook
from fieldtui.files.disk import Disk
from fieldtui.files.hints_file import NAME, load_hints, state_folder
from tests.core.walks import Walk


def test_what_was_seen_and_done_is_known_the_next_time(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "state"
    book = HintBook(Disk(), folder)
    assert book.once(Moment.BRIEF) == WORDS[Moment.BRIEF]
    book.acted(Moment.BRIEF)
    assert book.once(Moment.DOUBT) == WORDS[Moment.DOUBT]
    book.save()
    assert json.loads((folder / NAME).read_text(encoding="utf-8")) == {
        "format": 1, "seen": {"brief": 1, "doubt": 1}, "done": ["brief"],
    }  # fmt: skip
    again = HintBook(Disk(), folder)
    assert again.once(Moment.BRIEF) == ""
    assert [bool(again.once(Moment.DOUBT)) for _ in range(MOST_TIMES)] == [True] * (MOST_TIMES - 1) + [False]


def test_where_nothing_changed_nothing_is_written(tmp_path: Path) -> None:
    HintBook(Disk(), tmp_path / "state").save()
    assert not (tmp_path / "state").exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "[" * 100_000,
        '{"seen": 3, "done": {}}',
        '{"seen": {"brief": "often", "nothing": 2, "doubt": -1, "failed": true}, "done": [1, "nothing"]}',
        '{"seen": {"brief": 1e99}}',
        "x" * 70_000,
    ],
)
def test_a_broken_file_begins_the_hints_anew(text: str, tmp_path: Path) -> None:
    (tmp_path / NAME).write_text(text, encoding="utf-8")
    hints = load_hints(Disk(), tmp_path)
    assert not hints.seen and not hints.done
    book = HintBook(Disk(), tmp_path)
    assert book.on_walk(Walk("A").survey) == WORDS[Moment.FIRST_READING]


def test_a_count_beyond_reason_is_no_more_than_the_most(tmp_path: Path) -> None:
    (tmp_path / NAME).write_text('{"seen": {"brief": 999999999}}', encoding="utf-8")
    assert load_hints(Disk(), tmp_path).seen == {Moment.BRIEF: MOST_TIMES}


def test_a_folder_that_cannot_be_written_harms_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    book = HintBook(Disk(), tmp_path / "file" / "state")
    assert book.once(Moment.BRIEF)
    book.save()
    assert (tmp_path / "file").read_text(encoding="utf-8") == "in the way"


def test_on_linux_the_folder_is_that_of_the_xdg_specification(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification: ``$XDG_STATE_HOME``, else ``~/.local/state``."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert state_folder() == tmp_path / "fieldtui"
