"""A reviewer's remarks: beside the session or elsewhere, nothing of the session's own touched."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldtui.core.remarks import Place, Since
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.remarks import RemarkDesk, find_remarks
from fieldtui.errors import NotSavedError, WrongUseError
from fieldtui.files.disk import Disk
from tests.ui.test_start import StandingClock, take, workspace_in

State = dict[str, tuple[bytes, int, int, int, int]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38", "2.5")


def desk_on(folder: Path, elsewhere: Path | None = None) -> RemarkDesk:
    return RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock(), elsewhere)


def state_of(folder: Path) -> State:
    """Bytes, time of change, permissions, identity and links of the session's own files."""
    return {
        name: (
            (folder / name).read_bytes(), (stat := (folder / name).stat()).st_mtime_ns, stat.st_mode,
            stat.st_ino, stat.st_nlink,
        )
        for name in ("session.toml", "trail.csv", ".lock")
    }  # fmt: skip


def test_the_session_s_own_files_stay_as_they_are(folder: Path) -> None:
    for name in ("session.toml", "trail.csv"):
        (folder / name).chmod(0o640)
    before = state_of(folder)
    desk = desk_on(folder)
    desk.add("Ivo Marr", "measured twice", Place(point="SW-01", record=1, row=9))
    desk.withdraw(desk.read().entries[0], "Ivo Marr", "it was once")
    assert state_of(folder) == before
    assert read_session(Disk(), folder).is_intact


def test_a_remark_carries_who_when_what_and_the_seal_and_rows_it_was_made_on(folder: Path) -> None:
    session = read_session(Disk(), folder)
    path = desk_on(folder).add("  Ivo Marr ", "look again", Place(point="SW-02"))
    assert path == folder / "review-ivo-marr.toml"
    (entry,) = desk_on(folder).read().entries
    made = entry.remark
    assert (made.by, made.text, made.about) == ("Ivo Marr", "look again", Place(point="SW-02"))
    assert made.time.tzinfo is UTC
    assert (made.seal, made.rows) == (session.seal.replace(" ", ""), session.rows)
    assert entry.still_holds
    assert entry.since is Since.SAME


def test_several_reviewers_are_shown_together_oldest_first(folder: Path, tmp_path: Path) -> None:
    clock = StandingClock()
    session = read_session(Disk(), folder)
    here = RemarkDesk(Disk(), session, clock)
    there = RemarkDesk(Disk(), session, clock, tmp_path / "notes")
    here.add("Ivo", "one")
    there.add("Ana", "two")
    here.add("Bo", "three")
    assert [(each.remark.by, each.remark.text) for each in there.read().entries] == [
        ("Ivo", "one"),
        ("Ana", "two"),
        ("Bo", "three"),
    ]
    assert [each.remark.by for each in here.read().entries] == ["Ivo", "Bo"]


def test_a_withdrawn_remark_stays_and_only_its_author_withdraws_it_once(folder: Path, tmp_path: Path) -> None:
    desk = desk_on(folder)
    desk.add("Ivo Marr", "look again")
    (entry,) = desk.read().entries
    with pytest.raises(WrongUseError, match="only Ivo Marr can withdraw"):
        desk.withdraw(entry, "Ana", "no")
    elsewhere = desk_on(folder, tmp_path / "notes")
    with pytest.raises(WrongUseError, match="does not write to"):
        elsewhere.withdraw(entry, "Ivo Marr", "no")
    desk.withdraw(entry, "ivo marr", "wrong strap")
    (entry,) = desk.read().entries
    assert entry.remark.text == "look again"
    assert entry.withdrawn is not None
    assert entry.withdrawn.text == "wrong strap"
    with pytest.raises(WrongUseError, match="withdrawn already"):
        desk.withdraw(entry, "Ivo Marr", "again")


# --- what became of the record since -----------------------------------------------------------


def since_of(folder: Path) -> Since:
    (entry,) = find_remarks(Disk(), read_session(Disk(), folder)).entries
    return entry.since


def test_rows_added_since_are_told_from_a_record_that_was_changed(folder: Path) -> None:
    trail = folder / "trail.csv"
    whole = trail.read_bytes()
    lines = whole.splitlines(keepends=True)
    trail.write_bytes(b"".join(lines[:-2]))  # as it stood when the reviewer looked
    desk_on(folder).add("Ivo", "two readings missing")
    assert since_of(folder) is Since.SAME
    trail.write_bytes(whole)
    assert since_of(folder) is Since.WENT_ON
    trail.write_bytes(b"".join(lines[:-3]))
    assert since_of(folder) is Since.OTHER
    trail.write_bytes(whole.replace(b"probe tips", b"probe tops"))
    assert since_of(folder) is Since.OTHER


def test_a_trail_saved_again_by_a_spreadsheet_is_still_the_one_remarked_on(folder: Path) -> None:
    desk_on(folder).add("Ivo", "look again")
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b"\n", b"\r\n"))
    assert since_of(folder) is Since.SAME


# --- where it cannot be written ---------------------------------------------------------------


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """The folder as on a disc that cannot be written to; a mount for root, permissions for others."""
    if os.geteuid() == 0:
        subprocess.run(["mount", "--bind", str(folder), str(folder)], check=True)
        try:
            subprocess.run(["mount", "-o", "remount,ro,bind", str(folder)], check=True)
            yield
        finally:
            subprocess.run(["umount", str(folder)], check=True)
    else:
        folder.chmod(0o555)
        try:
            yield
        finally:
            folder.chmod(0o755)


def can_be_read_only() -> bool:
    if os.geteuid() != 0:
        return hasattr(os, "geteuid")
    tried = subprocess.run(["unshare", "--mount", "true"], check=False, capture_output=True)
    return tried.returncode == 0


@pytest.mark.skipif(not can_be_read_only(), reason="root here may not mount")
def test_a_session_on_a_read_only_medium_says_where_remarks_can_go(folder: Path, tmp_path: Path) -> None:
    before = state_of(folder)
    with read_only(folder):
        with pytest.raises(NotSavedError) as caught:
            desk_on(folder).add("Ivo", "look again")
        assert "--remarks DIR" in caught.value.remedy
        elsewhere = tmp_path / "new" / "notes"
        elsewhere.parent.mkdir()
        desk = desk_on(folder, elsewhere)
        path = desk.add("Ivo", "look again")
        assert path == elsewhere / folder.name / "review-ivo.toml"
        assert [each.remark.text for each in desk.read().entries] == ["look again"]
    assert state_of(folder) == before
    assert not list(folder.glob("review-*"))


@pytest.mark.parametrize("name", ["..", ".", "con", "a" * 119])
def test_a_session_that_calls_itself_a_path_does_not_lead_out_of_the_folder(
    folder: Path, tmp_path: Path, name: str
) -> None:
    session = read_session(Disk(), folder)
    hostile: ReadSession = replace(session, facts=replace(session.facts, id=name))
    elsewhere = tmp_path / "notes"
    path = RemarkDesk(Disk(), hostile, StandingClock(), elsewhere).add("Ivo", "x")
    assert path.parent.parent == elsewhere
    assert path.parent.name != name


def test_time_is_kept_to_the_millisecond(folder: Path) -> None:
    class Fine(StandingClock):
        def wall(self) -> datetime:
            return super().wall() + timedelta(microseconds=1234)

    desk = RemarkDesk(Disk(), read_session(Disk(), folder), Fine())
    desk.add("Ivo", "x")
    assert desk.read().entries[0].remark.time.microsecond == 1000
