"""The meter's memory: runs, number checks, numbers that move."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from fieldtui.core.survey.corrections import first_moved
from fieldtui.core.survey.memory import LIST_ENDS, Correction, MemoryRun
from fieldtui.core.trail import events as ev
from fieldtui.desk.log import Log

if TYPE_CHECKING:
    from fieldtui.core.pairing.alignment import MemoryEntry


class Memory(Log):
    """Which memory number belongs to which reading."""

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

    def go_back_on(self, correction: Correction, reason: str) -> None:
        """Undo the last correction of the numbers by further rows; a run that it left goes on."""
        for record, number in correction.had:  # first, so that a stop in between leaves the mismatch open
            if number is None:
                self.unfile(record, reason)
            else:
                self.amend_number(record, correction.was_run, number, reason)
        run = self._run()
        self.append(
            ev.Renumbered(
                **self.stamp(),
                run=correction.was_run,
                number=run.next_number - correction.by,
                reason=self._reason(reason),
                ref=first_moved(self.survey.records, correction),
                note=f"was {run.next_number} of run {run.run}",
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

    def reconciled(self, run: int, list_name: str, findings: str, reason: str = "") -> None:
        """A memory run was held against the meter's list; ``reason`` is the crew's own, if any."""
        self.append(
            ev.Reconciled(
                **self.stamp(),
                run=run,
                ref=self._text(list_name),
                reason=self._text(reason),
                note=self._text(findings),
            )
        )

    def follow_list_end(self, memory: Iterable[MemoryEntry], seen: int | None = None) -> None:
        """Let the current run go on after the last number that the meter's list shows for it.

        ``seen`` is a number that the meter has all the same, if any: the list may have lost its line.
        A number that the record gave to the check standard or to a try is not given again for the list alone.
        """
        run = self.survey.run
        if run is None:
            return
        numbers = [each.number for each in memory if each.run in (None, run.run) and each.number is not None]
        if not numbers:
            return
        apart = (number for at, number in self.survey.filed_apart if at == run.run)
        used = max((number for number in apart if number < run.next_number), default=0)
        last = max(*numbers, used, seen if seen is not None else 0)
        if last + 1 != run.next_number:
            self.renumber(last + 1, LIST_ENDS)

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

    def _follow_number(self, number: int, reason: str) -> None:
        if self.survey.run is None:
            self.start_run(number, reason)
        else:
            self.renumber(number, reason)
