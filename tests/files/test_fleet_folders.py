"""Session folders below a folder: found however deep, links not followed, what is left out is said."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from fieldtui.files.disk import Disk, Identity
from fieldtui.files.fleet.folders import (
    MAX_DEPTH,
    MAX_RESULTS,
    RESULTS_COLUMNS,
    find_session_folders,
    is_plain_path,
    why_no_results,
)

HEADER = ",".join(RESULTS_COLUMNS)


def put(path: Path, text: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path.parent


def test_sessions_and_bare_results_are_found_in_the_order_of_their_paths(tmp_path: Path) -> None:
    later = put(tmp_path / "b" / "deep" / "deeper" / "session.toml")
    broken = put(tmp_path / "c" / "trail.csv")
    first = put(tmp_path / "a" / "session.toml")
    bare = put(tmp_path / "a-results" / "results.csv")
    put(tmp_path / ".hidden" / "session.toml")
    put(first / "inside" / "session.toml")  # what lies in a session is the session's own
    put(tmp_path / "notes.txt")
    found = find_session_folders(Disk(), tmp_path)
    assert (found.sessions, found.results, found.left_out) == ([first, later, broken], [bare], [])


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    inside = put(tmp_path / "fleet" / "one" / "session.toml")
    (tmp_path / "fleet" / "again").symlink_to(inside, target_is_directory=True)
    (tmp_path / "fleet" / "loop").symlink_to(tmp_path / "fleet", target_is_directory=True)
    assert find_session_folders(Disk(), tmp_path / "fleet").sessions == [inside]


def test_folders_in_folders_without_end_are_left_out_and_said(tmp_path: Path) -> None:
    folder = tmp_path
    for _ in range(MAX_DEPTH + 1):
        folder /= "d"
    put(folder / "session.toml")
    found = find_session_folders(Disk(), tmp_path)
    assert found.sessions == []
    (said,) = found.left_out
    assert said.endswith(f"more than {MAX_DEPTH} folders in folders")


class Refusing(Disk):
    """A disk that neither lists one folder nor looks at another."""

    def list_folder(self, path: Path) -> list[str]:
        if path.name == "locked":
            raise OSError(errno.EACCES, "no")
        return super().list_folder(path)

    def path_identity(self, path: Path) -> Identity | None:
        if path.name == "gone":
            raise OSError(errno.EIO, "no")
        return super().path_identity(path)


def test_what_cannot_be_looked_at_is_said_and_the_rest_is_found(tmp_path: Path) -> None:
    kept = put(tmp_path / "a" / "session.toml")
    put(tmp_path / "locked" / "session.toml")
    put(tmp_path / "gone" / "session.toml")
    found = find_session_folders(Refusing(), tmp_path)
    assert found.sessions == [kept]
    assert found.left_out == [f"{tmp_path / 'locked'}: permission was refused"]


@pytest.mark.parametrize("name", ["a*b", "a?", "[a]", "{a}", "a\\b", "a\x1b[31m", "a\u202eb"])
def test_a_path_that_an_engine_would_read_as_a_pattern_is_not_plain(name: str, tmp_path: Path) -> None:
    assert not is_plain_path(f"/fleet/{name}/trail.csv")
    assert is_plain_path("/fleet/2026-05-04_zx-41_wing_01/trail.csv")
    if "\\" not in name:
        put(tmp_path / name / "results.csv", HEADER)
        assert "have a meaning for the engine" in why_no_results(Disk(), tmp_path / name / "results.csv")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (HEADER.encode() + b"\r\n", ""),
        (b"more," + HEADER.encode() + b"\nrow", ""),
        (HEADER.encode().replace(b"as_left_record", b"record"), "has no column as_left_record"),
        (b"", "has no column point"),
        (HEADER.encode() + b",in_doubt\nP1,,,,,,,\n", ""),
        (HEADER.encode() + b",in_doubt\nP1,,,,,,,let stand: in doubt no more\n", ""),
        (HEADER.encode() + b",in_doubt\nP1,,,,,,,in doubt\nP2,,,,,,,\n", "are in doubt for the meter: 1"),
        (
            HEADER.encode() + b",in_doubt\nP1,,,,,,,in doubt; unproven\nP2,,,,,,,\n",
            "unproven, since its trail",
        ),
        (b"\xff\xfe", "is not UTF-8 text"),
        (b"x" * (MAX_RESULTS + 1), "larger than"),
    ],
)
def test_results_that_cannot_be_read_at_once_say_why(tmp_path: Path, data: bytes, why: str) -> None:
    path = tmp_path / "results.csv"
    path.write_bytes(data)
    told = why_no_results(Disk(), path)
    assert why in told
    assert bool(told) is bool(why)
