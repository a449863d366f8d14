"""The lesson of the practice, without a screen: what is asked, when it is settled, what is said if not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldtui.core.drift.explanations import Kind
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.teaching.lesson import Said, Want
from fieldtui.desk.opening import begin_session
from fieldtui.desk.practice import Coach, load_lesson, make_practice
from fieldtui.desk.reconciling import reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import take_over
from fieldtui.files.disk import Disk
from tests.ui.walking import Ticking


class Pupil:
    """A desk and the coach who looks at it after every deed."""

    def __init__(self, folder: Path) -> None:
        workspace = make_practice(Disk(), folder)
        self.plan = load_lesson(workspace.disk)
        self.coach = Coach(self.plan)
        instrument = workspace.tables().instruments[self.plan.brief["meter"]]
        brief = self.plan.suggested_brief(instrument)
        brief = type(brief)(**{n: getattr(brief, n) for n in brief.__slots__} | {"cautions_read": True})
        self.desk: Desk = begin_session(workspace, workspace.load_route(self.plan.route), brief, Ticking())
        self.said()

    def said(self) -> Said:
        return self.coach.calls(self.desk.survey)

    @property
    def at(self) -> int:
        """The task at hand, counted from 1."""
        self.said()
        assert self.coach.lesson is not None
        return self.coach.lesson.index + 1

    def read(self, *texts: str) -> None:
        for text in texts:
            self.desk.record(self.desk.weigh(text))
            self.said()

    def do(self, want: Want, number: int = 0) -> None:
        """What a task other than a reading asks for, done right."""
        desk = self.desk
        match want:
            case Want.REDO:
                desk.redo("probe slipped", len(desk.survey.records))
            case Want.REWORK:
                desk.rework("L-02", "surfaces cleaned", "D-7")
                desk.jump("L-02")
            case Want.SKIP:
                desk.skip("panel closed")
            case Want.VOID:
                desk.void(len(desk.survey.records), "wrong place probed")
            case Want.CHECK | Want.DIFFER:
                desk.check_number(number)
            case Want.SETTLE:
                twice = next(e for e in desk.explain_numbers(number) if e.kind.value == "stored twice")
                desk.follow_explanation(twice.changes[0], "filed twice")
            case Want.RECONCILE:
                assert self.coach.lesson is not None
                assert desk.survey.run is not None
                run = desk.survey.run.run
                held = [MemoryEntry(run, n, value) for n, value in self.coach.lesson.memory(desk.survey)]
                take_over(desk, reconcile(desk.survey, held, {run}), held, "keyed blind", "checked")
        self.said()

    def walk_to(self, task: int) -> None:
        """Everything right, up to a task."""
        while self.at < task:
            assert self.coach.lesson is not None
            now = self.coach.lesson.task
            assert now is not None
            before = self.at
            if now.want is Want.READING:
                assert now.value is not None
                self.read(now.value.digits)
            else:
                self.do(now.want, self.coach.lesson.filed)
            assert self.at == before + 1, f"{now.title}: done as asked, but the coach does not go on"

    def task_of(self, want: Want) -> int:
        return next(n for n, task in enumerate(self.plan.tasks, 1) if task.want is want)


@pytest.fixture
def pupil(tmp_path: Path) -> Iterator[Pupil]:
    pupil = Pupil(tmp_path)
    with pupil.desk:
        yield pupil


def test_the_lesson_meets_everything_it_promises(pupil: Pupil) -> None:
    wants = [task.want for task in pupil.plan.tasks]
    assert set(wants) == set(Want)
    assert wants.index(Want.DIFFER) + 1 == wants.index(Want.SETTLE)
    for task in pupil.plan.tasks:
        assert task.title and task.calls and task.press


def test_done_right_it_goes_to_its_end_and_every_point_is_settled(pupil: Pupil) -> None:
    pupil.walk_to(len(pupil.plan.tasks) + 1)
    assert pupil.said().head == "The lesson is done"
    assert pupil.coach.left == ()
    survey = pupil.desk.survey
    assert survey.settled == len(survey.points)
    kinds = {row.partition(",")[2].split(",")[1] for row in _trail(pupil)}
    assert {"skip", "redo", "rework", "void", "number", "renumber", "reconcile", "amend"} <= kinds
    redo = pupil.desk.session.reasons.of("redo")
    assert redo and not any("clean" in reason for reason in redo)  # that is a rework


def _trail(pupil: Pupil) -> list[str]:
    return (pupil.desk.folder / "trail.csv").read_text(encoding="utf-8").splitlines()[1:]


def test_at_first_nothing_is_said_to_be_astray(pupil: Pupil) -> None:
    said = pupil.said()
    assert said.head.startswith("1 of ") and said.aside == ""
    assert "zero decimal eight four" in said.calls and ".84" in said.press


def test_a_value_keyed_wrong_holds_the_lesson_until_it_is_corrected(pupil: Pupil) -> None:
    pupil.read("0.48")
    assert pupil.at == 1
    assert "Record 1 has 0.48, called was 0.84: w, 1, 0.84, Enter" in pupil.said().aside
    pupil.desk.amend_value(1, "0.84", "value keyed wrong")
    assert pupil.at == 2
    assert pupil.said().aside == ""


def test_a_point_skipped_too_early_is_led_back_to(pupil: Pupil) -> None:
    pupil.desk.skip("panel closed")
    assert pupil.at == 1
    assert "Walk at L-02, prober at L-01: j, L-01, Enter, 1, Enter" in pupil.said().aside
    pupil.desk.jump("L-01")
    assert pupil.said().aside.startswith("That is on record, too")
    pupil.read("0.84")
    assert pupil.at == 2


def test_a_remark_does_not_settle_anything(pupil: Pupil) -> None:
    pupil.desk.note("the light is poor")
    assert pupil.at == 1
    assert pupil.said().aside.startswith("That is on record, too; nothing is lost")


def test_a_reading_where_a_skip_is_asked_for_is_struck_out_first(pupil: Pupil) -> None:
    pupil.walk_to(pupil.task_of(Want.SKIP))
    pupil.read("1.11")
    assert "was never called: v, 5" in pupil.said().aside
    pupil.desk.void(5, "never called")
    assert "Walk at L-04, prober at L-03" in pupil.said().aside
    pupil.desk.jump("L-03")
    pupil.do(Want.SKIP)
    assert pupil.at == pupil.task_of(Want.SKIP) + 1


def test_the_reading_to_strike_out_is_named_whatever_was_keyed_after_it(pupil: Pupil) -> None:
    void = pupil.task_of(Want.VOID)
    pupil.walk_to(void)
    assert "v, then 5:" in pupil.said().press
    pupil.read("1.11")  # one that nobody called
    assert pupil.at == void
    assert "v, then 5:" in pupil.said().press
    pupil.desk.void(5, "wrong place probed")
    assert pupil.at == void + 1


def test_the_reading_to_take_again_is_named_where_another_was_keyed_after_it(pupil: Pupil) -> None:
    redo = pupil.task_of(Want.REDO)
    pupil.walk_to(redo)
    pupil.read("1.11")
    assert pupil.said().aside == "Record 3 is of L-03: t, /, 1, then 2, Enter."
    pupil.desk.redo("probe slipped", 2)
    assert pupil.at == redo + 1


def test_a_redo_is_no_rework(pupil: Pupil) -> None:
    rework = pupil.task_of(Want.REWORK)
    pupil.walk_to(rework)
    pupil.desk.redo("second opinion", 3)
    assert pupil.at == rework
    pupil.do(Want.REWORK)
    pupil.read("1.27")
    assert pupil.desk.survey.records[4].retest
    assert pupil.at == rework + 2


def test_a_number_misheard_is_told_and_keyed_again(pupil: Pupil) -> None:
    check = pupil.task_of(Want.CHECK)
    pupil.walk_to(check)
    pupil.do(Want.CHECK, 3)
    assert pupil.at == check
    assert "You keyed 3, the meter's last is 6" in pupil.said().aside
    pupil.do(Want.CHECK, 6)
    assert pupil.at == check + 1


def test_numbers_moved_for_a_misheard_one_are_brought_back(pupil: Pupil) -> None:
    check = pupil.task_of(Want.CHECK)
    pupil.walk_to(check)
    pupil.do(Want.CHECK, 7)
    pupil.desk.renumber(8, "taken for true")
    assert pupil.at == check
    assert "Next would be number 8, but the meter's last is 6: c, 6" in pupil.said().aside
    pupil.do(Want.CHECK, 6)
    pupil.desk.renumber(7, "it was misheard")
    assert pupil.at == check + 1


@pytest.mark.parametrize("wrong", [9, 10, 11])
@pytest.mark.parametrize("before", [0, 1])
def test_a_wrong_answer_to_the_numbers_is_taken_back_and_the_task_done(
    pupil: Pupil, wrong: int, before: int
) -> None:
    """A wrong number is keyed and believed; the coach asks for the true one, and there is a way on."""
    pupil.walk_to(pupil.task_of(Want.DIFFER) - before)
    assert pupil.coach.lesson is not None
    true = pupil.coach.lesson.filed
    pupil.desk.check_number(wrong)
    believed = next(e for e in pupil.desk.explain_numbers(wrong) if e.kind is Kind.UNANNOUNCED)
    pupil.desk.follow_explanation(believed.changes[0], "seen in the meter's memory")
    assert f"c, {true}, Enter" in f"{pupil.said().press} {pupil.said().aside}"
    pupil.do(Want.CHECK, true)
    back = next(e for e in pupil.desk.explain_numbers(true) if e.kind is Kind.TAKEN_BACK)
    pupil.desk.follow_explanation(back.changes[0], "the number was misheard")
    pupil.said()
    pupil.walk_to(len(pupil.plan.tasks) + 1)
    assert pupil.said().head == "The lesson is done"


def test_a_memory_said_to_have_begun_anew_is_taken_back(pupil: Pupil) -> None:
    pupil.walk_to(pupil.task_of(Want.CHECK))
    pupil.do(Want.CHECK, 2)
    anew = next(e for e in pupil.desk.explain_numbers(2) if e.kind is Kind.RESTARTED)
    pupil.desk.follow_explanation(anew.changes[0], "seen", restarted=True)
    assert "Next would be number 3, but the meter's last is 6: c, 6, Enter" in pupil.said().aside
    pupil.do(Want.CHECK, 6)
    back = pupil.desk.explain_numbers(6)[0]
    assert back.kind is Kind.TAKEN_BACK
    pupil.desk.follow_explanation(back.changes[0], "the number was misheard")
    assert pupil.at == pupil.task_of(Want.CHECK) + 1
    pupil.walk_to(len(pupil.plan.tasks) + 1)
    assert pupil.said().head == "The lesson is done"


def test_drift_left_open_is_led_back_to_on_the_walk_alone(pupil: Pupil) -> None:
    pupil.walk_to(pupil.task_of(Want.SETTLE))
    number = pupil.desk.survey.called[0]
    assert pupil.said().aside == f"Drift is closed: c, {number}, Enter opens it again."
    over = pupil.coach.calls_over(pupil.desk.survey, "NumberDriftScreen")
    assert over.aside == "" and "stored twice" in over.press


def test_a_check_out_of_turn_with_a_wrong_number_is_told(pupil: Pupil) -> None:
    pupil.read("0.84")
    pupil.desk.check_number(9)
    assert "You keyed 9, the meter's last is 1" in pupil.said().aside
    pupil.desk.check_number(1)
    pupil.read("3.46")
    assert pupil.at == 3


def test_the_meter_files_one_reading_twice_and_another_as_it_was_measured(pupil: Pupil) -> None:
    pupil.walk_to(pupil.task_of(Want.RECONCILE))
    assert pupil.coach.lesson is not None
    held = pupil.coach.lesson.memory(pupil.desk.survey)
    assert [number for number, _ in held] == list(range(1, 11))
    digits = [value.digits for _, value in held]
    assert digits[6] == digits[7] == "1.38"
    assert digits[9] == "1.26"
    assert pupil.desk.survey.records[9].reading.digits == "1.62"
    assert "7: 1.38, 8: 1.38" in pupil.said().calls


def test_further_readings_are_in_the_meters_list_too(pupil: Pupil) -> None:
    pupil.read("0.84")
    pupil.desk.redo("second opinion", 1)
    pupil.read("0.85")
    pupil.walk_to(pupil.task_of(Want.RECONCILE))
    assert pupil.coach.lesson is not None
    held = pupil.coach.lesson.memory(pupil.desk.survey)
    assert [value.digits for _, value in held][:2] == ["0.84", "0.85"]
    assert len(held) == 11
    pupil.do(Want.RECONCILE)
    assert pupil.said().head == "The lesson is done"


def test_a_new_memory_run_is_followed(pupil: Pupil) -> None:
    pupil.read("0.84")
    pupil.desk.start_run(1, "cleared by mistake")
    pupil.walk_to(pupil.task_of(Want.CHECK) + 1)
    assert pupil.desk.survey.records[2].run == 2
    pupil.walk_to(len(pupil.plan.tasks) + 1)


def test_what_is_learned_and_left_is_told_at_any_time(pupil: Pupil) -> None:
    assert Coach(pupil.plan).learned == ()
    assert len(Coach(pupil.plan).left) == len([t for t in pupil.plan.tasks if t.learned])
    pupil.walk_to(pupil.task_of(Want.SKIP))
    assert any("t takes the last reading again" in line for line in pupil.coach.learned)
    assert any("skip" in title for title in pupil.coach.left)
