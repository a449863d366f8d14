"""Of a broken trail only what stands before the break is used, and every place says so alike."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path

import pytest

from fieldtui.cli import main
from fieldtui.core.between.comparison import Change
from fieldtui.desk.comparing import compare_sessions, follow_sessions, merge_sessions
from fieldtui.desk.fleet import follow_fleet
from fieldtui.desk.opening import reopen_session
from fieldtui.desk.reading import ReadSession, read_session, unproven_points, unproven_records
from fieldtui.desk.verifying import Paper, verify_session
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.history_json import comparison_as_json
from tests.desk.fleet_maker import Chances, make_fleet
from tests.desk.scenes import Scene, record
from tests.desk.session_maker import SessionMaker
from tests.report.test_papers_and_seals import rechained

DAY = "2025-05-04"


@pytest.fixture
def maker(tmp_path: Path) -> SessionMaker:
    return SessionMaker(tmp_path)


@pytest.fixture
def sound(maker: SessionMaker) -> Path:
    """Six rows: start, three readings, two notes."""
    notes = [f"note,,,,,,,{text},{DAY}T08:50:00Z" for text in ("rain", "end of the sheet")]
    return maker.make(DAY, *notes, SW_01="2.60", SW_02="1.40", SW_03="1.00")


def copied(folder: Path, name: str) -> Path:
    return Path(shutil.copytree(folder, folder.parent / name))


def edited(folder: Path, old: str, new: str, name: str = "bad") -> Path:
    """A copy with one text in its trail changed."""
    made = copied(folder, name)
    data = (made / "trail.csv").read_bytes()
    assert data.count(old.encode()) == 1
    (made / "trail.csv").write_bytes(data.replace(old.encode(), new.encode()))
    return made


def with_lines(folder: Path, name: str, *places: int) -> Path:
    """A copy whose trail has the lines at these places only, in this order; the header is line 0."""
    made = copied(folder, name)
    lines = (made / "trail.csv").read_bytes().splitlines(keepends=True)
    (made / "trail.csv").write_bytes(b"".join(lines[place] for place in places))
    return made


def torn(folder: Path, name: str = "torn") -> Path:
    """A copy cut off in the middle of its last row."""
    made = copied(folder, name)
    data = (made / "trail.csv").read_bytes()
    (made / "trail.csv").write_bytes(data[:-20])
    return made


def resaved(folder: Path) -> Path:
    made = copied(folder, "resaved")
    data = (made / "trail.csv").read_bytes()
    (made / "trail.csv").write_bytes(data.replace(b"\n", b"\r\n"))
    return made


def garbage(folder: Path) -> Path:
    made = copied(folder, "garbage")
    (made / "trail.csv").write_bytes(b"hello\n")
    return made


def read(folder: Path) -> ReadSession:
    return read_session(Disk(), folder)


# --- how much is proven ---------------------------------------------------------------------------


def test_rows_and_readings_before_the_break_are_proven_and_no_others(sound: Path) -> None:
    session = read(edited(sound, ",1.40,", ",1.10,"))  # row 3, the second reading
    assert (session.proven_rows, session.rows_found, session.readings_found) == (2, 6, 3)
    assert len(session.proven_survey.records) == 1
    assert unproven_records(session) == {2, 3}
    assert unproven_points(session) == {"SW-02", "SW-03"}
    assert [session.is_unproven(row) for row in (2, 3, 6)] == [False, True, True]


def test_a_reading_that_a_row_after_the_break_changes_is_unproven_too(maker: SessionMaker) -> None:
    void = f"void,SW-01,1,,,,wrong clip,,{DAY}T08:40:00Z"
    session = read(edited(maker.make(DAY, void, SW_01="2.60", SW_02="1.40"), ",1.40,", ",1.10,"))
    assert unproven_records(session) == {1, 2}
    assert unproven_points(session) == {"SW-01", "SW-02"}
    assert session.proven_survey.records[1].is_valid  # before the break nobody had struck it out


def test_a_sound_session_has_nothing_unproven(sound: Path) -> None:
    session = read(sound)
    assert session.is_whole and session.proven_survey is session.survey
    assert (session.proven_rows, session.rows_found) == (6, 6)
    assert unproven_points(session) == frozenset()


def test_a_doubled_row_takes_nothing_away_and_what_follows_is_unproven(sound: Path) -> None:
    session = read(with_lines(sound, "double", 0, 1, 2, 2, 3, 4, 5, 6))
    assert len(session.survey.records) == 3
    assert (session.proven_rows, session.rows_found) == (2, 6)
    assert unproven_points(session) == {"SW-02", "SW-03"}


def test_readings_behind_a_missing_row_are_counted_and_their_points_unproven(sound: Path) -> None:
    session = read(with_lines(sound, "gap", 0, 1, 2, 4, 5, 6))
    assert session.unread[:2] == (3, 1)
    assert (session.proven_rows, session.rows_found, session.readings_found) == (2, 5, 2)
    assert unproven_points(session) == {"SW-02", "SW-03"}  # open here, and their readings may stand there


def test_another_session_file_leaves_nothing_proven(sound: Path) -> None:
    made = copied(sound, "limits")
    path = made / "session.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("max = 2.5", "max = 2.7"), encoding="utf-8")
    session = read(made)
    assert (session.rows, session.proven_rows) == (6, 0)
    assert unproven_points(session) == {"SW-01", "SW-02", "SW-03"}


# --- compared, merged, followed -------------------------------------------------------------------


def test_a_changed_reading_is_not_compared(sound: Path) -> None:
    bad = edited(sound, ",2.60,", ",2.40,")
    compared = compare_sessions(read(sound), read(bad))
    assert [each.change for each in compared.differences] == [Change.UNPROVEN] * 3
    assert compared.has_findings
    note = (
        "the trail of NEW is NOT intact: of 6 rows the one before the break is proven and used, with 0 of 3"
    )
    assert f"{note} readings" in compared.notes


def test_a_comparison_has_words_of_its_own_for_what_is_not_proven(sound: Path) -> None:
    """SW-02 was changed; SW-03 comes after it. Neither is said to be missing."""
    bad = edited(sound, ",1.40,", ",1.10,")
    text = " ".join(format_comparison(compare_sessions(read(sound), read(bad))).split())
    assert "Missing" not in text
    assert "Not proven: 2 -------------" in text
    assert "old 1.40 mΩ pass new not proven: 1.10 mΩ pass stands behind the break" in text
    assert "3 points: 2 not proven, 1 same; 2 missing, not proven or turned into fail" in text
    turned = " ".join(format_comparison(compare_sessions(read(bad), read(sound))).split())
    assert "old not proven: 1.10 mΩ pass stands behind the break new 1.40 mΩ pass" in turned
    assert "New:" not in turned
    lost = read(with_lines(sound, "gap", 0, 1, 2, 4, 5, 6))
    text = " ".join(format_comparison(compare_sessions(read(sound), lost)).split())
    assert text.count("new not proven: rows of it could not be read, or say that it has no value") == 2
    answer = comparison_as_json(compare_sessions(read(sound), read(bad)))
    assert [each["change"] for each in answer["points"]] == ["same", "not proven", "not proven"]  # type: ignore[attr-defined]
    assert answer["counts"]["missing"] == 0  # type: ignore[index]


def test_what_came_after_the_break_is_told_beside_what_is_compared(maker: SessionMaker) -> None:
    """SW-01 is read before the break and taken again behind it."""
    sound = maker.make(
        DAY, f"redo,SW-01,,,,,tips cleaned,,{DAY}T08:50:00Z",
        f"reading,SW-01,,1.50,mohm,,,,{DAY}T08:51:00Z", SW_01="2.60", SW_02="1.40",
    )  # fmt: skip
    bad = edited(sound, ",1.40,", ",1.10,")
    compared = compare_sessions(read(sound), read(bad))
    text = " ".join(format_comparison(compared).split())
    assert "new: what came after is not proven: 1.50 mΩ pass stands behind the break" in text


@pytest.mark.parametrize(
    ("make", "words", "is_finding"),
    [
        (torn, "incomplete: its last row is not finished; the 5 before it", True),
        (resaved, "saved again in another form; every cell is as it was", False),
        (garbage, "NOT intact: no row of it can be read", True),
        (lambda folder: edited(folder, ",start,", ",begin,"), "NOT intact: of 6 rows none is proven", True),
    ],
)
def test_the_note_says_how_far_a_trail_is_used(
    sound: Path, make: object, words: str, is_finding: bool
) -> None:
    assert callable(make)
    compared = compare_sessions(read(sound), read(make(sound)))
    assert any(words in note for note in compared.notes), compared.notes
    assert compared.has_findings is is_finding
    assert not any("the trail of" in note for note in compare_sessions(read(sound), read(sound)).notes)


def test_a_merge_takes_no_unproven_reading(maker: SessionMaker) -> None:
    bad = edited(maker.make("2026-05-05", SW_01="2.60", SW_02="1.40"), ",2.60,", ",2.40,")
    merged = merge_sessions([read(bad), maker.read("2026-05-04", SW_02="1.30", SW_03="1.00")])
    assert {each.point: each.state.value for each in merged.points}["SW-01"] == "open"
    assert merged.has_findings


def test_earlier_surveys_lend_no_unproven_value(maker: SessionMaker, sound: Path) -> None:
    data = (sound / "trail.csv").read_bytes()
    (sound / "trail.csv").write_bytes(data.replace(b",1.40,", b",1.10,"))
    (values,) = maker.workspace.history("wing", "2027").surveys
    assert values.keys() == {"SW-01"}


# --- copies ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["singly", "query"])
@pytest.mark.parametrize("name", ["a-first", "zz-last"])
def test_of_copies_the_intact_one_is_used_whatever_its_name(
    sound: Path, maker: SessionMaker, name: str, way: str
) -> None:
    bad = edited(sound, ",2.60,", ",2.40,", name)
    sample, left_out = followed(maker, way)
    assert sample == "2.60"
    assert left_out == [
        f"{bad}: a second copy of {sound.name}, NOT intact: 1 of 6 rows are proven; {sound} is used"
    ]


def followed(maker: SessionMaker, way: str) -> tuple[str, list[str]]:
    """The last value of SW-01, and what was left out."""
    if way == "singly":
        found = follow_sessions(maker.workspace, [str(maker.folder)])
        (trend,) = [each for each in found.routes[0].trends if each.point == "SW-01"]
        return trend.samples[-1].reading.value.digits, list(found.left_out)
    fleet = follow_fleet(Disk(), [maker.folder])
    assert fleet.sessions == 1
    (point,) = [each for each in fleet.routes[0].points if each.trend.point == "SW-01"]
    return point.trend.samples[-1].reading.value.digits, list(fleet.left_out)


@pytest.mark.parametrize("way", ["singly", "query"])
def test_of_intact_copies_the_longer_one_is_used(sound: Path, maker: SessionMaker, way: str) -> None:
    short = with_lines(sound, "a-short", 0, 1, 2, 3)
    cut = torn(sound, "b-cut")
    _, left_out = followed(maker, way)
    assert sorted(left_out) == [
        f"{short}: a second copy of {sound.name}, 3 of 6 rows shorter; {sound} is used",
        f"{cut}: a second copy of {sound.name}, 1 of 6 rows shorter; {sound} is used",
    ]


@pytest.mark.parametrize("way", ["singly", "query"])
def test_copies_that_went_on_apart_are_told_as_such(tmp_path: Path, way: str) -> None:
    scene = Scene(tmp_path)
    with scene.begin() as desk:
        record(desk, "1.38")
        desk.close("weather")
        folder = desk.folder
    shutil.copytree(folder, folder.with_name("a-copy"))
    for each, values in ((folder, ["1.1"]), (folder.with_name("a-copy"), ["1.2", "1.3"])):
        with reopen_session(scene.workspace, each, scene.clock, "retest") as desk:
            record(desk, *values)
    row = len((folder / "trail.csv").read_bytes().splitlines()) - 1
    if way == "singly":
        (why,) = follow_sessions(scene.workspace, [str(folder.parent)]).left_out
    else:
        (why,) = follow_fleet(Disk(), [folder.parent]).left_out
    assert why.startswith(f"{folder}: a second copy of")
    fork = int(why.partition("differ from row ")[2].partition(" ")[0])
    assert 1 < fork <= row and why.endswith("look at both; " + f"{folder.with_name('a-copy')} is used")


def test_a_chain_made_anew_before_a_reopening_is_read_singly_and_not_used(tmp_path: Path) -> None:
    """The queries look at the chain alone, which holds there."""
    (folder,) = make_fleet(tmp_path, 5, assets=1, surveys=1, odds=Chances(reopen=1))
    assert follow_fleet(Disk(), [tmp_path]).read_singly == {}
    value = next(iter(read(folder).survey.records.values())).reading.digits
    rechained(folder, (value, "0.01"))
    fleet = follow_fleet(Disk(), [tmp_path])
    assert dict(fleet.read_singly) == {"its chain was made anew before it was reopened": 1}
    assert fleet.routes[0].points == ()
    assert "none is proven" in fleet.routes[0].trends.notes[-1]


# --- what verify says -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda folder: folder, "intact: 6 rows, 3 readings"),
        (lambda folder: edited(folder, ",1.40,", ",1.10,"),
         "NOT intact: 2 of 6 rows proven, with 1 of 3 readings"),
        (lambda folder: with_lines(folder, "gap", 0, 1, 2, 4, 5, 6),
         "NOT intact: 2 of 5 rows proven, with 1 of 2 readings"),
        (torn,
         "NOT intact: 5 of 5 rows proven, with 3 of 3 readings, and a last row that is not finished"),
        (garbage, "NOT intact: no row of it can be read"),
    ],
)  # fmt: skip
def test_rows_and_readings_are_told_of_how_many(
    sound: Path, make: object, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert callable(make)
    folder = make(sound)
    code = main(["verify", str(folder)])
    lines = capsys.readouterr().out.splitlines()
    assert words in lines
    assert code == (0 if words.startswith("intact") else 1)
    assert any(line.startswith("seal ") for line in lines) is (code == 0)


def test_a_session_that_was_reopened_is_unchanged_up_to_the_row_on_the_paper(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = Scene(tmp_path)
    with scene.begin() as desk:
        record(desk, "1.38")
        desk.close("weather")
        folder = desk.folder
    signed = verify_session(Disk(), folder)
    with reopen_session(scene.workspace, folder, scene.clock, "SW-01 reworked"):
        pass
    for rows in (["--rows", str(signed.rows)], []):
        assert main(["verify", str(folder), "--seal", signed.seal, *rows]) == 1
        out = capsys.readouterr().out
        said = f"Unchanged up to row {signed.rows}, as on the job card; then 1 more row: reopened"
        assert f"{said}: {signed.rows + 1} rows, 1 reading" in out
        assert "NOT intact" not in out and "differs" not in out
    found = verify_session(Disk(), folder, Paper.copied(signed.seal, signed.rows - 1))
    (problem,) = found.problems
    assert f"the seal on paper is that of row {signed.rows}" in problem.remedy
    assert found.words.startswith("NOT as on the paper: ")


def test_a_break_after_the_signed_rows_is_still_told_as_one(sound: Path) -> None:
    bad = edited(sound, "end of the sheet", "end of a sheet")
    found = verify_session(Disk(), bad, Paper.copied(read(with_lines(sound, "s", 0, 1, 2, 3)).seal, 3))
    assert found.words == "NOT intact: 5 of 6 rows proven, with 3 of 3 readings"
    assert any("Unchanged up to row 3" in problem.what for problem in found.problems)


class Refusing(Disk):
    """A disk that does not let one file be read."""

    def __init__(self, name: str, code: int) -> None:
        super().__init__()
        self.name, self.code = name, code

    def open_read(self, path: Path) -> int:
        if path.name == self.name:
            raise OSError(self.code, "refused", str(path))
        return super().open_read(path)


@pytest.mark.parametrize("name", ["trail.csv", "session.toml"])
@pytest.mark.parametrize("code", [errno.EACCES, errno.EIO])
def test_what_may_not_be_read_is_not_said_to_be_broken(
    sound: Path, name: str, code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(BadInputError, match="cannot be read"):
        verify_session(Refusing(name, code), sound)
    monkeypatch.setattr("fieldtui.cli.record.make_disk", lambda: Refusing(name, code))
    assert main(["verify", str(sound)]) == 2
    captured = capsys.readouterr()
    assert "cannot be read" in captured.err and name in captured.err
    assert "intact" not in captured.out + captured.err


def test_a_missing_file_is_still_a_finding(sound: Path) -> None:
    (sound / "trail.csv").unlink()
    assert not verify_session(Disk(), sound).ok
