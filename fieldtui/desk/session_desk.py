"""The one object a screen talks to while a session is written.

Every method that changes something appends one event (or two that belong together), waits until
it is on the disk, and only then lets the survey move on: see :mod:`fieldtui.desk.log`.
"""

from __future__ import annotations

from fieldtui.core.survey.brief import Brief, answers
from fieldtui.core.trail import events as ev
from fieldtui.desk.crew import CrewDesk
from fieldtui.desk.drifting import Drifting
from fieldtui.desk.failures import Failures
from fieldtui.desk.meter import Meter
from fieldtui.desk.readings import Readings
from fieldtui.desk.walking import Walking
from fieldtui.errors import WrongUseError


class Desk(Readings, Walking, Failures, Meter, CrewDesk, Drifting):
    """A session open for writing. Its methods block while the disk works: call them off the screen."""

    def begin(self, brief: Brief) -> None:
        """Write the answers of the brief and the first memory run into a fresh session."""
        now = self._clock.now()
        for row in answers(brief, now.date(), now, self.session.route):
            self.append(row)
        if brief.next_number is not None:
            self.start_run(brief.next_number)

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
