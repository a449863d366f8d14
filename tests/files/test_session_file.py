"""session.toml comes back exactly, alone, and its field names do not change."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, CriterionStatus, Limit
from fieldtui.core.plan.session import Crew, Session
from fieldtui.core.plan.tables import Caution, CheckStandard, Criterion, Instrument, Reasons
from fieldtui.core.text import normal, refusal
from fieldtui.core.verdict.judging import Verdict, judge_ohms
from fieldtui.errors import BadInputError
from fieldtui.files.route.file import RouteFile, load_route
from fieldtui.files.session.file import freeze_session, parse_session

ROUTE = """\
format = 1
title = "Wing"
asset = "twin"
unit = "mohm"

[defaults]
criterion = "frame"

[[sections]]
id = "S"
title = "Section"

[[points]]
id = "P1"
section = "S"
title = "Strap"
retest = { max = 2 }
conductor = { awg = "1/0", length_mm = 180 }
at = [1, -2.50, 0.0]

[[points]]
id = "P2"
section = "S"
title = "Stud"
limit = { criterion = "window" }
"""


def ohms(text: str, unit: Unit = Unit.MOHM) -> Resistance:
    return Resistance(Decimal(text), unit)


def criterion(name: str, **limit: Any) -> Criterion:
    full = Limit(criterion=name, source="A book", status=CriterionStatus.QUOTED, **limit)
    return Criterion(name, name.title(), full, "7")


CRITERIA = {
    "frame": criterion("frame", maximum=ohms("2.50"), upper=Comparator.LESS),
    "window": criterion(
        "window", maximum=ohms("3"), minimum=ohms("1"), upper=Comparator.LESS, lower=Comparator.MORE
    ),
    "unused": criterion("unused", minimum=ohms("1")),
}
INSTRUMENT = Instrument(
    id="m1",
    title="Meter",
    serial="7",
    unit=Unit.MOHM,
    memory_size=60,
    first_number=0,
    calibration_due=date(2029, 3, 31),
    auto_off_s=300,
    check_standard=CheckStandard(ohms("2.500"), ohms("0.05"), "lid"),
)


def loaded_route(text: str = ROUTE) -> RouteFile:
    return load_route(text.encode(), "wing.toml", "wing", CRITERIA)


CAUTION = Caution(
    "static",
    "Static first",
    "Discharge static from yourself and from the item before the probes touch, each time you come back.",
)
LOADED = loaded_route()
NAMED = {name: CRITERIA[name] for name in ("frame", "window")}  # by the route
SESSION = Session(
    id="2026-05-01_twin_wing_01",
    program="fieldtui 0.1.0",
    started=datetime(2026, 5, 1, 9, 30, 1, tzinfo=UTC),
    job="J-1",
    crew=Crew("Ada", "Ben"),
    instrument=INSTRUMENT,
    route=LOADED.route,
    reasons=Reasons({"skip": ("panel closed",), "attempt": ("open", "over range")}),
    cautions=(CAUTION,),
    first_link="0123456789abcdef" * 2,
    ambient_c=Decimal("21.50"),
    criteria=NAMED,
)

GOLDEN = """\
format = 1
id = "2026-05-01_twin_wing_01"
program = "fieldtui 0.1.0"
started = 2026-05-01 09:30:01+00:00
job = "J-1"
practice = false
ambient_c = 21.50
transcribed_from = ""
follows = ""
chain = "0123456789abcdef0123456789abcdef"

[crew]
prober = "Ada"
recorder = "Ben"

[instrument]
id = "m1"
title = "Meter"
serial = "7"
unit = "mohm"
memory_size = 60
first_number = 0
auto_off_s = 300
calibration_due = 2029-03-31

[instrument.check_standard]
value = 2.500
tolerance = 0.05
unit = "mohm"
title = "lid"

[criteria.frame]
title = "Frame"
max = 2.50
cmp = "<"
unit = "mohm"
source = "A book"
clause = "7"
status = "quoted"

[criteria.window]
title = "Window"
max = 3
min = 1
cmp = "<"
unit = "mohm"
source = "A book"
clause = "7"
status = "quoted"

[reasons]
skip = [
    "panel closed",
]
attempt = [
    "open",
    "over range",
]

[[cautions]]
id = "static"
title = "Static first"
text = "Discharge static from yourself and from the item before the probes touch, each time you come back."

[route]
name = "wing"
format = 1
title = "Wing"
asset = "twin"
unit = "mohm"
sections = [
    { id = "S", title = "Section" },
]

[route.defaults]
criterion = "frame"

[[route.points]]
id = "P1"
section = "S"
title = "Strap"
at = [
    1,
    -2.50,
    0.0,
]

[route.points.retest]
max = 2

[route.points.conductor]
awg = "1/0"
length_mm = 180

[[route.points]]
id = "P2"
section = "S"
title = "Stud"

