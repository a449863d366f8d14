"""What the survey itself shows of the meter's uncertainty, beside what is stated for it."""

from __future__ import annotations

from decimal import Decimal

from fieldtui.core.account.repeatability import repeatability
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.conductors import ALPHA_20, metal_of
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.trail.events import STANDARD_ITEM, Briefed, Event, StandardRead
from fieldtui.desk.reading import ReadSession
from fieldtui.report.basis_words import two_digits, two_figures


def observed_lines(session: ReadSession) -> list[str]:
    """Check standard, repeatability and temperature, a sentence each; none of them is part of U."""
    return [_standard(session), _repeatability(session.survey), *_temperature(session.survey)]


def _standard(session: ReadSession) -> str:
    """How far the check standard was read from its value; the first meter's where there were several."""
    standard = session.facts.instrument.check_standard
    read = [reading for event in session.events if (reading := _standard_in(event)) is not None]
    if standard is None or len(session.survey.meters) > 1:
        return "Check standard: see the readings of it in the trail."
    if not read:
        return "Check standard: not read in this session."
    unit = standard.value.unit
    away = max(abs(reading.ohms - standard.value.ohms) for reading in read)
    return (
        f"Check standard: read {counted(len(read), 'time')}, at most {two_figures(away, unit)} from its "
        f"{standard.value}; {standard.tolerance} is allowed."
    )


def _standard_in(event: Event) -> Resistance | None:
    """What the meter read on its check standard: in a row of its own, or in the brief."""
    match event:
        case StandardRead():
            return event.reading
        case Briefed(ref=item) if item == STANDARD_ITEM:
            return event.reading
        case _:
            return None


def _repeatability(survey: Survey) -> str:
    found = repeatability(survey)
    if found is None:
        return "Repeatability: no point was read several times in one take, so nothing is known of it."
    return (
        f"Repeatability: standard deviation of one reading {_percent(found.deviation)} of the value, "
        f"pooled over {counted(found.takes, 'take')} of several readings "
        f"({found.freedom} degrees of freedom; JCGM 100:2008 4.2)."
    )


def _temperature(survey: Survey) -> list[str]:
    corrected = [point for point in survey.points.values() if point.correct_to_20]
    if not corrected:
        return ["Temperature: every value is judged as measured."]
    celsius = survey.route.celsius
    if celsius is None:
        return ["Temperature: a correction to 20 °C is asked for, and no temperature was recorded."]
    metals = sorted({metal_of(point) for point in corrected})
    effects = (
        f"{metal} {_percent(ALPHA_20[metal] / (1 + ALPHA_20[metal] * (celsius - 20)))}" for metal in metals
    )
    return [
        f"Temperature: {counted(len(corrected), 'point')} corrected from {celsius} °C to 20 °C; "
        f"one degree more or less would change a value by {', '.join(effects)}."
    ]


def _percent(share: Decimal) -> str:
    """With two significant digits."""
    return f"{two_digits(share * 100):f} %" if share else "0 %"
