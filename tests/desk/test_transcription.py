"""A paper sheet made into a session: the whole sheet or nothing, and what is worth a second look."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.account.completeness import completeness
from fieldtui.core.plan.route import Route
from fieldtui.core.survey.position import State
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import read_session
from fieldtui.desk.transcription import Transcribed, paper_brief, transcribe_sheet
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import BadInputError, DiskFullError
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import COLUMNS
from tests.desk.scenes import FULL, FailingDisk, Scene

UNITS = "is not one of uohm, mohm, ohm, kohm, Mohm, or uV, mV, V where voltages are read"
HEADER = ",".join(COLUMNS)


class Paper:
    """Sheets given to a scene, told as lines."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.workspace = scene.workspace

    @property
    def route(self) -> Route:
        return self.workspace.load_route("wing").route

    def take(self, *lines: str, meter: str = "", header: str = HEADER) -> Transcribed:
        data = "\n".join([header, *lines, ""]).encode()
        tables = self.workspace.tables()
        brief = paper_brief(tables, self.route, meter=meter, prober="Ben", recorder="Ana", job="WO-1")
        route = self.workspace.load_route("wing")
        return transcribe_sheet(self.workspace, route, data, "paper/sheet.csv", brief, self.scene.clock)

    def problems(self, *lines: str) -> list[tuple[int | None, str, str]]:
        with pytest.raises(BadInputError) as refused:
            self.take(*lines)
        assert not self.workspace.sessions_folder.exists()  # nothing was written
        assert all(problem.file == "paper/sheet.csv" and problem.remedy for problem in refused.value.problems)
        return [(problem.line, problem.field, problem.what) for problem in refused.value.problems]


@pytest.fixture
def paper(tmp_path: Path) -> Paper:
    return Paper(Scene(tmp_path))


def points(made: Transcribed) -> list[str]:
    return [record.point for record in made.survey.records.values()]


def whys(made: Transcribed) -> list[tuple[int, str]]:
    return [(suspect.record, suspect.why) for suspect in made.suspects]


# --- what a sheet becomes ------------------------------------------------------------------------


def test_a_whole_sheet_becomes_a_session_that_verifies(paper: Paper) -> None:
    made = paper.take(
        "run,,,,,1,start,,2026-05-04T08:00:00Z",
        "reading,SW-01,1,1.380,mohm,1,,,2026-05-04T08:01:00Z",
        "skip,SW-02,,,,,paint",
        "reading,SW-03,2,1.1,mohm,2",
        "attempt,SW-03,,,,,unstable contact",
        "reading,SW-03,3,1.2,mohm,3",
        "reading,SW-03,4,1.4,mohm,4",
        "number,,,,,4",
        "void,,4,,,,wrong clip",
        "reading,SW-03,5,1.3,mohm,5",
        "reading,HU-01,6,R05,,6",
        "redo,SW-01,1,,,,tips slipped",
        "reading,SW-01,7,1.39,mohm,7",
        'note,HU-02,,,,,,"smells of fuel, left"',
        "skip,HU-02,,,,,fuel,,2026-05-04T08:02:00Z",
    )
    session = read_session(Disk(), made.folder)
    assert [event.kind for event in session.events] == [
        "start", "note", "run", "reading", "skip", "reading", "attempt", "reading", "reading", "number",
        "void", "reading", "reading", "redo", "reading", "note", "skip",
    ]  # fmt: skip
    assert verify_session(Disk(), made.folder).problems == ()
    assert session.survey == made.survey
    assert {state.value: n for state, n in made.survey.counts.items() if n} == {"passed": 3, "skipped": 2}
    assert made.suspects == ()
    assert made.survey.records[1].reading.digits == "1.380"
    assert session.facts.transcribed_from == "sheet.csv"
    assert session.facts.crew.recorder == "Ana"
    assert not session.survey.closed
    assert session.events[0].time.isoformat() == "2026-05-04T08:00:00+00:00"


