"""An unplanned point written into one cell and read back, and every cell that is no such point."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.decision import SIMPLE, DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.inserted import (
    NotADefinitionError,
    format_definition,
    format_limit,
    like,
    parse_definition,
    parse_limit,
)
from fieldtui.core.plan.route import (
    METHOD_READINGS,
    METHOD_RULES,
    RECORD_ONLY,
    Comparator,
    CriterionStatus,
    Limit,
    Metal,
    Method,
    Rule,
)
from fieldtui.core.text import normal
from tests.core.walks import point
from tests.strategies import clean_texts, limits, units


@pytest.mark.parametrize(
    ("text", "limit"),
    [
        ("<= 2.5 mohm", Limit(maximum=parse_resistance("2.5", Unit.MOHM))),
        ("<=2.5mohm", Limit(maximum=parse_resistance("2.5", Unit.MOHM))),
        ("2.50", Limit(maximum=parse_resistance("2.50", Unit.OHM))),
        ("< 950 uohm", Limit(maximum=parse_resistance("950", Unit.UOHM), upper=Comparator.LESS)),
        ("> 1 Mohm", Limit(minimum=parse_resistance("1", Unit.MEGOHM), lower=Comparator.MORE)),
        (
            ">= 1 Mohm and <= 10 Mohm",
            Limit(minimum=parse_resistance("1", Unit.MEGOHM), maximum=parse_resistance("10", Unit.MEGOHM)),
        ),
        ("record only", RECORD_ONLY),
        (" ", RECORD_ONLY),
    ],
)
def test_limits_as_keyed(text: str, limit: Limit) -> None:
    assert parse_limit(text, Unit.OHM) == limit


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("good", "a limit looks like"),
        ("<= 2.5 mohm please", "a limit looks like"),
        ("<= 2.5 mohm and", "a limit looks like"),
        ("<= -1", "a limit looks like"),
        ("= 2.5", "a limit looks like"),
        ("<= 1e3", "a limit looks like"),
        ("<= 2.5 MOHM", "is not one of uohm, mohm, ohm, kohm, Mohm"),
        ("<= 2..5", "more than one point"),
        ("<= 2.", "digit missing after the point"),
        ("<= 2 mohm and <= 3 mohm", "a second upper limit"),
        ("> 2 mohm and >= 3 mohm", "a second lower limit"),
        (">= 3 mohm and <= 2 mohm", "nothing is both"),
        (">= 3 ohm and <= 2000 mohm", "nothing is both"),
        ("record", "a limit looks like"),
    ],
)
def test_what_is_no_limit_says_why(text: str, why: str) -> None:
    with pytest.raises(NotADefinitionError, match=why):
        parse_limit(text, Unit.OHM)


@given(limits(), units)
def test_every_limit_is_read_back_as_written(limit: Limit, unit: Unit) -> None:
    assert parse_limit(format_limit(limit), unit) == limit


@given(texts=st.lists(clean_texts.map(normal), min_size=5, max_size=5), limit=limits(), unit=units)
def test_every_point_is_read_back_as_written(texts: list[str], limit: Limit, unit: Unit) -> None:
    title, section, where, a, b = texts
    made = replace(
        point("X01"),
        title=title,
        section=section,
        where=where,
        a=a,
        b=b,
        limit=limit,
        unit=unit,
        unplanned=True,
    )
    written = format_definition(made)
    assert "\n" not in written
    assert parse_definition("X01", written) == made


decisions = st.builds(
    DecisionRule,
    st.sampled_from([RuleKind.GUARDED, RuleKind.FOUR_STATES]),
    st.decimals("0", "3", places=2),
) | st.just(SIMPLE)
judged_limits = st.builds(
    lambda limit, rule, status, name, source: replace(
        limit, rule=rule, status=status, criterion=name, source=source
    ),
    limits(),
    decisions,
    st.sampled_from(CriterionStatus),
    st.sampled_from(["", "class-r"]),
    clean_texts.map(normal),
)


@given(
    limit=judged_limits,
    retest=st.none() | judged_limits,
    method=st.sampled_from(list(METHOD_READINGS)),
    repeats=st.integers(1, 9),
    rule=st.sampled_from(["max", "mean", "median"]),
    metal=st.sampled_from([None, "copper", "aluminium"]),
)
def test_everything_that_a_verdict_rests_on_is_read_back_as_written(
    limit: Limit, retest: Limit | None, method: Method, repeats: int, rule: Rule, metal: Metal | None
) -> None:
    if method != "single":
        repeats, rule = METHOD_READINGS[method], METHOD_RULES[method]
    made = replace(
        point("X01"), section="", title="", limit=limit, retest=retest, method=method, repeats=repeats,
        rule=rule, correct_to_20=metal is not None, metal=metal or "copper", unplanned=True,
    )  # fmt: skip
    found = parse_definition("X01", format_definition(made))
    assert replace(found, section=made.section, title=made.title) == made


GUARDED = DecisionRule(RuleKind.GUARDED)


def test_an_unplanned_point_is_judged_like_the_one_beside_it_or_by_the_route_s_rule() -> None:
    own = Limit(parse_resistance("2.5", Unit.MOHM), rule=GUARDED, status=CriterionStatus.UNVERIFIED)
    here = replace(point("SW-01"), limit=own, retest=own, repeats=3, rule="median", correct_to_20=True)
    assert like(here, parse_limit("<= 2.5 mohm", Unit.MOHM), SIMPLE) == here
    other = like(here, parse_limit("<= 1 mohm", Unit.MOHM), GUARDED)
    assert (other.limit.rule, other.limit.status, other.retest) == (GUARDED, CriterionStatus.OWN, None)
    assert (other.repeats, other.rule, other.correct_to_20) == (1, "max", True)
    assert like(here, RECORD_ONLY, GUARDED).limit == RECORD_ONLY


def test_a_definition_is_readable_by_eye() -> None:
    made = replace(point("X01"), title="Spare strap, µ-metal", a="bracket", b="spar", section="SW")
    assert format_definition(made) == (
        '{"title": "Spare strap, µ-metal", "section": "SW", "a": "bracket", "b": "spar", '
        '"unit": "mohm", "limit": "<= 2.5 mohm"}'
    )


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not one line of JSON"),
        ("strap", "not one line of JSON"),
        ("[" * 100_000, "not one line of JSON"),
        ("[]", "texts by name"),
        ("null", "texts by name"),
        ('{"title": 5, "unit": "mohm"}', "texts by name"),
        ('{"title": {"a": "b"}}', "texts by name"),
        ('{"title": "strap"}', "unit '' is not one of"),
        ('{"unit": "MOHM"}', "unit 'MOHM' is not one of"),
        ('{"unit": "mohm", "limit": "a lot"}', "a limit looks like"),
        ('{"unit": "mohm", "limit": "2.5", "decision": "kindly"}', "the limit cannot be understood"),
        ('{"unit": "mohm", "limit": "2.5", "status": "sure"}', "the limit cannot be understood"),
        ('{"unit": "mohm", "retest": "2.5", "retest_guard": "-1"}', "the retest cannot be understood"),
        ('{"unit": "mohm", "method": "twice"}', "method, repeats or rule"),
        ('{"unit": "mohm", "repeats": "10"}', "method, repeats or rule"),
        ('{"unit": "mohm", "rule": "min"}', "method, repeats or rule"),
        ('{"unit": "mohm", "at_20_c": "yes", "metal": "tin"}', "the metal is one of copper, aluminium"),
        ('{"unit": "mohm", "title": "\\u001b]0;gone\\u0007"}', r"character \\u\{1b\} is not allowed"),
        ('{"unit": "mohm", "title": "\\u202e"}', r"character \\u\{202e\} is not allowed"),
        ('{"unit": "mohm", "title": "\\ud800"}', r"character \\u\{d800\} is not allowed"),
        (json.dumps({"unit": "mohm", "title": "x" * 501}), "501 characters"),
    ],
)
def test_what_defines_no_point_says_why(text: str, why: str) -> None:
    with pytest.raises(NotADefinitionError, match=why):
        parse_definition("X01", text)


@given(
    st.recursive(
        st.none() | st.text(max_size=5) | st.integers(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(max_size=5), inner),
        max_leaves=6,
    )
)
def test_any_json_is_a_point_or_refused_in_words(value: object) -> None:
    try:
        parse_definition("X01", json.dumps(value))
    except NotADefinitionError as refused:
        assert str(refused)
