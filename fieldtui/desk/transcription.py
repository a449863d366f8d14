"""Make a session from a paper capture sheet: the whole sheet or nothing.

The sheet is taken at its word: a reading stands at the point written beside it and under the
memory number written beside it. What cannot be true is refused line by line before anything is
written to disk.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from difflib import get_close_matches
from pathlib import PurePath

from fieldtui.core.plan.route import Point, Route
from fieldtui.core.plan.session import measured_at
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief, lacking
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import events as ev
from fieldtui.desk.clock import Clock
from fieldtui.desk.entry import looks_like_value
from fieldtui.desk.opening import Origin, create_desk, free_id
from fieldtui.desk.paper import paper_brief, standard_read
from fieldtui.desk.sheet_doubts import called_alarm, number_doubt, value_suspects, watched_alarms
from fieldtui.desk.sheet_failures import paper_written, rework_written, waiver_written
from fieldtui.desk.sheet_values import value_at
from fieldtui.desk.transcribed import (
    SheetAlarm,
    Suspect,
    Transcribed,
    has_no_times,
    reason_and_note,
    time_notes,
    times_noted,
)
from fieldtui.desk.watching import Lookout, Readings
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, NotSavedError
from fieldtui.files.route.file import RouteFile
from fieldtui.files.sheet import Sheet, SheetLine, parse_sheet

__all__ = ["Transcribed", "Transcription", "paper_brief", "transcribe_sheet"]

NO_REASON = "no reason on the sheet"


def transcribe_sheet(
    workspace: Workspace, route: RouteFile, data: bytes, file: str, brief: Brief, clock: Clock
) -> Transcribed:
    """Make a session of a paper sheet.

    Raises:
        BadInputError: with every bad line; nothing was written.
        NotSavedError: the medium refused.
    """
    sheet = parse_sheet(data, file)
    now = clock.wall()
    started = next((line.time for line in sheet.lines if line.time is not None), now)
    history = workspace.history(route.route.name, free_id(workspace, route, started))
    lines = Transcription(
        route.route.at_temperature(measured_at(brief.conductor_c, brief.ambient_c)),
        brief.instrument,
        sheet,
        brief.crew.recorder,
        started,
        now,
        history.readings(),
    )
    if sheet.problems:
        problems = sorted(sheet.problems, key=lambda problem: problem.line or 0)
        lines_bad = len({problem.line for problem in problems})
        raise BadInputError(
            f"The sheet has {lines_bad} bad line{'s' if lines_bad > 1 else ''}; nothing was written",
            where=file,
            remedy="put them right and transcribe it again",
            problems=problems,
        )
    origin = Origin(transcribed_from=PurePath(file).name)
    with create_desk(workspace, route, brief, clock, origin=origin, started=lines.started) as desk:
        try:
            desk.take_over(lines.events)
        except NotSavedError as error:
            raise type(error)(
                error.what,
                where=error.where,
                remedy=f"remove {desk.folder.name}, which holds part of the sheet only; make room or use "
                "another disk, and transcribe it again",
            ) from error
        return Transcribed(
            desk.folder,
            desk.survey,
            tuple(lines.suspects),
            lines.all_alarms(),
            has_times=not has_no_times(lines.events),
            times=tuple(times_noted(lines.events)),
            counted_on=lines.counted_on,
        )


class Transcription:
    """Turns the lines of a sheet into events, one by one, on a survey that grows with them."""

    def __init__(
        self,
        route: Route,
        instrument: Instrument,
        sheet: Sheet,
        by: str,
        started: datetime,
        now: datetime,
        history: Readings | None = None,
    ) -> None:
        self.events: list[ev.Event] = []
        self.suspects: list[Suspect] = []
        self.counted_on = 0
        self.started = started
        self._sheet = sheet
        self._by = by
        self._time = started
        self._alarms: list[SheetAlarm] = []
        self._history = history or {}
        self._expected = 1  # the next record, bad lines counted too, so that one does not accuse all below
        self._counted_line = 0  # the last line that bears a record number
        self._survey = fold(route, instrument)
        self._expected_values = Lookout.over(self._survey, self._history).expected
        self._keeps_memory = any(line.memory is not None for line in sheet.lines)
        for why in lacking(route, instrument).values():
            self._add(ev.Noted(time=started, by=by, note=why))
        for note in time_notes(sheet.lines, now):
            self._add(ev.Noted(time=started, by=by, note=note))
        for line in sheet.lines:
            self._take(line)

    @property
    def survey(self) -> Survey:
        return self._survey

    def all_alarms(self) -> tuple[SheetAlarm, ...]:
        """What the drift watch says of the values and what the number checks say, by record."""
        watched = watched_alarms(self._survey, self._history)
        return tuple(sorted([*watched, *self._alarms], key=lambda alarm: alarm.record))

    def _take(self, line: SheetLine) -> None:
        if line.time is not None:
            if line.time < self._time:
                self._find(
                    line, "time", "the time is before that of the line above", "put the lines in order"
                )
            else:
                self._time = line.time
        if looks_like_value(line.reason) and line.action != "paper":  # a paper may have a number for its name
            what = f"the reason {line.reason[:40]!a} looks like a value"
            self._find(line, "reason", what, "write the reason; a value has a line of its own, of a reading")
        step: Callable[[SheetLine], None] = getattr(self, f"_{line.action}")
        step(line)

    # --- one method an action -------------------------------------------------------------

    def _reading(self, line: SheetLine) -> None:
        point = self._point(line)
        reading = value_at(line, point, self._survey.route.unit, self._sheet)
        expected = self._count(line)
        if point is None or reading is None:
            return
        self._begin_memory(line.memory)
        run = self._survey.run
        number = line.memory if line.memory is not None else self._survey.next_number
        self.counted_on += line.memory is None and run is not None and number is not None
        standing = self._survey.standings[point.id]
        known = len(self.suspects)
        if (
            standing.as_left is not None
            and not standing.asked_again
            and not self._survey.take_so_far(point.id)
        ):
            self.suspects.append(Suspect(expected, f"a further reading of {point.id} without a redo line"))
            self._add(ev.RedoAsked(time=self._time, by=self._by, point=point.id, reason=NO_REASON))
        if why := number_doubt(self._survey, line):
            self.suspects.append(Suspect(expected, why))
        self.suspects += value_suspects(self._survey, self._expected_values, expected, point, reading)
        reason, note = reason_and_note(line, is_doubtful=len(self.suspects) > known)
        self._add(
            ev.ReadingTaken(
                time=self._time,
                by=self._by,
                record=expected,
                point=point.id,
                reading=reading,
                verdict=self._survey.would_say(point.id, reading),
                run=run.run if run is not None and number is not None else None,
                number=number if run is not None else None,
                reason=reason,
                note=note,
            )
        )
        for suspect in self.suspects[known:]:  # said once on the screen, and kept where a reviewer looks
            note = suspect.words[:MAX_LENGTH]
            self._add(ev.Noted(time=self._time, by=self._by, point=point.id, note=note))

    def _skip(self, line: SheetLine) -> None:
        point = self._point(line)
        if point is not None:
            self._add(
                ev.Skipped(
                    time=self._time,
                    by=self._by,
                    point=point.id,
                    reason=line.reason or NO_REASON,
                    note=line.note,
                )
            )

    def _redo(self, line: SheetLine) -> None:
        record = line.record
        if record is not None and self._is_lost(record):
            return
        if record is not None and record not in self._survey.records:
            self._find(
                line, "record", f"there is no record {record} above this line", "write the record meant"
            )
            return
        if record is None and not line.point:
            record = len(self._survey.records) or None
        point_id = line.point or (self._survey.records[record].point if record is not None else "")
        point = self._point(line, point_id)
        if point is None:
            return
        if record is not None and self._survey.records[record].point != point.id:
            at = self._survey.records[record].point
            self._find(
                line, "record", f"record {record} belongs to {at}, not to {point.id}", "write one of the two"
            )
            return
        self._add(
            ev.RedoAsked(
                time=self._time,
                by=self._by,
                point=point.id,
                ref=record,
                reason=line.reason or NO_REASON,
                note=line.note,
            )
        )

    def _void(self, line: SheetLine) -> None:
        if line.record is None and not line.point:
            return  # told already
        record = line.record if line.record is not None else self._last_valid_of(line.point)
        if record is not None and self._is_lost(record):
            return
        found = self._survey.records.get(record) if record is not None else None
        if found is None:
            self._find(
                line,
                "record",
                f"there is no record {record or 'of ' + line.point} above this line",
                "write the record meant",
            )
        elif line.point and line.point != found.point:
            what = f"record {found.record} belongs to {found.point}, not to {line.point}"
            self._find(line, "record", what, "write one of the two")
        elif not found.is_valid:
            self._find(line, "record", f"record {found.record} is void already", "take the line out")
        else:
            self._add(
                ev.Voided(
                    time=self._time,
                    by=self._by,
                    ref=found.record,
                    point=found.point,
                    reason=line.reason or NO_REASON,
                    note=line.note,
                )
            )

    def _attempt(self, line: SheetLine) -> None:
        point = self._point(line)
        if point is None:
            return
        if line.memory is not None:
            self._begin_memory(line.memory)
        run = self._survey.run
        self._add(
            ev.AttemptFailed(
                time=self._time,
                by=self._by,
                point=point.id,
                reason=line.reason or NO_REASON,
                run=run.run if run is not None and line.memory is not None else None,
                number=line.memory,
                note=line.note,
            )
        )

    def _number(self, line: SheetLine) -> None:
        called = line.memory
        if called is None:
            return  # told already
        self._begin_memory(None)
        run = self._survey.run
        expected = run.filed_last if run is not None else None
        self._add(
            ev.NumberChecked(
                time=self._time,
                by=self._by,
                run=run.run if run is not None else 1,
                number=called,
                verdict=ev.Agreement.AGREE if called == expected else ev.Agreement.DIFFER,
                ref=expected,
                note=line.note or line.reason,
            )
        )
        if (alarm := called_alarm(self._survey, called)) is not None:
            self._alarms.append(alarm)

    def _run(self, line: SheetLine) -> None:
        if line.memory is not None:
            self._start_run(line.memory, line.reason, line.note)

    def _standard(self, line: SheetLine) -> None:
        self._add_if(standard_read(line, self._sheet, self._survey, time=self._time, by=self._by))

    def _lead(self, line: SheetLine) -> None:
        reason = line.reason or NO_REASON
        self._add(ev.LeadChanged(time=self._time, by=self._by, reason=reason, note=line.note))

    def _paper(self, line: SheetLine) -> None:
        if line.point and (point := self._point(line)) is not None:
            self._add_if(paper_written(line, point, self._survey, self._sheet, time=self._time, by=self._by))

    def _rework(self, line: SheetLine) -> None:
        if line.point and (point := self._point(line)) is not None:
            self._add_if(rework_written(line, point, self._survey, self._sheet, time=self._time, by=self._by))

    def _waive(self, line: SheetLine) -> None:
        if line.point and (point := self._point(line)) is not None:
            self._add_if(waiver_written(line, point, time=self._time, by=self._by))

    def _note(self, line: SheetLine) -> None:
        point = self._point(line) if line.point else None
        if line.point and point is None:
            return
        self._add(
            ev.Noted(
                time=self._time,
                by=self._by,
                point=point.id if point is not None else "",
                note=line.note or line.reason,
            )
        )

    # --- parts ----------------------------------------------------------------------------

    def _count(self, line: SheetLine) -> int:
        """The record number of a reading line, which is wrong where it does not follow the one above."""
        expected = self._expected
        number = line.record if line.record is not None else expected
        # A line between that could not be understood may hold the numbers that are missing.
        is_excused = number > expected and any(
            self._counted_line < (problem.line or 0) < line.line for problem in self._sheet.problems
        )
        if number != expected and not is_excused:
            what = f"record {number}, but {expected} is next"
            self._find(line, "record", what, "a line is missing or stands twice")
        self._expected, self._counted_line = number + 1, line.line
        return number

    def _add(self, event: ev.Event) -> None:
        self.events.append(event)
        self._survey = self._survey.after(event)

    def _add_if(self, event: ev.Event | None) -> None:
        """Where there is none, the reason was noted."""
        if event is not None:
            self._add(event)

    def _find(self, line: SheetLine, column: str, what: str, remedy: str) -> None:
        self._sheet.find(line.line, column, what, remedy)

    def _point(self, line: SheetLine, point_id: str | None = None) -> Point | None:
        """The point written on the line, or the one being probed where none is."""
        wanted = point_id if point_id is not None else line.point
        if not wanted:
            if self._survey.here is None:
                self._find(line, "point", "no point is left to take", "write the point meant")
            return self._survey.here
        point = self._survey.points.get(wanted)
        if point is None:
            near = get_close_matches(wanted, self._survey.points, n=1)
            remedy = f"did you mean {near[0]}?" if near else "write the id as on the route"
            self._find(line, "point", f"point {wanted[:40]!a} is not on the route", remedy)
        return point

    def _begin_memory(self, memory: int | None) -> None:
        """Where the sheet speaks of memory numbers but begins no run, the first run begins by itself."""
        if self._survey.run is None and self._keeps_memory:
            first = memory if memory is not None else self._survey.instrument.first_number
            self._start_run(first, "", "not on the sheet: taken to begin here")

    def _start_run(self, number: int, reason: str, note: str) -> None:
        self._add(
            ev.RunStarted(
                time=self._time,
                by=self._by,
                run=len(self._survey.runs) + 1,
                number=number,
                reason=reason,
                note=note,
            )
        )

    def _is_lost(self, record: int) -> bool:
        """True for a record whose own line is bad, which was told already."""
        return bool(self._sheet.problems) and record < self._expected and record not in self._survey.records

    def _last_valid_of(self, point: str) -> int | None:
        standing = self._survey.standings.get(point)
        numbers = standing.records if standing is not None else ()
        return next((n for n in reversed(numbers) if self._survey.records[n].is_valid), None)