def test_lines_without_a_point_follow_the_walk(paper: Paper) -> None:
    made = paper.take(
        "reading,,,1.1", "skip", "reading,,,1.2", "reading,,,1.2", "reading,,,1.3", "redo", "reading,,,1.4"
    )
    assert points(made) == ["SW-01", "SW-03", "SW-03", "SW-03", "SW-03"]
    assert made.survey.standings["SW-02"].state is State.SKIPPED


def test_what_the_sheet_leaves_out_is_said_to_be_so(paper: Paper) -> None:
    made = paper.take("skip,SW-01", "reading,SW-02,,1.1")
    assert made.survey.standings["SW-01"].reason == "no reason on the sheet"
    assert read_session(Disk(), made.folder).facts.instrument.title == "not stated"


def test_times_stand_as_written_and_those_left_out_are_the_last_ones(paper: Paper) -> None:
    made = paper.take(
        "reading,SW-01,1,1.1", "reading,SW-02,2,1.2,,,,,2026-05-04T10:00:00+02:00", "skip,HU-01",
    )  # fmt: skip
    times = [event.time.isoformat() for event in read_session(Disk(), made.folder).events]
    assert times == ["2026-05-04T08:00:00+00:00"] * 5
    (told,) = made.times
    assert told.startswith("times: 1 of 2 readings have none on the sheet: they stand with the last above")
    assert told in notes_of(made)
    whole = paper.take("reading,SW-01,1,1.1,,,,,2026-05-04T08:00:00Z", "skip,HU-01")  # only readings count
    assert whole.times == ()


def notes_of(made: Transcribed) -> list[str]:
    events = read_session(Disk(), made.folder).events
    return [event.note for event in events if isinstance(event, ev.Noted)]


def test_a_sheet_of_tomorrow_is_taken_and_told(paper: Paper) -> None:
    """It is no step of this machine's clock, and one of the two is wrong."""
    made = paper.take("reading,SW-01,1,1.1,,,,,2031-01-01T00:00:00Z", "skip,SW-02,,,,,,,2031-01-01T00:00:09Z")
    kinds = [event.kind for event in read_session(Disk(), made.folder).events]
    assert kinds == ["start", "note", "reading", "skip"]
    (told,) = made.times
    assert told.startswith(
        "times: 2031-01-01T00:00:09.000Z on the sheet lies after the clock of the keying, 2026-"
    )
    assert notes_of(made) == [told]


def test_numbers_that_were_counted_on_are_counted(paper: Paper) -> None:
    """The sheet begins a run and then names one number: the other two are what the meter should give."""
    made = paper.take(
        "run,,,,,1,start,,2026-05-04T08:00:00Z",
        "reading,SW-01,1,1.1,,1,,,2026-05-04T08:01:00Z",
        "reading,SW-02,2,1.2,,,,,2026-05-04T08:02:00Z",
        "reading,HU-01,3,1.3,,,,,2026-05-04T08:03:00Z",
    )
    assert [record.number for record in made.survey.records.values()] == [1, 2, 3]
    assert made.counted_on == 2
    assert paper.take("reading,SW-01,1,1.1").counted_on == 0  # no run, no number


