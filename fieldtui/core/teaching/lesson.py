"""A lesson on the walk: tasks one after the other, each settled by what the survey has become.

The lesson looks at surveys only, never at keys: whatever way leads to what was asked for is right.
Where something else was done, :meth:`Lesson.said` says so, and how to come back. It also plays the
meter: it counts what the meter has filed, one reading twice where the task says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey


class Want(Enum):
    """What settles a task."""

    READING = "reading"
    REDO = "redo"
    REWORK = "rework"  # repaired or cleaned: the next reading is a retest
    SKIP = "skip"
    VOID = "void"
    CHECK = "check"  # the numbers agree
    DIFFER = "differ"  # the numbers are found to differ
    SETTLE = "settle"  # and are brought into step
    RECONCILE = "reconcile"


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do. ``calls`` may hold ``{number}`` (the meter's last) and ``{list}``.

    ``press`` may hold ``{number}``, and ``{record}``: the last valid reading of the point.
    """

    title: str
    want: Want
    calls: str
    press: str
    point: str = ""
    value: Resistance | None = None  # what is called out
    meter: Resistance | None = None  # what the meter filed, where it is another value
    is_double: bool = False  # the meter files it twice
    learned: str = ""


@dataclass(frozen=True, slots=True)
class Said:
    """What the coach says: the task, the prober's words, the keys, and a word on what went astray."""

    head: str
    calls: str
    press: str
    aside: str = ""