[route.points.limit]
criterion = "window"
"""


def digits(session: Session) -> list[str]:
    """Every figure as text: equality of Decimals does not look at trailing zeros."""
    return [piece for piece in repr(session).replace("(", " ").replace(")", " ").split() if "'" in piece]


def test_the_field_names_of_session_toml() -> None:
    assert freeze_session(SESSION, LOADED.raw, CRITERIA)[0].decode() == GOLDEN


def test_what_is_written_comes_back() -> None:
    back = parse_session(GOLDEN.encode(), "session.toml")
    assert back == SESSION
    assert digits(back) == digits(SESSION)
    assert freeze_session(back, LOADED.raw, CRITERIA)[0].decode() == GOLDEN


def test_it_can_be_judged_from_with_nothing_else_at_hand() -> None:
    first, second = parse_session(GOLDEN.encode(), "session.toml").route.points
    assert judge_ohms(first.limit, ohms("2.500").ohms) is Verdict.FAIL
    assert judge_ohms(first.limit, ohms("2.499").ohms) is Verdict.PASS
    assert judge_ohms(second.limit, ohms("1.000").ohms) is Verdict.FAIL
    assert first.limit.source == "A book"
    assert first.retest == Limit(maximum=ohms("2"), upper=Comparator.LESS)


def test_only_the_criteria_the_route_names_are_kept() -> None:
    assert b"unused" not in freeze_session(SESSION, LOADED.raw, CRITERIA)[0]


def test_the_start_is_kept_in_utc() -> None:
    east = SESSION.started.astimezone(timezone(timedelta(hours=5, minutes=30)))
    back = parse_session(freeze_session(replace(SESSION, started=east), LOADED.raw, CRITERIA)[0], "s")
    assert back.started == SESSION.started
    assert back.started.tzinfo is UTC


def test_a_fact_that_could_not_be_read_again_is_not_written() -> None:
    spoilt = replace(SESSION, job="J\x1b[2J", first_link="none")
    with pytest.raises(BadInputError) as caught:
        freeze_session(spoilt, LOADED.raw, CRITERIA)
    assert [problem.field for problem in caught.value.problems] == ["job", "chain"]


@pytest.mark.parametrize(
    ("old", "new", "field", "line"),
    [
        ("format = 1\nid", "format = 2\nid", "format", 1),
        ("started = 2026-05-01 09:30:01+00:00", "started = 2026-05-01 09:30:01", "started", 4),
        ("started = 2026-05-01 09:30:01+00:00", "started = 2026-05-01", "started", 4),
        ("started = 2026-05-01 09:30:01+00:00", "started = 9999-12-31 23:59:59-23:59", "started", 4),
        ('id = "2026-05-01_twin_wing_01"', 'id = "../x"', "id", 2),
        ("practice = false\n", "", "practice", None),
        ('cdef"', 'cdeg"', "chain", 10),
        ("[crew]", "[crew]\ncaptain = 1", "crew.captain", 13),
        ('title = "lid"', 'title = "lid"\ncolour = "red"', "instrument.check_standard.colour", 31),
        ('cmp = "<"', 'cmp = ">"', "criteria.frame.cmp", 35),
        ('name = "wing"', 'name = "CON"', "route.name", 66),
        ('id = "P2"', 'id = "P1"', "route.points[1].id", 96),
        ("[criteria.frame]", "[criteria.farm]", "route.defaults.criterion", 76),
        ("max = 2\n", "max = -2\n", "route.points[0].retest.max", 89),
    ],
)
def test_a_changed_file_is_refused_with_the_place(old: str, new: str, field: str, line: int | None) -> None:
    with pytest.raises(BadInputError) as caught:
        parse_session(GOLDEN.replace(old, new, 1).encode(), "session.toml")
    problem = next(problem for problem in caught.value.problems if problem.field == field)
    assert problem.line == line
    assert problem.file == "session.toml"


WORDS = st.text(max_size=30).filter(lambda text: refusal(text) is None).map(normal)
FIGURES = st.decimals("0.001", "99999", places=3) | st.integers(1, 99_999).map(Decimal)
OHMS = FIGURES.map(lambda figure: Resistance(figure, Unit.OHM))
STANDARDS = st.builds(CheckStandard, OHMS, OHMS, WORDS)


@settings(max_examples=100, deadline=None)
@given(
    job=WORDS,
    crew=st.builds(Crew, WORDS, WORDS),
    practice=st.booleans(),
    ambient=st.none() | st.decimals(-60, 60, places=2) | st.integers(-60, 60).map(Decimal),
    started=st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    figure=FIGURES,
    standard=st.none() | STANDARDS,
    memory=st.integers(0, 99_999),
)
def test_any_session_comes_back_with_its_digits(
    job: str,
    crew: Crew,
    practice: bool,
    ambient: Decimal | None,
    started: datetime,
    figure: Decimal,
    standard: CheckStandard | None,
    memory: int,
) -> None:
    text = ROUTE.replace("-2.50", f"{figure:f}")
    criteria = {**CRITERIA, "frame": criterion("frame", maximum=Resistance(figure, Unit.KOHM))}
    loaded = load_route(text.encode(), "wing.toml", "wing", criteria)
    session = replace(
        SESSION,
        job=job,
        crew=crew,
        practice=practice,
        ambient_c=ambient,
        started=started,
        transcribed_from=job,
        follows=job,
        route=loaded.route,
        criteria={name: criteria[name] for name in NAMED},
        instrument=replace(INSTRUMENT, check_standard=standard, memory_size=memory, calibration_due=None),
    )
    back = parse_session(freeze_session(session, loaded.raw, criteria)[0], "session.toml")
    assert back == session
    assert digits(back) == digits(session)


def test_how_long_the_meter_takes_to_settle_is_kept_with_the_session() -> None:
    slow = replace(SESSION, instrument=replace(SESSION.instrument, settle_s=8))
    data = freeze_session(slow, LOADED.raw, CRITERIA)[0]
    assert b"settle_s = 8" in data
    assert parse_session(data, "session.toml").instrument.settle_s == 8