def test_a_meter_from_the_table_can_be_named(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,1.1,,5", meter="small-meter")
    assert read_session(Disk(), made.folder).facts.instrument.memory_size == 128
    with pytest.raises(BadInputError, match="There is no meter gold-meter"):
        paper.take("reading,SW-01,1,1.1", meter="gold-meter")


@pytest.mark.parametrize("hostile", ["a\x1b[2J", "b\u202e", "x" * 501])
def test_names_that_may_not_be_recorded_are_refused(paper: Paper, hostile: str) -> None:
    with pytest.raises(BadInputError) as refused:
        paper_brief(paper.workspace.tables(), paper.route, prober=hostile)
    assert "\x1b" not in refused.value.what


# --- memory numbers ------------------------------------------------------------------------------


def test_without_memory_numbers_no_run_begins(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,1.1")
    assert (made.survey.run, made.survey.records[1].number) == (None, None)


def test_where_the_sheet_begins_no_run_one_begins_with_the_first_number(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,1.1,,17", "reading,SW-02,2,1.2", "number,,,,,18")
    assert [(record.run, record.number) for record in made.survey.records.values()] == [(1, 17), (1, 18)]
    run = read_session(Disk(), made.folder).events[2]  # after the remark that the sheet has no times
    assert (run.kind, run.note) == ("run", "not on the sheet: taken to begin here")
    assert made.suspects == ()
    assert not made.survey.out_of_step


def test_numbers_before_the_first_one_written_count_from_the_memorys_first(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,1.1", "reading,SW-02,2,1.2,,2", meter="small-meter")
    assert [record.number for record in made.survey.records.values()] == [1, 2]
    from_nought = paper.take("reading,SW-01,1,1,,0", "reading,SW-02,2,2,,1", meter="bench-meter")
    assert whys(from_nought) == []


def test_a_number_out_of_turn_is_kept_as_written_and_told(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,1.1,,1", "reading,SW-02,2,1.2,,3", "number,,,,,3")
    assert whys(made) == [(2, "memory number 3, 2 expected")]
    assert made.survey.records[2].number == 3
    assert not made.survey.out_of_step


def test_a_number_check_that_differs_leaves_the_session_out_of_step(paper: Paper) -> None:
    assert paper.take("reading,SW-01,1,1.1,,1", "number,,,,,2").survey.out_of_step


def test_a_full_memory_is_told_and_the_next_run_begins_where_it_says(paper: Paper) -> None:
    made = paper.take(
        "run,,,,,128", "reading,SW-01,1,1.1,,128", "reading,SW-02,2,1.2",
        "run,,,,,1", "reading,HU-01,3,R01,,1",
        meter="small-meter",
    )  # fmt: skip
    assert whys(made) == [(2, "no memory number, but the memory is full")]
    numbers = [(record.run, record.number) for record in made.survey.records.values()]
    assert numbers == [(1, 128), (None, None), (2, 1)]


def test_a_failed_point_has_its_paper_its_rework_and_its_retest(paper: Paper) -> None:
    made = paper.take(
        "reading,SW-01,1,2.9",
        "paper,SW-01,,,,,D-7,seen by the chief",
        "waive,SW-02,,,,,chief,D-8",
        "rework,SW-01,,,,,new lug",
        "reading,SW-01,2,1.2",
    )
    found = made.survey.standings["SW-01"]
    assert (found.state, found.discrepancy, found.retest) == (State.PASSED, "D-7", True)
    assert found.as_found is not None and found.as_found.verdict is Verdict.FAIL
    assert made.survey.records[2].retest
    assert made.survey.standings["SW-02"].state is State.WAIVED
    assert "without a paper" not in completeness(made.survey)
    assert verify_session(Disk(), made.folder).problems == ()


def test_a_rework_brings_its_paper_along_or_is_refused(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,2.9", "rework,SW-01,,,,,new lug,D-9")
    assert made.survey.standings["SW-01"].discrepancy == "D-9"
    assert not made.survey.standings["SW-01"].is_settled


def test_a_paper_without_a_failure_and_a_rework_without_a_paper_are_refused(paper: Paper) -> None:
    lines = ["reading,SW-01,1,1.1", "paper,SW-01,,,,,D-7", "rework,SW-02,,,,,new lug", "waive,SW-99,,,,,c,D"]
    assert paper.problems(*lines) == [
        (3, "point", "SW-01 has not failed above this line, so it needs no paper"),
        (4, "note", "SW-02 is reworked without a paper"),
        (5, "point", "point 'SW-99' is not on the route"),
    ]


def test_a_value_is_no_reason_on_a_sheet_either(paper: Paper) -> None:
    """Waived on the authority of "1.53", a point would be settled and its value lost."""
    lines = ["reading,SW-01,1,2.9", "paper,SW-01,,,,,31", "skip,SW-02,,,,,0.53", "waive,SW-02,,,,,1.53,W-1"]
    assert paper.problems(*lines) == [
        (4, "reason", "the reason '0.53' looks like a value"),
        (5, "reason", "the reason '1.53' looks like a value"),
    ]


def test_an_attempt_that_the_meter_filed_uses_its_number(paper: Paper) -> None:
    made = paper.take("attempt,SW-01,,,,1,unstable contact", "reading,SW-01,1,1.1,,2")
    assert whys(made) == []
    assert made.survey.records[1].number == 2


def test_a_further_reading_without_a_redo_is_told_and_taken_as_one(paper: Paper) -> None:
    made = paper.take("reading,SW-01,1,2.6", "reading,SW-01,2,2.4", "redo,SW-01", "reading,SW-01,3,2.3")
    assert whys(made) == [(2, "a further reading of SW-01 without a redo line")]
    standing = made.survey.standings["SW-01"]
    assert standing.as_found is not None
    assert standing.as_left is not None
    assert (standing.as_found.value.digits, standing.as_left.value.digits) == ("2.6", "2.3")


def test_several_readings_of_a_point_that_wants_several_are_no_surprise(paper: Paper) -> None:
    assert paper.take("reading,SW-03,1,1.1", "reading,SW-03,2,1.2", "reading,SW-03,3,1.3").suspects == ()


# --- bad sheets -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        (["reading,SW-1,1,1.1"], (2, "point", "point 'SW-1' is not on the route")),
        (["skip,XX"], (2, "point", "point 'XX' is not on the route")),
        (["skip,SW-01,,,,,\u202ewet"], (2, "reason", r"character \u{202e} is not allowed")),
        (["reading,SW-01,1,1..1"], (2, "value", "1..1: more than one point")),
        (["reading,SW-01,1,1,1"], (2, "unit", f"unit '1' {UNITS}")),
        (["reading,SW-01,1,OK,mohm"], (2, "value", "OK: not a value; examples 1.38, 950u, 2.1r, R47, 4L7")),
        (["reading,SW-01,2,1.1"], (2, "record", "record 2, but 1 is next")),
        (["reading,SW-01,1,1.1", "reading,SW-02,1,1.2"], (3, "record", "record 1, but 2 is next")),
        (["void,,1"], (2, "record", "there is no record 1 above this line")),
        (["void,SW-01"], (2, "record", "there is no record of SW-01 above this line")),
        (["redo,,7"], (2, "record", "there is no record 7 above this line")),
        (
            ["reading,SW-01,1,1.1", "void,SW-02,1"],
            (3, "record", "record 1 belongs to SW-01, not to SW-02"),
        ),
        (
            ["reading,SW-01,1,1.1", "redo,SW-02,1"],
            (3, "record", "record 1 belongs to SW-01, not to SW-02"),
        ),
        (["reading,SW-01,1,1.1", "void,,1", "void,,1"], (4, "record", "record 1 is void already")),
        (
            ["reading,SW-01,1,1,,,,,2026-05-04T08:01:00Z", "skip,SW-02,,,,,,,2026-05-04T08:00:00Z"],
            (3, "time", "the time is before that of the line above"),
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_true_is_refused(
    paper: Paper, lines: list[str], problem: tuple[int, str, str]
) -> None:
    assert paper.problems(*lines) == [problem]


def test_no_point_left_is_told(paper: Paper) -> None:
    lines = [f"attempt,{point.id},,,,,not accessible" for point in paper.route.points]
    assert paper.problems(*lines, "reading,,,1.1") == [(7, "point", "no point is left to take")]


def test_everything_wrong_with_one_line_is_told(paper: Paper) -> None:
    assert paper.problems("reading,SW-1,9,1..1,mohm,x,,,noon") == [
        (2, "memory", "'x' is not a whole number"),
        (2, "time", "'noon' is not a time"),
        (2, "point", "point 'SW-1' is not on the route"),
        (2, "value", "1..1: more than one point"),
        (2, "record", "record 9, but 1 is next"),
    ]


def test_one_bad_line_does_not_accuse_those_below(paper: Paper) -> None:
    for bad in (
        "reading,SW-1,2,1.1",
        "reading,SW-02,2,x",
        "raeding,SW-02,2,1.1",
        'reading,SW-02,2,1.1,,,"open',
    ):
        problems = paper.problems(
            "reading,SW-01,1,1.1", bad, "reading,SW-03,3,1.1", "void,,2,,,,clip", "redo,,2",
            "reading,SW-03,4,1.2", "void,,4,,,,clip",
        )  # fmt: skip
        assert [line for line, _, _ in problems] == [3], bad


def test_a_missing_line_is_told_once_and_the_rest_is_looked_at(paper: Paper) -> None:
    assert paper.problems("reading,SW-01,1,1.1", "reading,SW-02,3,1.1", "reading,SW-03,4,1.1", "skip,XX") == [
        (3, "record", "record 3, but 2 is next"),
        (5, "point", "point 'XX' is not on the route"),
    ]


def test_bad_lines_are_counted_and_told_in_their_order(paper: Paper) -> None:
    with pytest.raises(BadInputError) as refused:
        paper.take("skip,XX", "reading,YY,x,1", "note,,,,,,,fine", "jump")
    assert refused.value.what == "The sheet has 3 bad lines; nothing was written"
    lines = [problem.line or 0 for problem in refused.value.problems]
    assert lines == sorted(lines)
    with pytest.raises(BadInputError, match="The sheet has 1 bad line; nothing"):
        paper.take("skip,XX")


def test_a_point_nearly_right_is_offered(paper: Paper) -> None:
    with pytest.raises(BadInputError) as refused:
        paper.take("skip,SW-1")
    assert refused.value.problems[0].remedy == "did you mean SW-01?"


def test_a_disk_that_fills_up_on_the_way_says_what_to_remove(tmp_path: Path) -> None:
    class FullAfter(FailingDisk):
        left = 4

        def write(self, fd: int, data: bytes) -> int:
            self.left -= 1
            if self.left < 0:
                raise OSError(FULL, "told to fail")
            return super().write(fd, data)

    paper = Paper(Scene(tmp_path, FullAfter()))
    with pytest.raises(DiskFullError) as failed:
        paper.take(*(f"skip,{point.id}" for point in paper.route.points))
    (folder,) = paper.workspace.sessions_folder.iterdir()
    assert folder.name in failed.value.remedy
    assert read_session(Disk(), folder).is_intact


# --- the meter on paper --------------------------------------------------------------------------

METER_TABLE = """\
format = 1
[instruments.lid]
title = "Small bond meter"
unit = "mohm"
memory_size = 20
check_standard = { value = 2.500, tolerance = 0.050, unit = "mohm" }
"""


@pytest.fixture
def checked(paper: Paper) -> Paper:
    """With a meter that has a check standard."""
    shared = paper.scene.root / "shared"
    shared.mkdir()
    (shared / "instruments.toml").write_text(METER_TABLE, encoding="utf-8")
    return paper


def test_checks_of_the_meter_on_paper_bracket_the_readings(checked: Paper) -> None:
    made = checked.take(
        "standard,,,2.51",
        "reading,SW-01,1,1.10,,1",
        "standard,,,2.49,,2,,on the trolley",
        "reading,SW-02,2,1.20,,3",
        "lead,,,,,,clip broke",
        "standard,,,2600,uohm",
        meter="lid",
    )
    session = read_session(Disk(), made.folder)
    told = [event for event in session.events if isinstance(event, ev.StandardRead)]
    assert [(each.ref.value, each.verdict.value, each.number, each.note) for each in told] == [
        ("before", "good", None, ""),
        ("interval", "good", 2, "on the trolley"),
        ("after", "bad", None, "the check standard reads 2600 µΩ, not within 0.050 mΩ of 2.500 mΩ"),
    ]
    assert [each.record for each in readings_in_doubt(made.survey)] == [2]
    assert verify_session(Disk(), made.folder).ok


def test_a_check_of_the_meter_that_cannot_be_is_refused(checked: Paper) -> None:
    with pytest.raises(BadInputError) as refused:
        checked.take("standard", "standard,,,two", "lead,,,2.5", meter="lid")
    assert [(each.line, each.field) for each in refused.value.problems] == [
        (2, "value"), (3, "value"), (4, "value"),
    ]  # fmt: skip
    with pytest.raises(BadInputError) as refused:
        checked.take("standard,,,2.5")
    assert refused.value.problems[0].what == "no check standard is known for this meter"
