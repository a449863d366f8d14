"""Sessions listed by the ends of their files: as their whole reading has it, or read whole."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.desk import workspace as workspaces
from fieldtui.desk.opening import reopen_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.session.glance import glance_at
from fieldtui.files.trail.rows import HEADER, MAX_LINE, format_row
from fieldtui.ui.widgets.start_rows import list_workspace
from tests.desk.scenes import BRIEF, START, QuickDisk, Scene, record

SAME = (
    "folder",
    "id",
    "title",
    "points",
    "readings",
    "is_closed",
    "is_practice",
    "is_from_paper",
    "last_time",
)


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


def assert_alike(scene: Scene, folder: Path) -> None:
    """What a glance says of a session is what reading it whole says."""
    seen = scene.workspace._glanced_entry(folder)
    assert seen.settled is None, "it was read whole"
    whole = scene.workspace._session_entry(folder)
    assert not whole.trouble
    assert {name: getattr(seen, name) for name in SAME} == {name: getattr(whole, name) for name in SAME}


def test_a_glance_says_what_the_whole_says_at_every_step(scene: Scene) -> None:
    with scene.begin() as desk:
        assert_alike(scene, desk.folder)
        assert scene.workspace._glanced_entry(desk.folder).here == ""
        for value in ("1.1", "1.2"):
            scene.clock.tick(20)
            record(desk, value)
            assert_alike(scene, desk.folder)
        assert scene.workspace._glanced_entry(desk.folder).here == "SW-02"
        desk.void(2, "wrong clip")
        assert_alike(scene, desk.folder)
        desk.close()
        assert_alike(scene, desk.folder)
        assert scene.workspace._glanced_entry(desk.folder).is_closed
    with reopen_session(scene.workspace, desk.folder, scene.clock, "one was forgotten"):
        assert_alike(scene, desk.folder)
        assert not scene.workspace._glanced_entry(desk.folder).is_closed
    with scene.begin(practice=True) as desk:
        assert_alike(scene, desk.folder)


def many_rows(desk: Desk, *kinds: Callable[[int], ev.Event]) -> Path:
    """Rows put to a session's trail, as many as make it longer than what a glance reads."""
    trail = desk.folder / "trail.csv"
    lines = trail.read_bytes().splitlines(keepends=True)
    link = lines[-1].rstrip(b"\n").rpartition(b",")[2].decode()
    for row in range(len(lines), len(lines) + 300):
        line, link = format_row(row, kinds[row % len(kinds)](row), link)
        lines.append(line)
    trail.write_bytes(b"".join(lines))
    return desk.folder


def noted(row: int) -> ev.Event:
    return ev.Noted(time=START + timedelta(hours=1, seconds=row), by="Ana", note="rain, wind")


def skipped(row: int) -> ev.Event:
    return ev.Skipped(time=START + timedelta(hours=1, seconds=row), by="Ana", point="SW-02", reason="paint")


def test_of_a_long_trail_only_the_ends_are_read(scene: Scene) -> None:
    asked: list[int] = []

    class Counting(QuickDisk):
        def read_at(self, fd: int, size: int, offset: int) -> bytes:
            found = super().read_at(fd, size, offset)
            asked.append(len(found))
            return found

    with scene.begin() as desk:
        record(desk, "1.1")
    last = {"row": 0}

    def numbered(row: int) -> ev.Event:
        last["row"] += 1
        return ev.ReadingTaken(
            time=START + timedelta(hours=1, seconds=row),
            by="Ana",
            record=last["row"] + 1,
            point="SW-02",
            reading=desk.survey.records[1].reading,
            verdict=desk.survey.records[1].verdict,
        )

    folder = many_rows(desk, numbered)
    size = (folder / "trail.csv").stat().st_size
    toml = (folder / "session.toml").stat().st_size
    assert_alike(scene, folder)
    seen = glance_at(Counting(), folder)
    assert seen is not None
    assert (seen.readings, seen.last_point) == (301, "SW-02")
    assert sum(asked) - toml <= 3 * MAX_LINE + len(HEADER) < size


