"""The meter's own checks: the check standard, leads and tips."""

from __future__ import annotations

from fieldtui.core import events as ev
from fieldtui.core.brief import standard_finding
from fieldtui.desk.entry import weigh_value
from fieldtui.desk.log import Log
from fieldtui.errors import WrongUseError


class Meter(Log):
    """Checks of the meter while the survey goes on."""

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
