"""Route files: every problem at once, each with its line; what is good comes out exact."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, CriterionStatus, Expected, Limit
from fieldtui.core.plan.tables import Criterion, Instrument
from fieldtui.errors import BadInputError, Problem
from fieldtui.files.route.checks import check_sense
from fieldtui.files.route.file import check_route, load_route, name_refusal
from fieldtui.files.route.mapping import map_route
from fieldtui.files.route.schema import PER_POINT, DefaultsModel, PointModel, RouteModel
from fieldtui.files.toml.schema import Findings
from fieldtui.files.toml.schemas import make_schema
from fieldtui.files.toml.strict import keys_of
from fieldtui.files.toml.text import TomlText


def mohm(text: str) -> Resistance:
    return Resistance(Decimal(text), Unit.MOHM)


CRITERIA = {
    "frame": Criterion(
        "frame",
        "Frame",
        Limit(maximum=mohm("2.5"), upper=Comparator.LESS, criterion="frame", status=CriterionStatus.QUOTED),
    ),
    "doubtful": Criterion(
        "doubtful",
        "Doubtful",
        Limit(maximum=mohm("10"), criterion="doubtful", source="A book", status=CriterionStatus.UNVERIFIED),
    ),
}

HEAD = """\
format = 1
title = "Wing"
asset = "twin"
unit = "mohm"
"""
SECTION = '[[sections]]\nid = "S"\ntitle = "Section"\n'


def point(more: str = "limit = { max = 2.5 }", name: str = "P1", section: str = "S") -> str:
    return f'[[points]]\nid = "{name}"\nsection = "{section}"\ntitle = "Point"\n{more}\n'


def check(text: str, name: str = "wing") -> list[Problem]:
    return check_route(text.encode(), "wing.toml", name, CRITERIA)


def one_problem(text: str) -> Problem:
    problems = check(text)
    assert len(problems) == 1, problems
    return problems[0]


def load_point(more: str, defaults: str = "") -> Limit:
    return (
        load_route((HEAD + defaults + SECTION + point(more)).encode(), "f", "wing", CRITERIA)
        .route.points[0]
        .limit
    )


def line_of(text: str, piece: str) -> int:
    return text[: text.index(piece)].count("\n") + 1


def test_every_field_reaches_the_route() -> None:
    text = (
        HEAD
        + 'revision = "B"\nsource = "invented"\ncheck_every = 5\n[defaults]\nb = "stud G4"\nrepeats = 3\n'
        + SECTION
        + point(
            'where = "zone 620"\na = "bracket"\nlimit = { max = 3.0, cmp = "<" }\nretest = { max = 2.50 }\n'
            "expected = { low = 0.8, high = 1.60 }\nconductor = { awg = 12, length_mm = 180 }\n"
            'rule = "mean"\nfamily = "jumpers"\ncondition = "flaps up"\nprepare = "clean"\n'
            'restore = "seal"\ncaution = "vent"\nat = [118.0, -12.0, 0]\npair = "P2"'
        )
        + point(
            'repeats = 1\nb = "other"\npair = "P1"\nunit = "kohm"\nlimit = { max = 10, unit = "Mohm" }', "P2"
        )
    )
    loaded = load_route(text.encode(), "wing.toml", "wing", CRITERIA)
    assert loaded.problems == ()
    route = loaded.route
    assert (route.name, route.title, route.asset, route.revision, route.source) == (
        "wing",
        "Wing",
        "twin",
        "B",
        "invented",
    )
    assert (route.unit, route.check_every) == (Unit.MOHM, 5)
    first, second = route.points
    assert first.limit == Limit(maximum=mohm("3.0"), upper=Comparator.LESS)
    assert first.retest == Limit(maximum=mohm("2.50"), upper=Comparator.LESS)  # the limit's comparator
    assert first.expected == Expected(mohm("0.8"), mohm("1.60"))
    assert first.expected.high.digits == "1.60"
    assert first.conductor is not None
    assert (first.conductor.awg, first.conductor.length_mm, first.conductor.metal) == ("12", 180, "copper")
    assert (first.where, first.a, first.b, first.repeats, first.rule) == (
        "zone 620",
        "bracket",
        "stud G4",
        3,
        "mean",
    )
    assert (first.family, first.condition, first.prepare, first.restore, first.caution) == (
        "jumpers",
        "flaps up",
        "clean",
        "seal",
        "vent",
    )
    assert first.at == (Decimal("118.0"), Decimal("-12.0"), Decimal(0))
    assert (second.b, second.repeats, second.unit) == ("other", 1, Unit.KOHM)
    assert second.limit.maximum == Resistance(Decimal(10), Unit.MEGOHM)
    assert loaded.raw["points"][0]["limit"]["max"] == Decimal("3.0")
    assert not first.unplanned


@pytest.mark.parametrize(
    ("stated", "limit"),
    [
        ("limit = { max = 3 }", Limit(maximum=mohm("3"))),
        ('limit = { max = 3, cmp = "<" }', Limit(maximum=mohm("3"), upper=Comparator.LESS)),
        ("limit = { min = 3 }", Limit(minimum=mohm("3"))),
        ('limit = { min = 3, cmp = ">" }', Limit(minimum=mohm("3"), lower=Comparator.MORE)),
        ("limit = { min = 1, max = 3 }", Limit(maximum=mohm("3"), minimum=mohm("1"))),
        (
            'limit = { min = 1, max = 3, cmp = "<" }',
            Limit(maximum=mohm("3"), minimum=mohm("1"), upper=Comparator.LESS, lower=Comparator.MORE),
        ),
        ("limit = { record_only = true }", Limit(record_only=True)),
        ('limit = { criterion = "frame" }', CRITERIA["frame"].limit),
        ('criterion = "frame"', CRITERIA["frame"].limit),
    ],
)
def test_the_forms_of_a_limit(stated: str, limit: Limit) -> None:
    assert load_point(stated) == limit


def test_a_point_s_own_limit_or_criterion_comes_before_the_defaults() -> None:
    for defaults in ("[defaults]\nlimit = { max = 9 }\n", '[defaults]\ncriterion = "doubtful"\n'):
        assert load_point("limit = { max = 3 }", defaults) == Limit(maximum=mohm("3"))
        assert load_point('criterion = "frame"', defaults) == CRITERIA["frame"].limit
    assert load_point("", "[defaults]\nlimit = { max = 9 }\n") == Limit(maximum=mohm("9"))
    assert load_point("", '[defaults]\ncriterion = "frame"\n') == CRITERIA["frame"].limit


def test_a_retest_keeps_the_comparator_of_each_bound() -> None:
    text = (
        HEAD
        + SECTION
        + point('limit = { min = 1, max = 3, cmp = "<" }\nretest = { min = 1.5, max = 2 }')
        + point('limit = { max = 3, cmp = "<" }\nretest = { max = 2, cmp = "<=" }', "P2")
    )
    first, second = load_route(text.encode(), "f", "wing", CRITERIA).route.points
    assert first.retest is not None
    assert (first.retest.upper, first.retest.lower) == (Comparator.LESS, Comparator.MORE)
    assert second.retest is not None
    assert second.retest.upper is Comparator.AT_MOST


def test_a_point_that_cannot_be_read_hides_nothing_else() -> None:
    """Title, section or id missing: duplicates, pairs, limits and conductors are looked at all the same."""
    text = (
        HEAD
        + SECTION
        + '[[points]]\nid = "P1"\nsection = "S"\nlimit = { min = 3, max = 1 }\npair = "P9"\n'
        + '[[points]]\nid = "P1"\nsection = "X"\n'
        + "conductor = { awg = 12, length_mm = 9000 }\nlimit = { max = 1 }\n"
        + '[[points]]\ntitle = "no id"\nsection = "S"\nlimit = { criterion = "nowhere" }\n'
        + point("limit = { max = 1 }", "P1")
    )
    with pytest.raises(BadInputError) as caught:
        load_route(text.encode(), "wing.toml", "wing", CRITERIA)
    found = [(problem.field, problem.what) for problem in caught.value.problems]
    fields = [field for field, _ in found]
    assert [field for field, what in found if what.endswith("is missing")] == [
        "points[0].title",
        "points[1].title",
        "points[2].id",
    ]
    assert "points[0].limit" in fields  # upside down
    assert "points[0].pair" in fields
    assert fields.count("points[1].id") == fields.count("points[3].id") == 1  # used already
    assert "points[1].section" in fields
    assert "points[1].conductor" in fields
    assert any(field.startswith("points[2].limit") for field in fields)
    assert not any("unnamed" in problem.what + problem.remedy for problem in caught.value.problems)


METERS = {
    "coarse": Instrument("coarse", "", accuracy=Accuracy(Decimal(1), mohm("0.1"), resolution=mohm("0.1"))),
    "untold": Instrument("untold", "nothing is stated of it"),
}


def test_limits_that_no_meter_can_tell_are_warnings() -> None:
    text = HEAD + SECTION + point("limit = { max = 0.2 }", "P1") + point("limit = { max = 2.5 }", "P2")
    (found,) = check_route(text.encode(), "wing.toml", "wing", CRITERIA, METERS)
    assert (found.field, found.severity) == ("points[0].limit", "warning")
    for words in ("coarse", "one step is 0.1 ", "at 0.2 mΩ", "U (k = 2) is 0.12"):
        assert words in found.what, found.what
    assert "1/10" in found.remedy and "1/4" in found.remedy
    assert check_route(text.encode(), "wing.toml", "wing", CRITERIA) == []
    untold = {"untold": METERS["untold"]}
    assert check_route(text.encode(), "wing.toml", "wing", CRITERIA, untold) == []


def test_everything_wrong_is_said_at_once_in_the_file_s_order() -> None:
    text = (
        HEAD.replace('title = "Wing"', 'title = "W\\u202e"')
        + "colour = 1\n[defaults]\nid = 3\nb = 4\n"
        + SECTION
        + point('limt = { max = 1 }\npair = "P9"', "P 1")
        + point('limit = { max = 1, min = 2 }\nrepeats = 0\npair = "P3"', "P2", "T")
        + point('limit = { max = -1 }\nretest = { max = "2" }\nunit = "mOhm"', "P3")
        + point('limit = { max = 1, cmp = ">" }\nconductor = { awg = 12, mm2 = 2, length_mm = 1 }', "P3")
    )
    with pytest.raises(BadInputError) as caught:
        load_route(text.encode(), "wing.toml", "wing", CRITERIA)
    found = [(problem.field, problem.what) for problem in caught.value.problems]
    assert found == [
        ("title", "character \\u{202e} is not allowed"),
        ("colour", 'unknown key "colour"'),
        ("defaults.id", 'unknown key "id"'),
        ("defaults.b", "4 is not text"),
        ("points[0].limit", "the point has no limit"),
        ("points[0].id", '"P 1" cannot be an id: it has a space'),
        ("points[0].limt", 'unknown key "limt"'),
        ("points[0].pair", 'pair "P9" is not a point of the route'),
        ("points[1].section", 'section "T" is not in the route'),
        ("points[1].limit", "the window is upside down: min 2 to max 1"),
        ("points[1].repeats", "0 is not a whole number from 1 to 9"),
        ("points[1].pair", 'the pair is not mutual: "P3" names no pair'),
        ("points[2].section", 'the walk comes back to section "S" after another one'),
        ("points[2].limit.max", "-1 is negative"),
        ("points[2].retest.max", '"2" is not a number'),
        ("points[2].unit", '"mOhm" is not a known unit'),
        ("points[3].id", 'point id "P3" is already used in line 26'),
        ("points[3].limit.cmp", '">" cannot go with max'),
        ("points[3].conductor", "the conductor needs one size, awg or mm2"),
    ]
    remedies = {problem.field: problem.remedy for problem in caught.value.problems}
    assert remedies["points[0].limt"] == 'did you mean "limit"?'
    assert remedies["defaults.id"].startswith("id cannot be a default")
    lines = {problem.field: problem.line for problem in caught.value.problems}
    assert lines["points[2].retest.max"] == line_of(text, "retest = ")
    assert lines["points[3].id"] == text[: text.rindex('id = "P3"')].count("\n") + 1
    assert caught.value.where == "wing.toml:2, title"
    assert "18 problems" in caught.value.what


@pytest.mark.parametrize(
    ("more", "field", "what", "remedy"),
    [
        ("", "points[0].limit", "no limit", "give limit or criterion"),
        ("limit = {}", "points[0].limit", "no figure", "give max or min"),
        ("limit = 3", "points[0].limit", "3 stands where a table", "key = value"),
        ("limit = { max = 0 }", "points[0].limit.max", "zero", ""),
        ("limit = { max = 1e3 }", "points[0].limit.max", "exponent", "2500"),
        ("limit = { max = 1e999999999999999999999 }", "points[0].limit.max", "plain number", ""),
        ("limit = { max = nan }", "points[0].limit.max", "plain number", ""),
        ("limit = { max = true }", "points[0].limit.max", "true is not a number", ""),
        ("limit = { max = 1234567890 }", "points[0].limit.max", "more than 9 digits", ""),
        ("limit = { max = 0.1234567890 }", "points[0].limit.max", "more than 9 digits", ""),
        ("limit = { min = 2, max = 2 }", "points[0].limit", "upside down", "swap"),
        ('limit = { min = 2, cmp = "<" }', "points[0].limit.cmp", "cannot go with min", ">"),
        ('limit = { min = 2, max = 3, cmp = ">=" }', "points[0].limit.cmp", "cannot go with max", "<"),
        ('limit = { max = 2, cmp = "=<" }', "points[0].limit.cmp", "not a known comparator", "<="),
        ("limit = { max = 2, record_only = true }", "points[0].limit", "more than one kind", ""),
        ('limit = { max = 2, criterion = "frame" }', "points[0].limit", "more than one kind", ""),
        ('limit = { criterion = "frame", cmp = "<" }', "points[0].limit", "belong to max and min", ""),
        ('limit = { criterion = "fram" }', "points[0].limit.criterion", '"fram" is not', '"frame"'),
        ('criterion = "xyz"', "points[0].criterion", '"xyz" is not', "doubtful, frame"),
        ("limit = { max = 2, mx = 3 }", "points[0].limit.mx", 'unknown key "mx"', '"max"'),
        ("limit = {max = 2}\nexpected = {low = 2, high = 1}", "points[0].expected", "upside down", "swap"),
        ("limit = {max = 2}\nexpected = {low = 2}", "points[0].expected.high", "high is missing", "add it"),
        ("limit = {max = 2}\nretest = {min = 2, max = 1}", "points[0].retest", "upside down", "swap"),
        ("limit = {max = 2}\nrepeats = 1.0", "points[0].repeats", "not a whole number", ""),
        ('limit = {max = 2}\nrule = "median "', "points[0].rule", "not a known rule", "max, mean, median"),
        ("limit = {max = 2}\nat = [1, 2]", "points[0].at", "three numbers", "x, y and z"),
        ('limit = {max = 2}\nunit = "MOHM"', "points[0].unit", "not a known unit", "Mohm"),
        ('limit = {max = 2}\npair = "P1"', "points[0].pair", "with itself", "other side"),
        ('limit = {max = 2}\npair = "Q1"', "points[0].pair", "not a point of the route", ""),
        (
            "limit = {max = 2}\nconductor = {awg = 41, length_mm = 1}",
            "points[0].conductor.awg",
            "not an AWG size",
            "4/0",
        ),
        (
            'limit = {max = 2}\nconductor = {awg = 9, length_mm = 1, metal = "tin"}',
            "points[0].conductor.metal",
            "not a known metal",
            "copper",
        ),
        ("limit = {max = 2}\nconductor = {length_mm = 1}", "points[0].conductor", "one size", ""),
        ('limit = {max = 2}\nwhere = "a\\tb"', "points[0].where", "\\u{9}", "take it out"),
        ('limit = {max = 2}\nwhere = "a\\nb"', "points[0].where", "line break", "one line"),
        (f'limit = {{max = 2}}\nwhere = "{"x" * 501}"', "points[0].where", "at most 500", "shorten"),
    ],
)
def test_one_error(more: str, field: str, what: str, remedy: str) -> None:
    text = HEAD + SECTION + point(more)
    problem = one_problem(text)
    assert problem.severity == "error"
    assert problem.field == field
    assert what in problem.what
    assert remedy in problem.remedy
    assert problem.line is not None
    assert problem.line >= line_of(text, "[[points]]")
    with pytest.raises(BadInputError):
        load_route(text.encode(), "wing.toml", "wing", CRITERIA)


def test_a_conductor_too_long_for_the_limit_is_named_with_its_resistance() -> None:
    # AWG 18, 12 inch: 6.385 mohm by ASTM B258 and 1/58 ohm mm2/m (computed)
    conductor = "conductor = { awg = 18, length_mm = 304.8 }"
    problem = one_problem(HEAD + SECTION + point(f'criterion = "frame"\n{conductor}'))
    assert problem.severity == "error"
    assert problem.field == "points[0].conductor"
    assert "6.385 mΩ" in problem.what
    assert "< 2.5 mΩ" in problem.what
    assert check(HEAD + SECTION + point(f"limit = {{ max = 6.4 }}\n{conductor}")) == []
    retest = one_problem(
        HEAD + SECTION + point(f"limit = {{ max = 7 }}\nretest = {{ max = 5 }}\n{conductor}")
    )
    assert "retest limit" in retest.what


def test_a_conductor_just_on_the_limit_heeds_the_comparator() -> None:
    # 58 mm2 and 1 m of copper: 1/58 / 58 ohm; 1/58 ohm mm2/m makes 145 mm at 1 mm2 exactly 2.5 mohm
    conductor = "conductor = { mm2 = 1, length_mm = 145 }"
    assert check(HEAD + SECTION + point(f"limit = {{ max = 2.5 }}\n{conductor}")) == []
    assert "can never meet" in one_problem(HEAD + SECTION + point(f'criterion = "frame"\n{conductor}')).what


@pytest.mark.parametrize(
    ("text", "field", "what"),
    [
        (SECTION + '[[sections]]\nid = "T"\ntitle = "T"\n' + point(), "sections[1]", "has no points"),
        (
            SECTION
            + '[[sections]]\nid = "T"\ntitle = "T"\n'
            + point(name="P1")
            + point(name="P2", section="T")
            + point(name="P3"),
            "points[2].section",
            "comes back to section",
        ),
        (
            SECTION + point("limit = { max = 2 }\nexpected = { low = 2.1, high = 3 }"),
            "points[0].expected",
            "outside the limit",
        ),
        (
            SECTION + point("limit = { min = 5 }\nexpected = { low = 2.1, high = 3 }"),
            "points[0].expected",
            "outside the limit",
        ),
        (SECTION + point("limit = { max = 2 }\nretest = { max = 2.1 }"), "points[0].retest", "looser"),
        (SECTION + point("limit = { min = 2 }\nretest = { min = 1.9 }"), "points[0].retest", "looser"),
        (SECTION + point("limit = { min = 2, max = 3 }\nretest = { max = 3 }"), "points[0].retest", "looser"),
        (
            SECTION + point('limit = { max = 2, cmp = "<" }\nretest = { max = 2, cmp = "<=" }'),
            "points[0].retest",
            "looser",
        ),
        (
            SECTION + point('limit = { max = 3, cmp = "<" }\nretest = { max = 2, cmp = "<=" }'),
            "points[0].retest",
            "<= 2 mΩ is compared otherwise than the limit < 3 mΩ",
        ),
        (
            SECTION + point('limit = { min = 1, cmp = ">" }\nretest = { min = 2, cmp = ">=" }'),
            "points[0].retest",
            "compared otherwise",
        ),
        (SECTION + point('criterion = "doubtful"'), "points[0].criterion", "unverified"),
    ],
)
def test_a_warning_does_not_stop_the_walk(text: str, field: str, what: str) -> None:
    loaded = load_route((HEAD + text).encode(), "wing.toml", "wing", CRITERIA)
    assert [(problem.severity, problem.field) for problem in loaded.problems] == [("warning", field)]
    assert what in loaded.problems[0].what
    assert loaded.problems[0].remedy


def test_a_default_s_problem_is_said_once_where_it_stands() -> None:
    text = HEAD + '[defaults]\ncriterion = "doubtful"\nexpected = { low = 3, high = 1 }\n' + SECTION
    text += point("") + point("", "P2")
    assert [(problem.field, problem.line) for problem in check(text)] == [
        ("defaults.criterion", 6),
        ("defaults.expected", 7),
    ]


def test_a_broken_limit_is_not_called_a_missing_one() -> None:
    text = HEAD + "[defaults]\nlimit = { max = -2 }\n" + SECTION + point("") + point("limit = 3", "P2")
    assert [problem.field for problem in check(text)] == ["defaults.limit.max", "points[1].limit"]


@pytest.mark.parametrize(
    ("text", "field", "what"),
    [
        (HEAD, "points", "no points"),
        (HEAD + "points = []\n", "points", "no points"),
        (HEAD + 'points = "P1"\n', "points", "a list is wanted"),
        (HEAD + "sections = [3]\n" + point(), "sections[0]", "a table is wanted"),
        (HEAD.replace("format = 1", "format = 2") + SECTION + point(), "format", "format 2 is not known"),
        (HEAD.replace('unit = "mohm"', "") + SECTION + point(), "unit", "unit is missing"),
        (HEAD.replace('unit = "mohm"', 'unit = "Ohm"') + SECTION + point(), "unit", "not a known unit"),
        (HEAD + "check_every = -1\n" + SECTION + point(), "check_every", "whole number from 0"),
        (HEAD + SECTION + SECTION + point(), "sections[1].id", "already used in line 6"),
        ("x", "", "without ="),
    ],
)
def test_errors_of_the_file_as_a_whole(text: str, field: str, what: str) -> None:
    found = {problem.field: problem.what for problem in check(text) if problem.severity == "error"}
    assert what in found[field]


@pytest.mark.parametrize("name", ["wing", "SW-07_b.2", "console", "x" * 40, "com10"])
def test_names_that_work_everywhere(name: str) -> None:
    assert name_refusal(name) is None


@pytest.mark.parametrize(
    "name",
    [
        *("", "con", "CON", "nul.old", "COM1", "lpt9.x", "a.", ".a", "..", "a b", "a/b", "a\\b", "a:b"),
        *("a*", "x" * 41, "é", "a\x00", "a<", 'a"', "a|", "a?"),
    ],
)
def test_names_that_do_not(name: str) -> None:
    assert name_refusal(name)
    problems = check(HEAD + SECTION + point(), name)
    assert ["cannot be a route's name" in problem.what for problem in problems] == [True]


def test_in_a_large_file_every_slip_is_told() -> None:
    text = HEAD + SECTION + "".join(point('x = 1\npair = "Q"', f"P{number}", "T") for number in range(2000))
    problems = check(text)
    assert sum(problem.field.endswith(".x") for problem in problems) == 2000
    assert all(problem.remedy for problem in problems)


def test_text_is_stored_composed() -> None:
    text = HEAD.replace("Wing", "Cafe\u0301") + SECTION + point()
    assert load_route(text.encode(), "f", "wing", CRITERIA).route.title == "Caf\u00e9"


def test_hostile_keys_are_shown_as_codes() -> None:
    problem = one_problem(HEAD + '"\\u001b[2J" = 1\n' + SECTION + point())
    assert problem.what == 'unknown key "\\u{1b}[2J"'
    assert "\x1b" not in problem.field + problem.remedy


def test_a_missing_table_of_criteria_is_said() -> None:
    text = HEAD + SECTION + point('criterion = "frame"')
    (problem,) = check_route(text.encode(), "f", "wing", {})
    assert "empty or missing" in problem.remedy


def test_the_format_can_be_handed_out_as_a_json_schema() -> None:
    schema = make_schema("route")
    assert set(schema["required"]) == {"format", "title", "asset", "unit"}
    assert schema["additionalProperties"] is False


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5) | st.decimals(allow_nan=True),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["id", "limit", "max", "min", "cmp", "points", "sections", "section", "unit", "x"]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=10,
)


@settings(max_examples=200, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["format", "title", "unit", "defaults", "sections", "points", "y"]), ANYTHING
    )
)
def test_no_shape_of_data_escapes_as_another_error(document: dict[str, object]) -> None:
    findings = Findings(TomlText("f", {}, {}))
    placed = map_route(document, "wing", CRITERIA, findings)
    check_sense(placed, findings)
    assert placed.route is None
    assert findings.has_errors


@settings(max_examples=100, deadline=None)
@given(st.decimals(Decimal("0.001"), Decimal(999_999), places=3))
def test_a_figure_keeps_its_digits(figure: Decimal) -> None:
    limit = load_point(f"limit = {{ max = {figure:f} }}")
    assert limit.maximum is not None
    assert limit.maximum.digits == f"{figure:f}"


@pytest.mark.parametrize(
    ("where", "key", "remedy"),
    [
        ("points[0]", "readings", 'did you mean "repeats"?'),
        ("defaults", "readings", 'did you mean "repeats"?'),
        ("points[0]", "location", 'did you mean "where"?'),
        ("points[0]", "max", "write it inside the limit, such as limit = { max = 2.5 }"),
        ("points[0]", "test_current", 'did you mean "current_ma"?'),
        ("defaults", "at", "at cannot be a default: give it in each point"),
        ("", "repeats", "repeats belongs to a point: give it there, or to all in [defaults]"),
        ("", "aircraft", 'did you mean "asset"?'),
        ("", "name", "the route's name is that of its file; title is what people call it"),
    ],
)
def test_a_key_under_another_name_is_told_with_ours(where: str, key: str, remedy: str) -> None:
    line = f"{key} = 3\n"
    top, of_defaults, of_point = (line if where == part else "" for part in ("", "defaults", "points[0]"))
    text = top + HEAD + f"[defaults]\n{of_defaults}" + SECTION + point("limit = { max = 1 }\n" + of_point)
    problems = check_route(text.encode(), "wing.toml", "wing", CRITERIA)
    assert [(each.field, each.what) for each in problems if each.severity == "error"] == [
        (f"{where}.{key}".removeprefix("."), f'unknown key "{key}"')
    ]
    assert problems[0].remedy == remedy


def test_every_other_name_is_none_of_ours_and_leads_to_one_of_ours() -> None:
    for model in (DefaultsModel, PointModel, RouteModel):
        assert not set(model.elsewhere) & set(keys_of(model))
        meant = {word for remedy in model.elsewhere.values() for word in re.findall('mean "(.*)"', remedy)}
        assert meant <= {*keys_of(model), *PER_POINT}
