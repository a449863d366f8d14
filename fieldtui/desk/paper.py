"""What is known of a survey that was taken on paper."""

from __future__ import annotations

from fieldtui.core.brief import Brief
from fieldtui.core.route import Route
from fieldtui.core.session import Crew
from fieldtui.core.tables import Instrument, Tables
from fieldtui.core.text import normal, refusal
from fieldtui.errors import BadInputError

NOT_STATED = "not stated"


def paper_brief(
    tables: Tables, route: Route, *, meter: str = "", job: str = "", prober: str = "", recorder: str = ""
) -> Brief:
    """What is known of a survey that was taken on paper.

    Raises:
        BadInputError: the meter is not in the instruments table, or a text may not be recorded.
    """
    for text in (job, prober, recorder):
        if why := refusal(normal(text)):
            raise BadInputError(f"{text!a}: {why}", remedy="give it without that")
    if meter and meter not in tables.instruments:
        known = ", ".join(tables.instruments) or "none"
        raise BadInputError(f"There is no meter {meter}", remedy=f"the meters are: {known}")
    instrument = tables.instruments.get(meter) or Instrument(id="unknown", title=NOT_STATED, unit=route.unit)
    return Brief(
        job=normal(job) or NOT_STATED,
        crew=Crew(prober=normal(prober) or NOT_STATED, recorder=normal(recorder) or NOT_STATED),
        instrument=instrument,
        next_number=None,
    )
