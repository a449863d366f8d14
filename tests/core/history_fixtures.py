"""Points as surveys saw them, for the tests of comparison, coverage and trend. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import strategies as st

from fieldtui.core.between.history import Reading, Seen
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import judge_ohms

START = datetime(2022, 5, 4, 8, 30, tzinfo=UTC)
STATES = {"pass": State.PASSED, "fail": State.FAILED, "recorded": State.RECORDED}


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


UPPER = Limit(maximum=mohm("2.5"), upper=Comparator.LESS)
LOWER = Limit(minimum=mohm("1.0"))
WINDOW = Limit(maximum=mohm("3.0"), minimum=mohm("1.0"))
LIMITS = (UPPER, LOWER, WINDOW, Limit(maximum=mohm("3.0")), Limit(maximum=mohm("2.0")), RECORD_ONLY)


def seen(
    value: str = "",
    *,
    point: str = "SW-01",
    limit: Limit = UPPER,
    days: float = 0,
    u: str = "",  # standard uncertainty, mohm
    retest: bool = False,
    state: State = State.OPEN,
    places: tuple[str, str] = ("track", "spar"),
) -> Seen:
    """A point read as ``value`` in mohm, or not read and in ``state``."""
    reading = None
    if value:
        reading = Reading(
            value=mohm(value),
            verdict=judge_ohms(limit, mohm(value).ohms),
            when=START + timedelta(days=days),
            step=mohm(value).resolution,
            standard=mohm(u).ohms if u else None,
            is_retest=retest,
        )
        state = STATES[reading.verdict.value]
    return Seen(
        point=point,
        title="Flap jumper",
        a=places[0],
        b=places[1],
        unit=Unit.MOHM,
        state=state,
        limit=limit,
        planned=limit,
        reading=reading,
    )


@st.composite
def surveys(draw: st.DrawFn, *, least: int = 0) -> list[Seen]:
    """What one survey might say of up to six points, whose ids other surveys share."""
    found = []
    for number in draw(st.sets(st.integers(1, 6), min_size=least)):
        digits = draw(st.integers(0, 4000))
        places = draw(st.integers(0, 3))
        value = format(Decimal(digits).scaleb(-3).quantize(Decimal(1).scaleb(-places)), "f")
        unread = draw(st.sampled_from([State.OPEN, State.SKIPPED, State.INACCESSIBLE, State.WAIVED]))
        found.append(
            seen(
                value if draw(st.booleans()) else "",
                point=f"P-{number}",
                limit=draw(st.sampled_from(LIMITS)),
                u=draw(st.sampled_from(["", "0.02", "0.5"])),
                state=unread,
                places=draw(st.sampled_from([("track", "spar"), ("track", "rib")])),
            )
        )
    return found
