"""What is known of a survey that was taken on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from fieldtui.core.plan.route import Route
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Tables
from fieldtui.core.survey.brief import CELSIUS_FORM, Brief, parse_celsius, standard_finding
from fieldtui.core.survey.meters import UNNAMED
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import normal, refusal
from fieldtui.core.trail import events as ev
from fieldtui.desk.sheet_values import resistance_on
from fieldtui.errors import BadInputError
from fieldtui.files.sheet import Sheet, SheetLine

NOT_STATED = "not stated"


def paper_brief(
    tables: Tables,
    route: Route,
    *,
    meter: str = "",
    job: str = "",
    prober: str = "",
    recorder: str = "",
    ambient: str = "",
    conductor: str = "",
) -> Brief:
    """What is known of a survey that was taken on paper.

    ``ambient`` and ``conductor`` are the temperatures written on it, degrees Celsius; empty where
    none was taken.

    Raises:
        BadInputError: the meter is not in the instruments table, or something cannot be taken as it is.
    """
    for text in (job, prober, recorder):
        if why := refusal(normal(text)):
            raise BadInputError(f"{text!a}: {why}", remedy="give it without that")
    if meter and meter not in tables.instruments:
        known = ", ".join(tables.instruments) or "none"
        raise BadInputError(f"There is no meter {meter}", remedy=f"the meters are: {known}")
    instrument = tables.instruments.get(meter) or replace(UNNAMED, unit=route.unit)
    return Brief(
        job=normal(job) or NOT_STATED,
        crew=Crew(prober=normal(prober) or NOT_STATED, recorder=normal(recorder) or NOT_STATED),
        instrument=instrument,
        next_number=None,
        ambient_c=_celsius(ambient),
        conductor_c=_celsius(conductor),
    )


def _celsius(text: str) -> Decimal | None:
    if not text:
        return None
    celsius = parse_celsius(text)
    if celsius is None:
        raise BadInputError(f"{text!a}: {CELSIUS_FORM}", remedy="give it as written on the sheet")
    return celsius


def standard_read(
    line: SheetLine, sheet: Sheet, survey: Survey, *, time: datetime, by: str
) -> ev.StandardRead | None:
    """The check standard as a line of the sheet has it; None where it cannot be, with the reason noted."""
    standard = survey.instrument.check_standard
    if standard is None:
        remedy = "name the meter with --meter, or make it a note"
        sheet.find(line.line, "action", "no check standard is known for this meter", remedy)
        return None
    if not line.value:
        return None  # told already
    if line.volt_unit is not None:
        what = f"a check standard is read in ohm; {line.volt_unit.value} is a unit of voltage"
        remedy = f"write the unit called out, or leave the cell empty for {standard.value.unit.value}"
        sheet.find(line.line, "unit", what, remedy)
        return None
    reading = resistance_on(line, standard.value.unit, sheet)
    if reading is None:
        return None
    wrong = standard_finding(standard, reading)
    goes_on = any(later.action == "reading" and later.line > line.line for later in sheet.lines)
    last = ev.CheckTime.INTERVAL if goes_on else ev.CheckTime.AFTER
    return ev.StandardRead(
        time=time,
        by=by,
        reading=reading,
        verdict=ev.Answer.BAD if wrong else ev.Answer.GOOD,
        ref=last if survey.records else ev.CheckTime.BEFORE,
        run=survey.run.run if survey.run is not None and line.memory is not None else None,
        number=line.memory if survey.run is not None else None,
        note=line.note or wrong,
    )