@dataclass(frozen=True, slots=True)
class Lesson:
    """Where a lesson stands. ``index`` is the task at hand; it never goes back."""

    tasks: tuple[Task, ...]
    index: int = 0
    since: int = 1  # the first record that may settle the task
    rows: int = 0  # of the trail when the task was put
    filed: int = 0  # the meter's last memory number
    seen: int = 1  # the next record of the survey looked at last
    run: int = 0

    @property
    def task(self) -> Task | None:
        """The task at hand, None once all are done."""
        return self.tasks[self.index] if self.index < len(self.tasks) else None

    @property
    def learned(self) -> tuple[str, ...]:
        """What the tasks that are done taught."""
        return tuple(task.learned for task in self.tasks[: self.index] if task.learned)

    @property
    def left(self) -> tuple[str, ...]:
        """Titles of the tasks that teach something and are not done."""
        return tuple(task.title for task in self.tasks[self.index :] if task.learned)

    def after(self, survey: Survey) -> Lesson:
        """The lesson once the survey has moved on: as many tasks further as are settled."""
        lesson = self._counted(survey)
        while (task := lesson.task) is not None and lesson._is_met(task, survey):
            lesson = replace(
                lesson,
                index=lesson.index + 1,
                since=survey.next_record,
                rows=survey.rows,
                filed=lesson.filed + (1 if task.is_double else 0),
            )
        return lesson

    def said(self, survey: Survey, *, is_asking: bool = False) -> Said:
        """What the coach says as the survey stands; ``is_asking`` while a dialog lies over the walk."""
        task = self.task
        if task is None:
            return Said("The lesson is done", "", "q shows what you have learned, and how to begin for real.")
        number, memory = str(self.filed), self._list_words(survey) if "{list}" in task.calls else ""
        calls = task.calls.replace("{number}", number).replace("{list}", memory)
        return Said(
            f"{self.index + 1} of {len(self.tasks)}: {task.title}",
            calls,
            task.press.replace("{number}", number).replace("{record}", _last_at(task.point, survey)),
            self._aside(task, survey, is_asking),
        )

    def memory(self, survey: Survey) -> list[tuple[int, Resistance]]:
        """What the meter has filed in the current run, by number."""
        run = survey.run
        records = [each for each in survey.records.values() if run is not None and each.run == run.run]
        by_number = {each.number: self._filed_value(each) for each in records if each.number is not None}
        filed: list[tuple[int, Resistance]] = []
        for number in range(run.first_number if run is not None else 1, self.filed + 1):
            value = by_number.get(number, filed[-1][1] if filed else None)  # the same again: filed twice
            if value is not None:
                filed.append((number, value))
        return filed

    # --- what the meter does --------------------------------------------------------------

    def _counted(self, survey: Survey) -> Lesson:
        """The meter's count brought up to date: one more for every reading, anew with a new run."""
        run = survey.run
        last = survey.corrections[-1] if survey.corrections else None
        is_answer = last is not None and last.is_answer and run is not None and last.run == run.run
        if run is not None and run.run != self.run and not is_answer:
            return replace(self, run=run.run, filed=run.next_number - 1, seen=survey.next_record)
        taken = survey.next_record - self.seen
        number = run.run if run is not None else self.run  # as an answer has it; the meter counts on
        return replace(self, run=number, filed=self.filed + taken, seen=survey.next_record)

    def _filed_value(self, record: Record) -> Resistance:
        for task in self.tasks[: self.index]:
            if task.point != record.point or task.value is None:
                continue
            if task.meter is not None and _is_same(record.reading, task.value):
                return task.meter
        return record.reading

    def _list_words(self, survey: Survey) -> str:
        return ", ".join(f"{number}: {reading.digits}" for number, reading in self.memory(survey))

    # --- is it done? ----------------------------------------------------------------------

    def _is_met(self, task: Task, survey: Survey) -> bool:
        match task.want:
            case Want.READING:
                record = self._taken_here(task, survey)
                return record is not None and task.value is not None and _is_same(record.reading, task.value)
            case Want.REDO:
                return survey.standings[task.point].asked_again
            case Want.REWORK:
                return survey.standings[task.point].retest
            case Want.SKIP:
                return survey.standings[task.point].state is State.SKIPPED
            case Want.VOID:
                return not any(survey.records[n].is_valid for n in survey.standings[task.point].records)
            case Want.CHECK:
                return _has_checked(survey) and self._is_in_step(survey)
            case Want.DIFFER:
                return survey.out_of_step and survey.called[0] == self.filed
            case Want.SETTLE:
                return not survey.out_of_step and self._is_in_step(survey)
            case Want.RECONCILE:
                return survey.run is not None and survey.run.run in survey.reconciled

    def _taken_here(self, task: Task, survey: Survey) -> Record | None:
        """The last valid reading of the task's point since it was put."""
        numbers = survey.standings[task.point].records
        taken = [survey.records[n] for n in numbers if n >= self.since and survey.records[n].is_valid]
        return taken[-1] if taken else None

    def _is_in_step(self, survey: Survey) -> bool:
        return survey.next_number == self.filed + 1

    # --- what went astray -----------------------------------------------------------------

    def _aside(self, task: Task, survey: Survey, is_asking: bool) -> str:
        is_number = task.want in (Want.CHECK, Want.DIFFER, Want.SETTLE)
        if is_number or survey.out_of_step or not self._is_in_step(survey):
            return self._number_aside(task, survey, is_asking)
        if task.want is Want.READING and (record := self._taken_here(task, survey)) is not None:
            said = task.value.digits if task.value is not None else ""
            keys = f"w, {record.record}, {said}, Enter, 1"
            return f"Record {record.record} has {record.reading.digits}, called was {said}: {keys}."
        if task.want is Want.SKIP and (record := self._taken_here(task, survey)) is not None:
            return f"Record {record.record} was never called: v, {record.record}, then 1 strikes it out."
        if task.want is Want.REDO and (last := survey.last_records(1)) and last[0].point != task.point:
            number = _last_at(task.point, survey)
            return f"Record {last[0].record} is of {last[0].point}: t, /, 1, then {number}, Enter."
        here = survey.position.here
        if task.want in (Want.READING, Want.SKIP) and here != task.point:
            stands = f"Walk at {here}" if here is not None else "No point is left"
            return f"{stands}, prober at {task.point}: j, {task.point}, Enter, 1, Enter."
        return self._further_rows(survey)

    def _number_aside(self, task: Task, survey: Survey, is_asking: bool) -> str:
        if survey.out_of_step and survey.called[0] != self.filed:
            leave = "Esc leaves this; then " if is_asking else ""
            heard = f"You keyed {survey.called[0]}, the meter's last is {self.filed}: "
            return f"{heard}{leave}c, {self.filed}, Enter."
        if task.want is Want.SETTLE and survey.out_of_step:
            return "" if is_asking else f"Drift is closed: c, {self.filed}, Enter opens it again."
        if survey.rows > self.rows and task.want is not Want.DIFFER and not self._is_in_step(survey):
            keys = f"c, {self.filed}, Enter"
            return f"Next would be number {survey.next_number}, but the meter's last is {self.filed}: {keys}."
        return self._further_rows(survey)

    def _further_rows(self, survey: Survey) -> str:
        return "That is on record, too; nothing is lost. Now:" if survey.rows > self.rows else ""


def begin_lesson(tasks: Sequence[Task], survey: Survey) -> Lesson:
    """A lesson at its first task, on a survey that has just begun."""
    run = survey.run
    return Lesson(
        tasks=tuple(tasks),
        since=survey.next_record,
        rows=survey.rows,
        filed=run.next_number - 1 if run is not None else 0,
        seen=survey.next_record,
        run=run.run if run is not None else 0,
    )


def _last_at(point: str, survey: Survey) -> str:
    """The number of the last valid reading of a point; empty where there is none."""
    numbers = survey.standings[point].records if point in survey.standings else ()
    return next((str(number) for number in reversed(numbers) if survey.records[number].is_valid), "")


def _has_checked(survey: Survey) -> bool:
    return survey.first_unchecked == survey.next_record and not survey.check_due


def _is_same(one: Resistance, other: Resistance) -> bool:
    return one.ohms == other.ohms
