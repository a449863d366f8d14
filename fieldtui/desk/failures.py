"""What a failed point or a failed check of the meter leads to: its papers, rework, waiver, release."""

from __future__ import annotations

from fieldtui.core.account.bracket import readings_in_doubt
from fieldtui.core.trail import events as ev
from fieldtui.desk.log import Log
from fieldtui.errors import WrongUseError


class Failures(Log):
    """Points that failed, and readings that are in doubt."""

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

    def release(self, record: int, reason: str) -> None:
        """Let a reading stand that a failed check put in doubt, or that was to be taken again."""
        found = self._record(record)
        standing = self.survey.standings[found.point]
        left = standing.as_left
        is_asked = standing.asked_again and left is not None and found in left.records
        if not is_asked and all(each.record != record for each in readings_in_doubt(self.survey)):
            raise WrongUseError(f"Record {record} is not in doubt")
        self.append(ev.Released(**self.stamp(), ref=record, reason=self._reason(reason)))
