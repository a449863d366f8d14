"""Sessions begun and resumed: the same survey as before the stop, one writer, nothing half open."""

from __future__ import annotations

import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fieldtui.core.survey.brief import BATTERY, CALIBRATION
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.desk.opening import find_session
from fieldtui.desk.reading import read_session
from fieldtui.errors import (
    BadInputError,
    DiskFullError,
    NotSavedError,
    SessionClosedError,
    SessionDamagedError,
    SessionInUseError,
    WrongUseError,
)
from fieldtui.files.disk import Disk
from tests.desk.scenes import BRIEF, BROKEN, FULL, METER, START, FailingDisk, Scene, SetClock, record


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


# --- begun -----------------------------------------------------------------------------------------


def test_a_session_begins_with_its_brief_and_its_memory_run(scene: Scene) -> None:
    with scene.begin() as desk:
        kinds = scene.kinds(desk)
        assert kinds == ["start", *["brief"] * 5, "run"]
        assert desk.survey.next_number == 1
        assert desk.folder.name == "2026-05-04_amphibious-twin-zx-41_wing_01"
        assert desk.session.started == START
        assert not desk.session.practice


def test_a_practice_session_says_so(scene: Scene) -> None:
    with scene.begin(practice=True) as desk:
        assert read_session(Disk(), desk.folder).facts.practice


def test_without_a_next_number_no_memory_run_begins(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, next_number=None)) as desk:
        assert "run" not in scene.kinds(desk)


def test_sessions_of_one_day_are_numbered(scene: Scene) -> None:
    names = []
    for _ in range(3):
        with scene.begin() as desk:
            names.append(desk.folder.name[-3:])
    assert names == ["_01", "_02", "_03"]


def test_a_lapsed_calibration_makes_no_session(scene: Scene) -> None:
    lapsed = replace(BRIEF, instrument=replace(METER, calibration_due=date(2026, 5, 3)))
    with pytest.raises(WrongUseError, match="calibration lapsed on 2026-05-03"):
        scene.begin(lapsed)
    assert not scene.workspace.sessions_folder.exists()
    overridden = replace(lapsed, overrides={CALIBRATION: "spare meter is ashore"})
    with scene.begin(overridden) as desk:
        row = next(event for event in scene.events(desk) if isinstance(event, ev.Briefed) and event.reason)
        assert (row.ref, row.verdict, row.reason) == (
            CALIBRATION,
            ev.Answer.OVERRIDE,
            "spare meter is ashore",
        )


def test_a_text_that_may_not_be_recorded_makes_no_session(scene: Scene) -> None:
    hostile = replace(BRIEF, battery_good=False, overrides={BATTERY: "go\x1b[2J on"})
    with pytest.raises(BadInputError, match="battery cannot be recorded"):
        scene.begin(hostile)
    with pytest.raises(BadInputError):
        scene.begin(replace(BRIEF, job="WO\u202e1"))
    assert not scene.workspace.sessions_folder.exists()


@pytest.mark.parametrize("after", range(8))
def test_a_disk_that_fills_up_while_a_session_begins_leaves_no_lock_behind(
    tmp_path: Path, after: int
) -> None:
    class FullAfter(FailingDisk):
        left = after

        def write(self, fd: int, data: bytes) -> int:
            if self.left == 0:
                raise OSError(FULL, "told to fail")
            self.left -= 1
            return super().write(fd, data)

    disk = FullAfter()
    scene = Scene(tmp_path, disk)
    with pytest.raises(NotSavedError):
        scene.begin()
    disk.left = 999
    for folder in tmp_path.glob("sessions/*/session.toml"):  # what stands there can be gone on with
        scene.resume(folder.parent).leave()
    with scene.begin() as desk:
        record(desk, "1.1")


# --- resumed ---------------------------------------------------------------------------------------


def without_opening(survey: Survey) -> Survey:
    """The survey, but for what an ``open`` row itself leaves: its row, its time, the check it asks for."""
    return replace(survey, rows=0, recent=(), last_time=None, check_due="", is_disturbed=False)


def test_a_resumed_survey_is_the_one_that_was_left(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "9.9", "1.0")
        desk.jump("HU-02")
        desk.insert("Spare strap", "<= 3", "not planned")
        desk.redo("tips slipped", 2)
        before = desk.survey
    scene.clock.tick(3600)
    with scene.resume(desk.folder) as again:
        assert without_opening(again.survey) == without_opening(before)
        assert again.survey.position == before.position
        assert (again.survey.next_record, again.survey.next_number) == (4, 4)
        assert again.survey.check_due
        assert scene.kinds(again)[-1] == "open"
        record(again, "1.3")
        assert again.survey.position.here == "X01"


def test_a_session_left_without_a_word_is_resumed_the_same(scene: Scene) -> None:
    desk = scene.begin()
    record(desk, "1.1", "1.2")
    left_as = shutil.copytree(desk.folder, scene.root / "sessions" / "copy")  # the lid was closed here
    before = desk.survey
    with scene.resume(left_as) as again:
        assert without_opening(again.survey) == without_opening(before)
    desk.leave()


