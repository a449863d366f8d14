"""Who is at work: the crew may change in the middle of a session."""

from __future__ import annotations

from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.crew import crew_now
from fieldtui.core.trail import events as ev
from fieldtui.desk.log import Log
from fieldtui.errors import WrongUseError


class CrewDesk(Log):
    """Handovers from one recorder or prober to another."""

    @property
    def crew(self) -> Crew:
        """Who probes and who records now."""
        return crew_now(self.session.crew, self.survey.handovers)

    def hand_over(self, reason: str, *, recorder: str = "", prober: str = "") -> Crew:
        """Somebody else records, or probes, from here on; a name left out stays as it is.

        Raises:
            WrongUseError: both stay who they were.
        """
        was = self.crew
        crew = Crew(
            prober=self._text(prober) or was.prober,
            recorder=self._text(recorder) or was.recorder,
        )
        if crew == was:
            raise WrongUseError(
                f"{was.prober} probes and {was.recorder} records already", remedy="name who takes over"
            )
        event = ev.HandedOver(
            time=self.stamp()["time"], by=crew.recorder, ref=crew.prober, reason=self._reason(reason)
        )
        self.append(event)
        self.by = crew.recorder
        return crew

    def taken_up_by(self, *, recorder: str, prober: str) -> None:
        """Write down who takes an open session up, where it is not the crew that left it."""
        crew = Crew(self._text(prober) or self.crew.prober, self._text(recorder) or self.crew.recorder)
        if crew != self.crew:
            self.hand_over("the session was taken up", recorder=crew.recorder, prober=crew.prober)
