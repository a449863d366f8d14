"""The one object a screen talks to while a session is written.

Every method that changes something appends one event (or two that belong together), waits until
it is on the disk, and only then lets the survey move on. If it raises ``NotSavedError`` nothing
has changed and what was keyed is still the caller's to show.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Self, TypedDict

from fieldtui.core import events as ev
from fieldtui.core.bracket import readings_in_doubt
from fieldtui.core.brief import Brief, answers, standard_finding
from fieldtui.core.drift.explanations import Change, Explanation
from fieldtui.core.inserted import NotADefinitionError, format_definition, parse_limit
from fieldtui.core.judging import Verdict
from fieldtui.core.memory import MemoryRun, number_refusal
from fieldtui.core.ohms import Resistance
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.position import State
from fieldtui.core.route import Point
from fieldtui.core.session import Session
from fieldtui.core.standing import Record, Result
from fieldtui.core.survey import Survey
from fieldtui.core.text import normal, refusal
from fieldtui.desk.clock import Clock, SessionClock, format_step
from fieldtui.desk.entry import NUMBER_MISHEARD, DoubtKind, Entry, weigh, weigh_value
from fieldtui.desk.watching import Lookout, explain_numbers
from fieldtui.desk.workspace import History
from fieldtui.errors import BadInputError, SessionClosedError, WrongUseError
from fieldtui.files.durable import TrailWriter


class Stamp(TypedDict):
    """What every event carries."""

    time: datetime
    by: str


class Desk:
    """A session open for writing. Its methods block while the disk works: call them off the screen."""

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
        self.by = session.crew.recorder
        self.recovered = ""  # what was set aside on opening, a sentence; empty where nothing was
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
        auto_off = self.session.instrument.auto_off_s
        if not auto_off or self._read_at is None:
            return None
        return auto_off - (self._clock.elapsed() - self._read_at)

    def leave(self) -> None:
        """Let the session go; it can be resumed."""
        self._trail.close()

    # --- readings -------------------------------------------------------------------------

    def weigh(self, text: str) -> Entry:
        """Understand what was keyed, without recording it. See :func:`entry.weigh`."""
        self._want_open()
        return weigh(text, self.survey, self.lookout.expected)

    def record(self, entry: Entry, reason: str = "") -> Record:
        """Record a weighed entry at the point being probed.

        A doubtful entry wants ``reason``. Where the doubt is the memory number, the meter is
        taken at its word and the numbers go on from the one it showed, unless ``reason`` is
        ``NUMBER_MISHEARD``.
        """
        keyed_for = entry.point, entry.record
        entry = self.weigh(entry.text)
        if keyed_for != (entry.point, entry.record):  # one key pressed twice must not fill two points
            raise WrongUseError("The walk has gone on since this was keyed", remedy="key it again")
        reason = self._text(reason)
        if entry.doubts and not reason:
            raise WrongUseError(entry.doubts[0].what, remedy="confirm it with a reason, or key it again")
        is_number = any(doubt.kind is DoubtKind.NUMBER for doubt in entry.doubts)
        if is_number and entry.number is not None and reason != NUMBER_MISHEARD:
            self._follow_number(entry.number, reason)
        run = self.survey.run
        number = self.survey.next_number
        self.append(
            ev.ReadingTaken(
                **self.stamp(),
                record=entry.record,
                point=entry.point,
                reading=entry.reading,
                verdict=entry.verdict,
                run=run.run if run is not None and number is not None else None,
                number=number,
                reason=reason,
            )
        )
        return self.survey.records[entry.record]

    def attempt(self, reason: str, *, filed: bool = False, note: str = "") -> None:
        """A try without a value. ``filed`` where the meter used up a memory number all the same."""
        here = self._here()
        if filed and not self.session.instrument.spoiled_number_stays_used:
            raise WrongUseError("This meter uses up no number without a value", remedy="key it as not filed")
        run = self._run() if filed else None
        if run is not None and run.is_full:
            raise WrongUseError(
                f"The meter's memory is full at {run.filed_last}",
                remedy="it filed nothing; or read it out and start the next memory run",
            )
        self.append(
            ev.AttemptFailed(
                **self.stamp(),
                point=here.id,
                reason=self._reason(reason),
                run=run.run if run is not None else None,
                number=run.next_number if run is not None else None,
                note=self._text(note),
            )
        )

    def void(self, record: int, reason: str) -> None:
        """Strike a reading out; it stays visible, and its point is open again if nothing else holds it."""
        found = self._record(record)
        if not found.is_valid:
            raise WrongUseError(f"Record {record} is void already")
        self.append(ev.Voided(**self.stamp(), ref=record, point=found.point, reason=self._reason(reason)))

    def amend_value(self, record: int, text: str, reason: str) -> Verdict:
        """Correct a keyed value; returns what the corrected value's limit gives."""
        found = self._record(record)
        point = self.survey.points[found.point]
        return self.amend_reading(record, weigh_value(text, point.unit), reason)

    def amend_reading(self, record: int, reading: Resistance, reason: str) -> Verdict:
        """Correct a value to one that is already understood; returns what its limit gives."""
        self._record(record)
        tried = self.survey.after(self._amendment(record, reading, None, reason))
        verdict = tried.records[record].verdict
        self.append(self._amendment(record, reading, verdict, reason))
        return verdict

    # --- the walk -------------------------------------------------------------------------

    def skip(self, reason: str, note: str = "") -> None:
        """Leave the point for later."""
        self.append(
            ev.Skipped(
                **self.stamp(),
                point=self._here().id,
                reason=self._reason(reason),
                note=self._text(note),
            )
        )

    def redo(self, reason: str, record: int | None = None) -> None:
        """Take the point of ``record`` (the last reading, if none is named) again, then come back."""
        if record is None:
            record = len(self.survey.records)
            if not record:
                raise WrongUseError("No reading has been taken yet", remedy="take the point's first reading")
        found = self._record(record)
        self.append(ev.RedoAsked(**self.stamp(), point=found.point, ref=record, reason=self._reason(reason)))

    def jump(self, point: str, reason: str = "") -> None:
        """Go to another point and afterwards back to where the walk was."""
        self._want_point(point)
        standing = self.survey.standings[point]
        if standing.as_left is not None and not standing.asked_again:
            what = f"Point {point} has a reading that counts"
            raise WrongUseError(what, remedy="take it again, with a reason")
        self.append(ev.Jumped(**self.stamp(), point=point, reason=self._text(reason)))

    def reverse(self, reason: str = "") -> None:
        """Walk the rest of the section from its far end."""
        self.append(ev.SectionReversed(**self.stamp(), point=self._here().id, reason=self._text(reason)))

    def insert(self, title: str, limit: str, reason: str, *, a: str = "", b: str = "") -> str:
        """Insert an unplanned point and go to it; returns its id.

        ``limit`` is text such as ``<= 2.5 mohm``, a plain figure in the unit of the point being
        probed, or ``record only``.
        """
        here = self.survey.here
        unit = here.unit if here is not None else self.session.route.unit
        section = here.section if here is not None else self.session.route.points[-1].section
        try:
            parsed = parse_limit(limit, unit)
        except NotADefinitionError as error:
            raise BadInputError(str(error), remedy="key the limit again") from error
        title = self._text(title)
        if not title:
            raise BadInputError("An unplanned point wants a title", remedy="say what is measured")
        point = Point(
            id=self._free_id(),
            section=section,
            title=title,
            unit=unit,
            limit=parsed,
            a=self._text(a),
            b=self._text(b),
            unplanned=True,
        )
        self.append(
            ev.PointInserted(
                **self.stamp(),
                point=point.id,
                ref=here.id if here is not None else "",
                reason=self._reason(reason),
                definition=format_definition(point),
            )
        )
        return point.id

    def pause(self, reason: str = "") -> None:
        """The crew stops for a while."""
        self.append(ev.Paused(**self.stamp(), reason=self._text(reason)))

    def proceed(self) -> None:
        """The crew goes on."""
        self.append(ev.Proceeded(**self.stamp()))

    def note(self, text: str) -> None:
        """A remark on the point being probed."""
        here = self.survey.here
        text = self._text(text)
        if not text:
            raise BadInputError("The note is empty", remedy="key some words, or leave with Escape")
        self.append(ev.Noted(**self.stamp(), point=here.id if here is not None else "", note=text))

    def waive(self, point: str, authority: str, paper: str) -> None:
        """Let a point go on somebody's authority, with the paper that says so."""
        self._want_point(point)
        self.append(
            ev.Waived(
                **self.stamp(),
                point=point,
                reason=self._reason(authority),
                ref=self._reason(paper),
            )
        )

    # --- failed points --------------------------------------------------------------------

    def discrepancy(self, point: str, ref: str) -> None:
        """Note the reference of a failed point's paper."""
        self._want_point(point)
        self.append(ev.DiscrepancyRaised(**self.stamp(), point=point, ref=self._reason(ref)))

    def rework(self, point: str, reason: str, ref: str = "") -> None:
        """The bond was repaired: the next reading of ``point`` is its retest.

        ``ref`` is the discrepancy; it may be left out where one is noted already.
        """
        self._want_point(point)
        ref = self._text(ref) or self.survey.standings[point].discrepancy
        if not ref:
            raise WrongUseError(
                f"No discrepancy is noted for {point}", remedy="key the reference of the point's paper"
            )
        self.append(ev.Reworked(**self.stamp(), point=point, reason=self._reason(reason), ref=ref))

    # --- the meter ------------------------------------------------------------------------

    def check_standard(self, text: str, *, is_last: bool = False) -> ev.Answer:
        """The check standard was read as ``text``; says whether the meter is good.

        A failed check puts readings in doubt: see :func:`bracket.readings_in_doubt`.
        """
        standard = self.session.instrument.check_standard
        if standard is None:
            raise WrongUseError(
                "This meter has no check standard",
                remedy="give it one in instruments.toml, for the next session",
            )
        reading = weigh_value(text, standard.value.unit)
        wrong = standard_finding(standard, reading)
        when = ev.CheckTime.INTERVAL if self.survey.records else ev.CheckTime.BEFORE
        verdict = ev.Answer.BAD if wrong else ev.Answer.GOOD
        self.append(
            ev.StandardRead(
                **self.stamp(),
                reading=reading,
                verdict=verdict,
                ref=ev.CheckTime.AFTER if is_last else when,
                note=wrong,
            )
        )
        return verdict

    def lead_changed(self, reason: str) -> None:
        """Another lead or other tips are on the meter: the check standard is due."""
        self.append(ev.LeadChanged(**self.stamp(), reason=self._reason(reason)))

    def release(self, record: int, reason: str) -> None:
        """Let a reading stand that a failed check of the meter put in doubt."""
        self._record(record)
        if all(each.record != record for each in readings_in_doubt(self.survey)):
            raise WrongUseError(f"Record {record} is not in doubt")
        self.append(ev.Released(**self.stamp(), ref=record, reason=self._reason(reason)))

    # --- memory ---------------------------------------------------------------------------

    def check_number(self, number: int) -> ev.Agreement:
        """The prober read out the meter's last memory number."""
        run = self._run()
        expected = run.filed_last
        is_same = number == run.next_number - 1  # 0 of an empty memory that begins with 1, too
        agreement = ev.Agreement.AGREE if is_same else ev.Agreement.DIFFER
        self.append(
            ev.NumberChecked(**self.stamp(), run=run.run, number=number, verdict=agreement, ref=expected)
        )
        return agreement

    def renumber(self, next_number: int, reason: str, first_record: int | None = None) -> None:
        """Bring the record into step: the next reading gets ``next_number``.

        From ``first_record`` on, readings of this run move by as much as the next number does.
        """
        run = self._run()
        if first_record is not None:
            self._record(first_record)
        if next_number - 1 != run.last_number:  # past the last one: the memory is full
            self._want_number(next_number)
        self.append(
            ev.Renumbered(
                **self.stamp(),
                run=run.run,
                number=next_number,
                reason=self._reason(reason),
                ref=first_record,
                note=f"was {run.next_number}",
            )
        )

    def amend_number(self, record: int, run: int | None, number: int, reason: str) -> None:
        """Correct the memory number of one reading, and its run where ``run`` is given."""
        found = self._record(record)
        was = "none" if found.number is None else f"{found.number} of run {found.run}"
        self.append(
            ev.Amended(
                **self.stamp(),
                ref=record,
                run=run if run is not None else found.run,
                number=number,
                reason=self._reason(reason),
                note=f"was {was}",
            )
        )

    def unfile(self, record: int, reason: str) -> None:
        """The meter did not keep a reading: it stays on the record, without a memory number."""
        found = self._record(record)
        was = f"was {found.number} of run {found.run}"
        self.append(ev.Unfiled(**self.stamp(), ref=record, reason=self._reason(reason), note=was))

    def erase(self, record: int, reason: str) -> None:
        """The prober deleted a reading's entry on the meter; the reading stays on the record."""
        found = self._record(record)
        was = f"was {found.number} of run {found.run}"
        self.append(ev.Erased(**self.stamp(), ref=record, reason=self._reason(reason), note=was))

    def reconciled(self, run: int, list_name: str, findings: str) -> None:
        """A memory run was held against the meter's list."""
        self.append(
            ev.Reconciled(**self.stamp(), run=run, ref=self._text(list_name), note=self._text(findings))
        )

    def follow_list_end(self, memory: Iterable[MemoryEntry]) -> None:
        """Let the current run go on after the last number that the meter's list shows for it."""
        run = self.survey.run
        if run is None:
            return
        numbers = [each.number for each in memory if each.run in (None, run.run) and each.number is not None]
        if numbers and max(numbers) + 1 != run.next_number:
            self.renumber(max(numbers) + 1, "the memory list ends there")

    def start_run(self, number: int, reason: str = "") -> MemoryRun:
        """The memory was read out and cleared, or another meter taken: a new run begins."""
        self._want_number(number)
        self.append(
            ev.RunStarted(
                **self.stamp(),
                run=len(self.survey.runs) + 1,
                number=number,
                reason=self._text(reason),
            )
        )
        return self._run()

    # --- drift ----------------------------------------------------------------------------

    @property
    def lookout(self) -> Lookout:
        """The drift watch on the survey as it stands."""
        if self._lookout is None:
            self._lookout = Lookout.over(self.survey, self.history.readings())
        self._lookout = self._lookout.after(self.survey)
        return self._lookout

    def explain_numbers(self, called: int) -> tuple[Explanation, ...]:
        """Why the meter's last number is ``called`` and not the expected one, likeliest first."""
        return explain_numbers(self.survey, called)

    def follow_explanation(self, change: Change, reason: str, *, restarted: bool = False) -> None:
        """Bring the numbers into step in the way that one explanation says.

        ``restarted``: the memory began anew, and the readings that move belong to a new run.
        """
        if restarted:
            self._follow_restart(change, reason)
            return
        for record in change.loses:  # first, so that a stop in between leaves the mismatch open
            self.unfile(record, reason)
        self.renumber(change.next_number, reason, change.moves_from)

    def shift_points(self, first: int, by: int, reason: str, last: int | None = None) -> None:
        """Readings from record ``first`` on belong ``by`` places further along the walk.

        ``last`` is the last of them, where those after it are in step again.
        """
        self.append(self._shift(first, by, last, self._reason(reason)))

    def try_shift(self, first: int, by: int, last: int | None = None) -> Survey:
        """The survey as :meth:`shift_points` would leave it; nothing is written."""
        return self._tried(self._shift(first, by, last, "tried"))

    def mirror_section(self, first: int, reason: str) -> None:
        """The section was walked from its far end since record ``first``: its readings change ends."""
        self.append(self._mirror(first, self._reason(reason)))

    def try_mirror(self, first: int) -> Survey:
        """The survey as :meth:`mirror_section` would leave it; nothing is written."""
        return self._tried(self._mirror(first, "tried"))

    def in_step(self) -> None:
        """The crew looked, and prober and record are in step after all."""
        self._lookout = self.lookout.settled()
        self.note("drift watch: looked at, prober and record are in step")

    # --- the end --------------------------------------------------------------------------

    def close(self, reason: str = "") -> str:
        """Close the session: no more events; returns the seal."""
        self.append(ev.Closed(**self.stamp(), reason=self._text(reason)))
        return self.seal

    def reopen(self, reason: str, by: str = "") -> None:
        """Let a closed session take events again; the seal it had is written down with the reason."""
        if not self.survey.closed:
            raise WrongUseError("The session is not closed", remedy="go on with it: fieldtui resume SESSION")
        who = self._text(by) or self.by
        time = self._clock.now()
        self._write(ev.Reopened(time=time, by=who, ref=self.seal, reason=self._reason(reason)))

    def unsettled(self) -> list[Point]:
        """Points still open or skipped."""
        return self.survey.in_state(State.OPEN, State.SKIPPED)

    # --- for the parts of the desk that lie in modules of their own ------------------------

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

    # --- parts ----------------------------------------------------------------------------

    def begin(self, brief: Brief) -> None:
        """Write the answers of the brief and the first memory run into a fresh session."""
        now = self._clock.now()
        for row in answers(brief, now.date(), now, self.session.route):
            self.append(row)
        if brief.next_number is not None:
            self.start_run(brief.next_number)

    def take_over(self, rows: Iterable[ev.Event]) -> None:
        """Write events that were made elsewhere, times and all: those of a paper sheet."""
        self._want_open()
        for row in rows:
            self._write(row)

    def reopened(self, program: str) -> None:
        """Write down that a program opened the session again."""
        self.append(ev.Opened(**self.stamp(), note=program))

    def torn_row_set_aside(self, side_file: str, what: str) -> None:
        """Write down that a torn last row was found and kept in a side file."""
        self.recovered = what
        self.append(ev.Recovered(**self.stamp(), ref=side_file, note=what))

    def _shift(self, first: int, by: int, last: int | None, reason: str) -> ev.ReadingsShifted:
        record = self._record(first)
        last = len(self.survey.records) if last is None else last
        ids, place = self.survey.order.ids, self.survey.order.place
        for number in range(first, last + 1):
            if place[self._record(number).point] + by not in range(len(ids)):
                raise WrongUseError(
                    f"Record {number} would move to where there is no point",
                    remedy="choose another explanation, or void and take the readings again",
                )
        point = ids[place[record.point] + by]
        return ev.ReadingsShifted(**self.stamp(), ref=first, record=last, point=point, reason=reason)

    def _mirror(self, first: int, reason: str) -> ev.SectionMirrored:
        record = self._record(first)
        section = self.survey.points[record.point].section
        last = len(self.survey.records)
        others = {self.survey.points[self.survey.records[n].point].section for n in range(first, last + 1)}
        if others != {section}:
            raise WrongUseError(
                "Readings of several sections cannot be mirrored at once",
                remedy="void the readings that are wrong, and take them again",
            )
        places = self.survey.order.section_around(record.point, lambda p: self.survey.points[p].section)
        far = self.survey.order.ids[places.start + places.stop - 1 - self.survey.order.place[record.point]]
        return ev.SectionMirrored(**self.stamp(), ref=first, record=last, point=far, reason=reason)

    def _follow_restart(self, change: Change, reason: str) -> None:
        """Readings from ``change.moves_from`` on become the first ones of a new run."""
        fresh = self._run().run + 1
        moved = [
            record
            for record in self.survey.records.values()
            if change.moves_from is not None
            and record.record >= change.moves_from
            and record.run == fresh - 1
            and record.number is not None
        ]
        for record in moved:  # first, so that a stop in between leaves the mismatch open
            self.amend_number(record.record, fresh, (record.number or 0) + change.by, reason)
        self.start_run(change.next_number, reason)

    def _tried(self, event: ev.Event) -> Survey:
        """The survey once ``event`` has happened, or why it cannot be recorded."""
        after = self.survey.after(event)
        if len(after.problems) > len(self.survey.problems):
            raise WrongUseError(
                f"This cannot be recorded: {after.problems[-1].what}", remedy="nothing was written"
            )
        return after

    def _write(self, event: ev.Event) -> None:
        after = self._tried(event)
        self._trail.append(event)  # returns only once the row is on the disk
        self.survey = after
        if isinstance(event, ev.ReadingTaken):
            self._read_at = self._clock.elapsed()

    def _want_open(self) -> None:
        if self.survey.closed:
            raise SessionClosedError(
                "The session is closed and takes no more events",
                remedy="open it in review, or start a new one",
            )

    def _follow_number(self, number: int, reason: str) -> None:
        if self.survey.run is None:
            self.start_run(number, reason)
        else:
            self.renumber(number, reason)

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
        if why := number_refusal(self.session.instrument, number):
            raise BadInputError(why, remedy="read the number on the meter again")

    def _free_id(self) -> str:
        ids = (f"X{count:02d}" for count in range(1, len(self.survey.points) + 2))
        return next(point for point in ids if point not in self.survey.points)

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

    def _amendment(
        self, record: int, reading: Resistance, verdict: Verdict | None, reason: str
    ) -> ev.Amended:
        was = self.survey.records[record].reading
        return ev.Amended(
            **self.stamp(),
            ref=record,
            reading=reading,
            verdict=verdict,
            reason=self._reason(reason),
            note=f"was {was.digits} {was.unit.value}",
        )
