"""Decision rules, paths, methods and temperature as routes, tables and sessions state them."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator
from fieldtui.core.plan.session import Crew, Session
from fieldtui.core.plan.tables import Instrument, Reasons
from fieldtui.errors import BadInputError
from fieldtui.files.route.file import RouteFile, check_route, load_route
from fieldtui.files.session.file import freeze_session, parse_session
from fieldtui.files.tables.tables import CRITERIA, INSTRUMENTS, load_tables

HEAD = 'format = 1\ntitle = "Wing"\nasset = "twin"\nunit = "mohm"\n'
SECTION = '[[sections]]\nid = "S"\ntitle = "Section"\n'
TABLES = {
    CRITERIA: b"""
format = 1
[criteria.plain]
title = "Plain"
max = 3.0
cmp = "<="
unit = "mohm"
source = "A book"
status = "own"

[criteria.strict]
title = "Strict"
max = 2.5
cmp = "<"
unit = "mohm"
source = "A book"
status = "unverified"
decision = "guarded"
guard = 0.83
""",
    INSTRUMENTS: b"""
format = 1
[instruments.meter]
title = "Meter"
unit = "mohm"
accuracy = { percent = 0.5, floor = 0.020, resolution = 0.01 }
""",
}
READ = load_tables(TABLES.get)
GUARDED, FOUR = DecisionRule(RuleKind.GUARDED), DecisionRule(RuleKind.FOUR_STATES)
STRICT = DecisionRule(RuleKind.GUARDED, Decimal("0.83"))


def point(more: str, name: str = "P1") -> str:
    return f'[[points]]\nid = "{name}"\nsection = "S"\ntitle = "Strap"\n{more}\n'


def load(text: str) -> RouteFile:
    return load_route(text.encode(), "wing.toml", "wing", READ.criteria)


def rule_of(more: str, top: str = "", defaults: str = "") -> DecisionRule:
    (only,) = load(HEAD + top + defaults + SECTION + point(more)).route.points
    return only.limit.rule


@pytest.mark.parametrize(
    ("more", "top", "defaults", "rule"),
    [
        ("limit = { max = 2.5 }", "", "", DecisionRule()),
        ("limit = { max = 2.5 }", 'decision = "guarded"\n', "", GUARDED),
        ("limit = { max = 2.5 }", 'decision = "guarded"\n', '[defaults]\ndecision = "four-state"\n', FOUR),
        ('criterion = "plain"', "", '[defaults]\ndecision = "four-state"\n', FOUR),
        ('criterion = "strict"', "", '[defaults]\ndecision = "four-state"\n', STRICT),
        ('criterion = "strict"\ndecision = "four-state"', "", "", FOUR),
        ('limit = { criterion = "strict", decision = "simple" }', "", "", DecisionRule()),
        ('limit = { criterion = "strict" }\ndecision = "four-state"', "", "", FOUR),
        ('limit = { max = 2.5, decision = "guarded", guard = 0.83 }\ndecision = "simple"', "", "", STRICT),
        ("limit = { record_only = true }", 'decision = "guarded"\n', "", DecisionRule()),
    ],
)
def test_the_nearest_rule_is_in_force(more: str, top: str, defaults: str, rule: DecisionRule) -> None:
    assert rule_of(more, top, defaults) == rule


@pytest.mark.parametrize(
    ("retest", "rule"),
    [
        ("max = 2.0", FOUR),
        ('max = 2.0, decision = "simple"', DecisionRule()),
        ('criterion = "strict"', STRICT),
    ],
)
def test_a_retest_is_judged_by_the_rule_of_its_limit_unless_it_has_its_own(
    retest: str, rule: DecisionRule
) -> None:
    text = point(f'limit = {{ max = 2.5, decision = "four-state" }}\nretest = {{ {retest} }}')
    (only,) = load(HEAD + SECTION + text).route.points
    assert only.retest is not None
    assert only.retest.rule == rule


def test_a_retest_after_what_is_only_recorded_is_judged_by_the_rule_of_the_route() -> None:
    text = point("limit = { record_only = true }\nretest = { max = 2.5 }")
    (only,) = load(HEAD + 'decision = "guarded"\n' + SECTION + text).route.points
    assert only.retest is not None
    assert (only.limit.rule, only.retest.rule) == (DecisionRule(), GUARDED)


@pytest.mark.parametrize(
    ("more", "field", "what"),
    [
        ("limit = { max = 2.5, guard = 1 }", "points[0].limit.guard", "guard without decision"),
        (
            'limit = { max = 2.5, decision = "simple", guard = 1 }',
            "points[0].limit.guard",
            "simple acceptance has no guard band",
        ),
        ('limit = { max = 2.5 }\ndecision = "lenient"', "points[0].decision", "not a known decision rule"),
        ('limit = { max = 2.5 }\nmethod = "reversed"\nrepeats = 3', "points[0].repeats", "says by itself"),
        ('limit = { max = 2.5 }\nmethod = "twice"', "points[0].method", "not a known method"),
    ],
)
def test_what_cannot_be_meant_is_named(more: str, field: str, what: str) -> None:
    (problem,) = check_route((HEAD + SECTION + point(more)).encode(), "wing.toml", "wing", READ.criteria)
    assert (problem.field, problem.severity) == (field, "error")
    assert what in problem.what
    assert problem.remedy


def test_methods_say_how_readings_are_taken() -> None:
    first, second, third = load(
        HEAD + "[defaults]\nrepeats = 4\n" + SECTION
        + point('limit = { max = 2.5 }\nmethod = "reversed"')
        + point('limit = { max = 2.5 }\nmethod = "three-reading"', "P2")
        + point("limit = { max = 2.5 }", "P3")
    ).route.points  # fmt: skip
    assert (first.repeats, first.rule) == (2, "mean")
    assert (second.repeats, second.rule) == (3, "drift-free")
    assert (third.repeats, third.rule, third.method) == (4, "max", "single")


# --- paths ---------------------------------------------------------------------------------------


def path(points: str, limit: str = "max = 10") -> str:
    return f'[[paths]]\nid = "A"\ntitle = "Flap to keel"\npoints = [{points}]\nlimit = {{ {limit} }}\n'


TWO = HEAD + SECTION + point("limit = { max = 2.5 }") + point("limit = { max = 2.5 }", "P2")


def test_a_path_reaches_the_route() -> None:
    (one,) = load(TWO + path('"P1", "P2"', 'max = 10, cmp = "<", decision = "guarded"')).route.paths
    assert (one.id, one.title, one.points) == ("A", "Flap to keel", ("P1", "P2"))
    assert one.limit.maximum == Resistance(Decimal(10), Unit.MOHM)
    assert (one.limit.upper, one.limit.rule) == (Comparator.LESS, GUARDED)


@pytest.mark.parametrize(
    ("text", "field", "what"),
    [
        (path('"P1", "P9"'), "paths[0].points[1]", 'point "P9" is not in the route'),
        (path('"P1", "P2", "P1"'), "paths[0].points[2]", 'point "P1" stands twice in the path'),
        (path(""), "paths[0].points", "the path has no points"),
        (path('"P1"') + path('"P2"'), "paths[1].id", 'path id "A" is already used in line'),
        (path('"P1"', "max = 10, min = 20"), "paths[0].limit", "upside down"),
        (path('"P1"', 'criterion = "strict"'), "paths[0].limit", "unverified"),
    ],
)
def test_what_is_wrong_with_a_path_is_named(text: str, field: str, what: str) -> None:
    (problem,) = check_route((TWO + text).encode(), "wing.toml", "wing", READ.criteria)
    assert problem.field == field
    assert what in problem.what
    assert problem.line is not None


# --- sessions ------------------------------------------------------------------------------------


def session_of(loaded: RouteFile, **facts: Decimal | Instrument) -> Session:
    session = Session(
        id="2026-05-04_twin_wing_01",
        program="fieldtui 0",
        started=datetime(2026, 5, 4, 8, 30, tzinfo=UTC),
        job="WO-1",
        crew=Crew("Ben", "Ana"),
        instrument=READ.instruments["meter"],
        route=loaded.route,
        reasons=Reasons({}),
        cautions=(),
        first_link="0" * 32,
        **facts,  # type: ignore[arg-type]
    )
    return parse_session(freeze_session(session, loaded.raw, READ.criteria)[0], "session.toml")


def test_a_session_keeps_accuracy_rules_and_paths() -> None:
    loaded = load(TWO + point('criterion = "strict"', "P3") + path('"P1"', 'criterion = "plain"'))
    back = session_of(loaded)
    assert back.instrument.accuracy == Accuracy(
        Decimal("0.5"), Resistance(Decimal("0.020"), Unit.MOHM), Resistance(Decimal("0.01"), Unit.MOHM)
    )
    assert back.instrument.accuracy is not None
    assert back.instrument.accuracy.floor.digits == "0.020"
    assert back.route == loaded.route
    assert back.route.by_id["P3"].limit.rule == STRICT


def test_the_route_of_a_session_knows_the_temperature_where_a_point_asks_for_it() -> None:
    plain = load(TWO)
    asked = load(HEAD + "correct_to_20 = true\n" + SECTION + point("limit = { max = 2.5 }"))
    ambient, own = Decimal("21.5"), Decimal("35.0")
    assert session_of(plain, ambient_c=ambient).route.celsius is None
    assert session_of(asked, ambient_c=ambient).route.celsius == ambient
    assert session_of(asked, ambient_c=ambient, conductor_c=own).route.celsius == own
    assert session_of(asked, conductor_c=own).conductor_c == own
    assert session_of(asked).route == asked.route


def test_a_point_may_be_judged_as_measured_on_a_route_that_corrects() -> None:
    text = HEAD + "correct_to_20 = true\n" + SECTION
    text += point("limit = { max = 2.5 }") + point("limit = { max = 2.5 }\ncorrect_to_20 = false", "P2")
    assert [one.correct_to_20 for one in load(text).route.points] == [True, False]


def test_a_meter_with_half_an_accuracy_is_refused() -> None:
    tables = {**TABLES, INSTRUMENTS: TABLES[INSTRUMENTS].replace(b"floor = 0.020, ", b"")}
    with pytest.raises(BadInputError) as refused:
        load_tables(tables.get)
    assert [problem.field for problem in refused.value.problems] == ["instruments.meter.accuracy.floor"]
