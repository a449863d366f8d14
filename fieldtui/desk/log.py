"""A session open for writing: one event in, onto the disk, and only then the survey moves on.

If a write raises ``NotSavedError`` nothing has changed and what was keyed is still the caller's to show.
What the crew can do is in the modules beside this one, a subject each; all of them end in :meth:`Log.append`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from copy import copy
from datetime import date, datetime
from pathlib import Path
from typing import Self, TypedDict

from fieldtui.core.plan.route import Point
from fieldtui.core.plan.session import Session
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.crew import crew_now
from fieldtui.core.survey.memory import MemoryRun, number_refusal
from fieldtui.core.survey.standing import Record, Result
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import normal, refusal
from fieldtui.core.trail import events as ev
from fieldtui.desk.clock import Clock, SessionClock, format_step
from fieldtui.desk.copying import Copying
from fieldtui.desk.watching import Lookout
from fieldtui.desk.workspace import History
from fieldtui.errors import BadInputError, SessionClosedError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import TrailWriter
from fieldtui.files.session.second_copy import SecondCopy


class Stamp(TypedDict):
    """What every event carries."""

    time: datetime
    by: str


class Log:
    """An open session's trail and the survey it adds up to. Its methods block while the disk works."""

    def __init__(
        self,
        session: Session,
        folder: Path,
        trail: TrailWriter,
        survey: Survey,
        clock: Clock,
        history: History | None = None,
    ) -> None:
        self.session = session
        self.folder = folder
        self.survey = survey
        self.history = history or History()
        self.by = crew_now(session.crew, survey.handovers).recorder
        self.meters_on_hand: Callable[[], Mapping[str, Instrument]] = dict  # the crew's table, by id
        self.recovered = ""  # what was set aside on opening, a sentence; empty where nothing was
        self.copying: Copying | None = None  # the second copy, where the crew keeps one
        self.settled_at: tuple[int, ...] = ()  # records at which the crew found drift to be none
        self._trail = trail
        self._lookout: Lookout | None = None
        self._clock = SessionClock(clock, survey.last_time)
        self._read_at: float | None = None  # by the counter that runs through suspend

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.leave()

    @property
    def seal(self) -> str:
        """The chain's last link."""
        return self._trail.seal

    @property
    def previous(self) -> Mapping[str, Result]:
        """The last survey's as-left result, by point id."""
        return self.history.previous

    @property
    def rows(self) -> int:
        return self._trail.rows

    @property
    def is_failed(self) -> bool:
        """True once the medium has failed: nothing more can be written here."""
        return self._trail.is_failed

    @property
    def seconds_to_sleep(self) -> float | None:
        """Seconds until the meter switches itself off, were nothing read meanwhile; None where unknown.

        Counted from the last reading taken since this program opened the session.
        """
        auto_off = self.survey.instrument.auto_off_s
        if not auto_off or self._read_at is None:
            return None
        return auto_off - (self._clock.elapsed() - self._read_at)

    @property
    def lookout(self) -> Lookout:
        """The drift watch on the survey as it stands."""
        if self._lookout is None:
            self._lookout = Lookout.over(self.survey, self.history.readings(), self.settled_at)
        self._lookout = self._lookout.after(self.survey)
        return self._lookout

    @property
    def day(self) -> date:
        """The day (UTC) by the session's clock."""
        return self._clock.now().date()

    def leave(self) -> None:
        """Let the session go; it can be resumed."""
        self._trail.close()
        if self.copying is not None:
            self.copying.finish()

    def copy_to(self, medium: Path, disk: Disk) -> None:
        """Keep a second copy of the session, in a folder of its name under ``medium``."""
        self.copying = Copying(SecondCopy(disk, self.folder, medium / self.folder.name))
        self.copying.follow(self._trail.end, self._trail.rows)

    def append(self, event: ev.Event) -> None:
        """Write one event, made with :meth:`stamp`; the survey moves on once it is on the disk."""
        self._want_open()
        stepped = self._clock.stepped
        if stepped is not None:
            self._write(ev.ClockStepped(time=event.time, by=self.by, note=format_step(stepped)))
            self._clock.step_told()
        self._write(event)

    def stamp(self) -> Stamp:
        """What an event that happens now carries."""
        return {"time": self._clock.now(), "by": self.by}

    def wanted_text(self, text: str, what: str) -> str:
        """``text`` as it is recorded; ``what`` is said to be wanted where it is empty."""
        text = self._text(text)
        if not text:
            raise BadInputError(f"{what} is wanted", remedy="key it, or leave with Escape")
        return text

    def take_over(self, rows: Iterable[ev.Event]) -> None:
        """Write events that were made elsewhere, times and all: those of a paper sheet."""
        self._want_open()
        for row in rows:
            self._write(row)

    def rehearse(self, deed: Callable[[Self], None]) -> None:
        """Do ``deed`` on a twin of this desk that writes nothing; it raises what the deed would raise here.

        For what appends several rows of which none should stand unless all can.
        """
        twin = copy(self)
        twin._trail = self._trail.rehearsal()
        twin._clock = copy(self._clock)
        twin.copying = None
        deed(twin)

    def reopened(self, program: str) -> None:
        """Write down that a program opened the session again."""
        self.append(ev.Opened(**self.stamp(), note=program))

    def torn_row_set_aside(self, side_file: str, what: str) -> None:
        """Write down that a torn last row was found and kept in a side file."""
        self.recovered = what
        self.append(ev.Recovered(**self.stamp(), ref=side_file, note=what))

    def _tried(self, event: ev.Event) -> Survey:
        """The survey once ``event`` has happened, or why it cannot be recorded."""
        return self._after(self.survey, event)

    def _after(self, survey: Survey, event: ev.Event) -> Survey:
        """The same of another state of the survey."""
        after = survey.after(event)
        if len(after.problems) > len(survey.problems):
            raise WrongUseError(
                f"This cannot be recorded: {after.problems[-1].what}", remedy="nothing was written"
            )
        return after

    def _write(self, event: ev.Event) -> None:
        after = self._tried(event)
        self._trail.append(event)  # returns only once the row is on the disk
        self.survey = after
        if self.copying is not None:
            self.copying.follow(self._trail.end, self._trail.rows)
        if isinstance(event, ev.ReadingTaken):
            self._read_at = self._clock.elapsed()

    def _want_open(self) -> None:
        if self.survey.closed:
            raise SessionClosedError(
                "The session is closed and takes no more events",
                remedy="open it in review, or start a new one",
            )

    def _want_point(self, point: str) -> None:
        if point not in self.survey.points:
            raise BadInputError(f"Point {point} is not on the route", remedy="pick one from the list")

    def _here(self) -> Point:
        here = self.survey.here
        if here is None:
            raise WrongUseError(
                "No point is left to take", remedy="redo or jump to a point, or close the session"
            )
        return here

    def _record(self, record: int) -> Record:
        found = self.survey.records.get(record)
        if found is None:
            raise WrongUseError(f"There is no record {record}", remedy="pick one from the list")
        return found

    def _run(self) -> MemoryRun:
        run = self.survey.run
        if run is None:
            raise WrongUseError("No memory run has begun", remedy="start a memory run with its first number")
        return run

    def _want_number(self, number: int) -> None:
        if why := number_refusal(self.survey.instrument, number):
            raise BadInputError(why, remedy="read the number on the meter again")

    def _text(self, text: str) -> str:
        text = normal(text)
        why = refusal(text)
        if why is not None:
            raise BadInputError(f"This text cannot be recorded: {why}", remedy="key it again without it")
        return text

    def _reason(self, text: str) -> str:
        text = self._text(text)
        if not text:
            raise BadInputError("A reason is wanted", remedy="pick one, or key a few words")
        return text
