"""The practice: the demo workspace, the script of a prober who calls out from it, and the lesson."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.core.survey.survey import Survey
from fieldtui.core.teaching.lesson import Lesson, Said, Task, Want, begin_lesson
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import NotSavedError
from fieldtui.files.disk import Disk, reason
from fieldtui.files.starter import lay_out_practice, starter_folder
from fieldtui.files.toml.text import parse_toml

SCRIPT = "practice-slipway.toml"
LESSON = "practice-lesson.toml"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the script; the file itself explains the fields."""

    at: str
    calls: str
    does: str
    keys: tuple[str, ...]
    expects: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Script:
    """A scripted prober: what is called out and keyed, step by step."""

    title: str
    route: str
    brief: dict[str, Any]
    steps: tuple[Step, ...]

    def suggested_brief(self, instrument: Instrument) -> Brief:
        """The brief as the script's crew answers it; the cautions are still to be read."""
        return _suggested(self.brief, instrument)


@dataclass(frozen=True, slots=True)
class LessonPlan:
    """What the lesson teaches, in order, and the route and brief it is walked with."""

    title: str
    route: str
    brief: dict[str, Any]
    tasks: tuple[Task, ...]

    def suggested_brief(self, instrument: Instrument) -> Brief:
        """The brief as the lesson's crew answers it; the cautions are still to be read."""
        return _suggested(self.brief, instrument)


def _suggested(said: dict[str, Any], instrument: Instrument) -> Brief:
    standard = instrument.check_standard
    return Brief(
        job=said["job"],
        crew=Crew(prober=said["prober"], recorder=said["recorder"]),
        instrument=instrument,
        next_number=said["next_number"],
        ambient_c=Decimal(said["ambient_c"]),
        standard=Resistance(Decimal(said["standard"]), standard.value.unit) if standard else None,
        cautions_read=False,
    )


class Coach:
    """Leads through the lesson; keeps where it stands, as the survey moves on."""

    def __init__(self, plan: LessonPlan) -> None:
        self._plan = plan
        self.lesson: Lesson | None = None  # None until the walk has begun

    def calls(self, survey: Survey) -> Said:
        """What the coach says now."""
        return self._after(survey).said(survey)

    def calls_over(self, survey: Survey, asked: str) -> Said:
        """What the coach says while something is asked, whatever it is."""
        return self._after(survey).said(survey, is_asking=True)

    def answered(self, asked: str) -> None:
        """The coach waits for what becomes of the survey."""

    def _after(self, survey: Survey) -> Lesson:
        self.lesson = (self.lesson or begin_lesson(self._plan.tasks, survey)).after(survey)
        return self.lesson

    @property
    def learned(self) -> tuple[str, ...]:
        return self.lesson.learned if self.lesson is not None else ()

    @property
    def left(self) -> tuple[str, ...]:
        """What there is still to practise, by title."""
        lesson = self.lesson or Lesson(self._plan.tasks)
        return lesson.left


class ScriptedProber:
    """Calls out whatever the script has at the point of the walk where the crew stands.

    The script is followed by the kinds of the rows that the trail grows by; rows it does not wait
    for are passed over. A recorder who leaves it is not scolded: the prober goes on with the next
    step that begins where the walk now stands.
    """

    def __init__(self, script: Script) -> None:
        self._steps = script.steps
        self._step = 0
        self._came = 0  # rows of this step that are in the trail
        self._seen: int | None = None  # rows of the trail that were looked at

    def calls(self, survey: Survey) -> str:
        """What the prober says now, and how to key it."""
        if self._seen is None:
            self._seen = survey.rows
        for kind in survey.recent[len(survey.recent) - min(survey.rows - self._seen, len(survey.recent)) :]:
            self._take(kind)
        self._seen = survey.rows
        here = survey.position.here or ""
        ahead = self._steps[self._step :]
        if ahead and ahead[0].at != here and not self._came:
            ahead = next((ahead[n:] for n, step in enumerate(ahead) if step.at == here), ahead)
        # A step that leaves no row in the trail is shown together with the one after it.
        with_rows = next((n for n, step in enumerate(ahead) if step.rows), 0)
        return "  Then: ".join(_words(step) for step in ahead[: with_rows + 1])

    def _take(self, kind: str) -> None:
        """Go on by one row, if the script waits for one of this kind."""
        step = self._step
        while step < len(self._steps) and not self._steps[step].rows:
            step += 1
        if step == len(self._steps) or self._steps[step].rows[self._came] != kind:
            return
        self._step, self._came = step, self._came + 1
        if self._came == len(self._steps[step].rows):
            self._step, self._came = step + 1, 0


def _words(step: Step) -> str:
    said = f"“{step.calls}”" if step.calls else ""
    return "  ".join(part for part in (said, f"({step.does})" if step.does else "") if part)


def load_script(disk: Disk) -> Script:
    """The script of the practice."""
    found = _read(disk, SCRIPT)
    steps = tuple(
        Step(
            at=step.get("at", ""),
            calls=step.get("calls", ""),
            does=step.get("does", ""),
            keys=tuple(step["keys"]),
            expects=step.get("expects", ""),
            rows=tuple(step["rows"]),
        )
        for step in found["steps"]
    )
    return Script(title=found["title"], route=found["route"], brief=found["brief"], steps=steps)


def load_lesson(disk: Disk) -> LessonPlan:
    """The lesson of the practice; its values are in milliohm."""
    found = _read(disk, LESSON)

    def value(task: dict[str, Any], name: str) -> Resistance | None:
        return parse_resistance(task[name], Unit.MOHM) if name in task else None

    tasks = tuple(
        Task(
            title=task["title"],
            want=Want(task["want"]),
            calls=task["calls"],
            press=task["press"],
            point=task.get("point", ""),
            value=value(task, "value"),
            meter=value(task, "meter"),
            is_double=task.get("double", False),
            learned=task.get("learned", ""),
        )
        for task in found["tasks"]
    )
    return LessonPlan(found["title"], found["route"], found["brief"], tasks)


def _read(disk: Disk, name: str) -> dict[str, Any]:
    path = starter_folder(disk) / "demo" / "prober" / name
    return parse_toml(disk.read_file(path, 1024 * 1024), str(path)).data


def make_practice(disk: Disk, folder: Path | None) -> Workspace:
    """A practice workspace, in ``folder`` or in a temporary one.

    Raises:
        NotSavedError: it could not be made.
    """
    target = folder or Path(tempfile.mkdtemp(prefix="fieldtui-practice-"))
    try:
        if not disk.is_folder(target):
            disk.make_folder(target)
        lay_out_practice(disk, target)
    except OSError as error:
        raise NotSavedError(
            f"The practice workspace could not be made: {reason(error)}",
            where=str(target),
            remedy="name a folder that can be written to with --dir DIR",
        ) from error
    return Workspace(target, disk)
