"""The file of hints seen: what is kept comes back, and whatever else stands there harms nothing."""

from __future__ import annotations

import errno
import json
from pathlib import Path

import pytest

from fieldtui.core.teaching.hints import MOST_TIMES, Hints, Moment
from fieldtui.files.disk import Disk
from fieldtui.files.hints_file import NAME, load_hints, save_hints, state_folder

HINTS = Hints(seen={Moment.BRIEF: 2, Moment.FAILED: 1}, done=frozenset({Moment.DOUBT}))


def test_what_was_seen_and_done_comes_back(tmp_path: Path) -> None:
    folder = tmp_path / "state" / "fieldtui"
    assert load_hints(Disk(), folder) == Hints()
    assert save_hints(Disk(), folder, HINTS)
    assert load_hints(Disk(), folder) == HINTS
    assert save_hints(Disk(), folder, Hints())
    assert load_hints(Disk(), folder) == Hints()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xfe",
        b"[]",
        b'"seen"',
        b"[" * 60_000,
        b'{"seen": [1], "done": {"doubt": 1}}',
        b'{"seen": {"brief": "2", "failed": true, "unheard of": 1, "doubt": -1}, "done": [1, "unheard of"]}',
        b" " * 70_000,
    ],
    ids=["empty", "no text", "a list", "a word", "deep", "other forms", "other values", "too large"],
)
def test_a_file_of_another_form_is_as_none(tmp_path: Path, data: bytes) -> None:
    (tmp_path / NAME).write_bytes(data)
    assert load_hints(Disk(), tmp_path) == Hints()


def test_a_count_beyond_what_is_ever_counted_is_cut(tmp_path: Path) -> None:
    (tmp_path / NAME).write_text(json.dumps({"seen": {"brief": 10**9}, "done": ["doubt"]}))
    found = load_hints(Disk(), tmp_path)
    assert found == Hints(seen={Moment.BRIEF: MOST_TIMES}, done=frozenset({Moment.DOUBT}))


def test_where_it_cannot_be_written_nothing_is_raised(tmp_path: Path) -> None:
    class Full(Disk):
        def write_whole(self, path: Path, data: bytes) -> None:
            raise OSError(errno.ENOSPC, "full")

    assert not save_hints(Full(), tmp_path, HINTS)
    (tmp_path / "file").write_bytes(b"")
    assert not save_hints(Disk(), tmp_path / "file" / "below", HINTS)


def test_it_lies_where_the_system_keeps_what_programs_remember(monkeypatch: pytest.MonkeyPatch) -> None:
    assert state_folder().name == "fieldtui"