def test_a_row_that_is_being_saved_is_passed_over(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    with (desk.folder / "trail.csv").open("ab") as trail:
        trail.write(b"99,2026-05-04T08:3")
    seen = glance_at(QuickDisk(), desk.folder)
    assert seen is not None
    assert (seen.readings, seen.last_point) == (1, "SW-01")


def resealed(folder: Path, change: Callable[[str], str]) -> None:
    """session.toml changed, and the first row told its new digest: what a careful forger would do."""
    path = folder / "session.toml"
    before = path.read_bytes()
    after = change(before.decode()).encode()
    assert after != before
    path.write_bytes(after)
    trail = folder / "trail.csv"
    old, new = (sha256(each).hexdigest().encode() for each in (before, after))
    trail.write_bytes(trail.read_bytes().replace(old, new))


def with_more(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b"# seen\n")


def in_trail(old: bytes, new: bytes) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        trail = folder / "trail.csv"
        data = trail.read_bytes()
        assert old in data
        trail.write_bytes(data.replace(old, new))

    return change


LINES = '"""\n[[route.points]]\n"""'


def told_anew(old: str, new: str) -> Callable[[Path], None]:
    return lambda folder: resealed(folder, lambda text: text.replace(old, new, 1))


ODD: dict[str, Callable[[Path], object]] = {
    "no trail": lambda folder: (folder / "trail.csv").unlink(),
    "an empty trail": lambda folder: (folder / "trail.csv").write_bytes(b""),
    "a header alone": lambda folder: (folder / "trail.csv").write_bytes(HEADER),
    "another header": in_trail(b"row,time", b"time,row"),
    "no header": in_trail(HEADER, b""),
    "line ends of a spreadsheet": in_trail(b"\n", b"\r\n"),
    "a row gone": in_trail(b"\n3,", b"\n4,"),
    "a cell more": in_trail(b",reading,", b",reading,,"),
    "a kind not known": in_trail(b",reading,", b",teleport,"),
    "a record that is no number": in_trail(b",reading,1,", b",reading,one,"),
    "a point with an escape": in_trail(b"SW-01", b"SW\x1b[2J"),
    "no text": in_trail(b"SW-01", b"SW\xff"),
    "a quotation mark left open": in_trail(b"SW-01", b'"SW-01'),
    "session.toml edited": lambda folder: with_more(folder / "session.toml"),
    "session.toml no text": lambda folder: (folder / "session.toml").write_bytes(b"\xff"),
    "session.toml no TOML": lambda folder: resealed(folder, lambda text: "x\n" + text),
    "another format": told_anew("format = 1", "format = 2"),
    "an id with an escape": told_anew('id = "', 'id = "\\u001b'),
    "no practice": told_anew("practice = false", "practice = 0"),
    "no points": lambda folder: resealed(folder, lambda t: t.replace("[[route.points]]", "[[route.dots]]")),
    "a text of lines": lambda folder: resealed(folder, lambda text: f"{text}\n[x]\ny = {LINES}\n"),
}


@pytest.mark.parametrize("change", ODD.values(), ids=ODD.keys())
def test_what_is_not_as_this_program_writes_it_is_read_whole(
    scene: Scene, change: Callable[[Path], object]
) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    assert glance_at(QuickDisk(), desk.folder) is not None
    change(desk.folder)
    assert glance_at(QuickDisk(), desk.folder) is None
    assert scene.workspace._glanced_entry(desk.folder) == scene.workspace._session_entry(desk.folder)


def test_a_reading_further_back_than_a_glance_is_looked_for(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    folder = many_rows(desk, noted, skipped)
    assert glance_at(QuickDisk(), folder) is None
    assert scene.workspace._glanced_entry(folder).readings == 1


# --- lists --------------------------------------------------------------------------------------


def test_the_newest_are_verified_and_the_others_looked_at(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(3):
        with scene.begin() as desk:
            record(desk, "1.1")
    monkeypatch.setattr(workspaces, "_READ_WHOLE", 1)
    entries = scene.workspace.sessions()
    assert [entry.settled for entry in entries] == [1, None, None]
    assert [entry.folder.name for entry in entries] == sorted((e.folder.name for e in entries), reverse=True)
    words = [choice.words for choice in list_workspace(scene.workspace).groups[0].choices]
    assert "open at SW-02, 1 of 5 settled, 1 reading" in words[0]
    assert "verified" not in words[0]
    assert "open, 5 points, last read SW-01, not verified, 1 reading" in words[1]


def test_the_session_left_open_last_is_the_one_that_whole_readings_name(scene: Scene) -> None:
    assert scene.workspace.left_open_last() is None
    desks = []
    for _ in range(4):
        scene.clock.tick(60)
        with scene.begin(BRIEF) as desk:
            record(desk, "1.1")
            desks.append(desk)
    scene.clock.tick(60)
    with scene.resume(desks[1].folder) as latest:
        record(latest, "1.2")
    with scene.resume(desks[3].folder) as closed:
        closed.close()
    found = scene.workspace.left_open_last()
    assert found is not None
    assert found.folder == desks[1].folder

    class Whole(Workspace):
        def _glanced_entry(self, folder: Path) -> workspaces.SessionEntry:
            return self._session_entry(folder)

    whole = Whole(scene.root, scene.disk).left_open_last()
    assert whole is not None
    assert whole.folder == found.folder
