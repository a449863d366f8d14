"""The plan as values: limits in words, points by id, sections by title."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, CriterionStatus, Limit
from tests.core.walks import point, route

LOW, HIGH = parse_resistance("1", Unit.MEGOHM), parse_resistance("10.0", Unit.MEGOHM)


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (Limit(maximum=parse_resistance("2.500", Unit.MOHM)), "<= 2.500 mΩ"),
        (Limit(maximum=HIGH, upper=Comparator.LESS), "< 10.0 MΩ"),
        (Limit(minimum=LOW, lower=Comparator.MORE), "> 1 MΩ"),
        (Limit(minimum=LOW, maximum=HIGH), ">= 1 MΩ and <= 10.0 MΩ"),
        (Limit(maximum=HIGH, record_only=True), "record only"),
        (Limit(), "record only"),
        (RECORD_ONLY, "record only"),
    ],
)
def test_a_limit_in_words(limit: Limit, words: str) -> None:
    assert str(limit) == words


def test_a_limit_says_its_rule_and_stands_in_the_unit_of_the_values_beside_it() -> None:
    in_ohm = parse_resistance("0.0030", Unit.OHM)
    guarded = DecisionRule(RuleKind.GUARDED)
    four = DecisionRule(RuleKind.FOUR_STATES, Decimal("0.5"))
    both = "<= 0.0030 Ω = 3.0 mΩ"
    assert Limit(maximum=in_ohm).words(Unit.MOHM) == both
    assert Limit(maximum=in_ohm).words(Unit.OHM) == "<= 0.0030 Ω"
    assert Limit(maximum=in_ohm, rule=guarded).words(Unit.MOHM) == f"{both}, guard band 1 U"
    assert str(Limit(maximum=in_ohm, rule=four)) == "<= 0.0030 Ω, four states, guard band 0.5 U"
    doubtful = Limit(maximum=in_ohm, rule=guarded, status=CriterionStatus.UNVERIFIED)
    assert str(doubtful) == "<= 0.0030 Ω, guard band 1 U, UNVERIFIED"
    window = Limit(minimum=LOW, maximum=HIGH)
    assert window.figures_in(Unit.KOHM) == ">= 1 MΩ = 1000 kΩ and <= 10.0 MΩ = 10000 kΩ"
    assert Limit(record_only=True, rule=guarded).words(Unit.MOHM) == "record only"


def test_points_are_found_by_id_and_the_table_cannot_be_changed() -> None:
    plan = route("SW-01", "SW-02", "HU-01")
    assert list(plan.by_id) == ["SW-01", "SW-02", "HU-01"]
    assert plan.by_id["HU-01"].section == "HU"
    with pytest.raises(TypeError):
        plan.by_id["SW-03"] = point("SW-03")  # type: ignore[index]


def test_routes_are_equal_by_what_they_plan() -> None:
    assert route("SW-01") == route("SW-01")
    assert route("SW-01") != route("SW-02")
    assert replace(route("SW-01"), revision="C") != route("SW-01")


def test_a_section_without_a_title_is_called_by_its_id() -> None:
    plan = route("SW-01")
    assert plan.section_title("SW") == "SW"
    assert plan.section_title("XX") == "XX"


def test_nothing_of_a_plan_can_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        route("SW-01").revision = "C"  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        point("SW-01").limit = RECORD_ONLY  # type: ignore[misc]
