"""The meter's own checks: the check standard, leads and tips."""

from __future__ import annotations

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import standard_finding
from fieldtui.core.survey.memory import number_refusal
from fieldtui.core.survey.meters import format_meter, is_same_meter, meter_words
from fieldtui.core.text import refusal
from fieldtui.core.trail import events as ev
from fieldtui.desk.entry import weigh_value
from fieldtui.desk.log import Log
from fieldtui.errors import BadInputError, WrongUseError


class Meter(Log):
    """Checks of the meter while the survey goes on."""

    def check_standard(self, text: str, *, is_last: bool = False, number: int | None = None) -> ev.Answer:
        """The check standard was read as ``text``; says whether the meter is good.

        A failed check puts readings in doubt: see :func:`bracket.readings_in_doubt`. ``number`` is
        the memory number under which the meter filed it, None where it filed nothing.
        """
        standard = self.survey.instrument.check_standard
        if standard is None:
            raise WrongUseError(
                "This meter has no check standard",
                remedy="give it one in instruments.toml, for the next session",
            )
        run, expected = self.survey.run, self.survey.next_number
        if number is not None and (run is None or number != expected):
            raise WrongUseError(
                f"The check standard cannot be filed under {number}: "
                f"{'no number' if expected is None else expected} is next",
                remedy="check the meter's last number first",
            )
        reading = weigh_value(text, standard.value.unit)
        wrong = standard_finding(standard, reading)
        taken = self.survey.meters[-1].row  # the first check of a meter that came later is one before
        is_first = all(record.row < taken for record in self.survey.last_records(1))
        when = ev.CheckTime.BEFORE if is_first else ev.CheckTime.INTERVAL
        verdict = ev.Answer.BAD if wrong else ev.Answer.GOOD
        self.append(
            ev.StandardRead(
                **self.stamp(),
                reading=reading,
                verdict=verdict,
                ref=ev.CheckTime.AFTER if is_last else when,
                run=run.run if run is not None and number is not None else None,
                number=number,
                note=wrong,
            )
        )
        return verdict

    def known_meters(self) -> tuple[Instrument, ...]:
        """The meters of the crew's table that are not the one in use.

        Raises:
            BadInputError: the table cannot be read.
        """
        now = self.survey.instrument
        return tuple(each for each in self.meters_on_hand().values() if not is_same_meter(each, now))

    def take_meter(self, instrument: Instrument, number: int | None, reason: str) -> None:
        """Readings are taken with another meter from here on.

        ``number`` is the memory number its next reading will get, None where it keeps none. Its
        check standard is due first: see :func:`bracket.standard_due`.
        """
        if number is not None and (why := number_refusal(instrument, number)):
            raise BadInputError(why, remedy="read the number on the meter again")
        if is_same_meter(instrument, self.survey.instrument):
            raise WrongUseError(f"{meter_words(instrument)} is the meter in use", remedy="pick another one")
        self._text(instrument.title)
        definition = format_meter(instrument)
        if why_not := refusal(definition):
            raise BadInputError(f"This meter cannot be recorded: {why_not}", remedy="shorten its title")
        self.append(
            ev.MeterTaken(
                **self.stamp(), ref=instrument.id, reason=self._reason(reason), definition=definition
            )
        )
        if number is not None:
            run = len(self.survey.runs) + 1
            self.append(ev.RunStarted(**self.stamp(), run=run, number=number, reason=self._reason(reason)))

    def lead_changed(self, reason: str) -> None:
        """Another lead or other tips are on the meter: the check standard is due."""
        self.append(ev.LeadChanged(**self.stamp(), reason=self._reason(reason)))