def test_resuming_again_and_again_changes_nothing_but_the_openings(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    surveys = []
    for _ in range(3):
        with scene.resume(desk.folder) as again:
            surveys.append(without_opening(again.survey))
    assert surveys[0] == surveys[1] == surveys[2]


def test_a_torn_last_row_is_set_aside_and_told(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        before = desk.survey
    with (desk.folder / "trail.csv").open("ab") as trail:
        trail.write(b"9,2026-05-04T08:30:00.000Z,read")
    with scene.resume(desk.folder) as again:
        assert "31 bytes" in again.recovered
        assert scene.kinds(again)[-2:] == ["recovered", "open"]
        assert without_opening(again.survey) == without_opening(before)
        assert len(list(desk.folder.glob("torn-*.bin"))) == 1


def test_a_second_writer_is_refused_until_the_first_one_leaves(scene: Scene) -> None:
    with scene.begin() as desk:
        with pytest.raises(SessionInUseError):
            scene.resume(desk.folder)
        record(desk, "1.1")
    with scene.resume(desk.folder) as again:
        assert again.survey.next_record == 2


OTHER_PROGRAM = """
import sys
from pathlib import Path
from fieldtui.errors import SessionInUseError
from tests.desk.scenes import Scene
try:
    Scene(Path(sys.argv[1])).resume(Path(sys.argv[2])).leave()
except SessionInUseError:
    print("refused")
"""


def test_a_second_program_is_refused_too(scene: Scene) -> None:
    with scene.begin() as desk:
        done = subprocess.run(
            [sys.executable, "-c", OTHER_PROGRAM, str(scene.root), str(desk.folder)],
            cwd=Path(__file__).parents[2],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert (done.stdout, done.stderr) == ("refused\n", "")


def test_reading_a_session_that_is_being_written_needs_no_lock(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        assert read_session(Disk(), desk.folder).survey == desk.survey


def test_a_closed_session_is_not_resumed_and_left_as_it_was(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        desk.close("done")
    before = (desk.folder / "trail.csv").read_bytes()
    for _ in range(2):  # and the lock is given back
        with pytest.raises(SessionClosedError, match="takes no more events"):
            scene.resume(desk.folder)
    assert (desk.folder / "trail.csv").read_bytes() == before


def test_an_edited_session_is_not_resumed_and_left_as_it_is(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "2.6", "1.2")
    trail = desk.folder / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b",2.6,mohm", b",2.4,mohm"))
    before = trail.read_bytes()
    for _ in range(2):
        with pytest.raises(SessionDamagedError):
            scene.resume(desk.folder)
    assert trail.read_bytes() == before


def test_what_is_no_session_is_not_resumed_and_gets_no_lock_file(scene: Scene, tmp_path: Path) -> None:
    empty = tmp_path / "sessions" / "empty"
    empty.mkdir(parents=True)
    for place in (empty, tmp_path / "nowhere", tmp_path / "routes" / "wing.toml"):
        with pytest.raises(BadInputError, match="There is no session here"):
            scene.resume(place)
    assert list(empty.iterdir()) == []


@pytest.mark.parametrize("fault", [("write", FULL), ("sync", BROKEN)])
def test_a_session_that_cannot_be_reopened_is_given_back(tmp_path: Path, fault: tuple[str, int]) -> None:
    disk = FailingDisk()
    scene = Scene(tmp_path, disk)
    with scene.begin() as desk:
        record(desk, "1.1")
    disk.fails = [fault]
    with pytest.raises(NotSavedError):
        scene.resume(desk.folder)
    with scene.resume(desk.folder) as again:
        assert again.survey.next_record == 2


def test_time_in_a_resumed_session_goes_on_from_where_it_was(scene: Scene) -> None:
    with scene.begin() as desk:
        scene.clock.tick(600)
        record(desk, "1.1")
    scene.clock = SetClock(time=START)  # the machine's clock lost ten minutes meanwhile
    with scene.resume(desk.folder) as again:
        record(again, "1.2")
        events = scene.events(again)
        assert [event.time for event in events] == sorted(event.time for event in events)
        assert [event.kind for event in events[-3:]] == ["clock", "open", "reading"]
        assert events[-3].note == "the machine's clock went back by 600 s"


def test_a_session_is_found_by_its_path_or_by_its_name(scene: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    with scene.begin() as desk:
        folder = desk.folder
    monkeypatch.chdir(scene.root)
    disk = Disk()
    assert find_session(disk, scene.workspace, str(folder)) == folder
    assert find_session(disk, scene.workspace, folder.name) == folder
    assert find_session(disk, scene.workspace, "nowhere") == Path("nowhere")


def test_a_session_can_be_judged_with_nothing_else_at_hand(scene: Scene, tmp_path: Path) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "9.9")
        before = desk.survey
    elsewhere = shutil.copytree(desk.folder, tmp_path / "another machine" / "renamed")
    shutil.rmtree(scene.root / "routes")
    session = read_session(Disk(), elsewhere)
    assert session.survey == before
    assert session.is_intact
    assert session.facts.route == desk.session.route


def test_a_full_disk_is_told_as_such(tmp_path: Path) -> None:
    disk = FailingDisk(fails=[("write", FULL)])
    with pytest.raises(DiskFullError, match="disk is full"):
        Scene(tmp_path, disk).begin()


def test_a_second_program_is_offered_a_read_only_view(scene: Scene) -> None:
    with scene.begin() as desk, pytest.raises(SessionInUseError) as refused:
        scene.resume(desk.folder)
    assert f"fieldtui review {desk.folder}" in refused.value.remedy
