"""What the crew does with readings: take, fail to take, strike out, correct."""

from __future__ import annotations

from collections.abc import Mapping

from fieldtui.core.drift.expectations import Expectation
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.entry import NUMBER_MISHEARD, DoubtKind, Entry, weigh, weigh_correction, weigh_reading
from fieldtui.desk.memory import Memory
from fieldtui.errors import WrongUseError


class Readings(Memory):
    """Readings at the point being probed, and what became of earlier ones."""

    _weighed: tuple[str, Survey, Mapping[str, Expectation], Entry] | None = None

    def weigh(self, text: str) -> Entry:
        """Understand what was keyed, without recording it. See :func:`entry.weigh`."""
        self._want_open()
        survey, expected = self.survey, self.lookout.expected
        last = self._weighed  # a value is weighed when it is keyed, and once more when it is recorded
        if last is None or last[0] != text or last[1] is not survey or last[2] is not expected:
            last = self._weighed = (text, survey, expected, weigh(text, survey, expected))
        return last[3]

    def weigh_correction(self, record: int, text: str) -> Entry:
        """Understand what a reading should have said, without writing it: :func:`entry.weigh_correction`."""
        self._want_open()
        return weigh_correction(self._record(record), text, self.survey, self.lookout.expected)

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
        if filed and not self.survey.instrument.spoiled_number_stays_used:
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
        return self.amend_reading(record, weigh_reading(text, point), reason)

    def amend_reading(self, record: int, reading: Resistance, reason: str) -> Verdict:
        """Correct a value to one that is already understood; returns what its limit gives."""
        self._record(record)
        tried = self.survey.after(self._amendment(record, reading, None, reason))
        verdict = tried.records[record].verdict
        self.append(self._amendment(record, reading, verdict, reason))
        return verdict

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
            note=f"was {' '.join(was.cells)}",
        )
