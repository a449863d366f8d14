"""Options of a route that would do nothing are told by its check: nothing is ignored silently."""

from __future__ import annotations

import pytest

from fieldtui.errors import BadInputError
from fieldtui.files.route.file import check_route, load_route
from tests.files.test_route_file import CRITERIA, HEAD, SECTION, check, point


@pytest.mark.parametrize(
    ("defaults", "stated", "field"),
    [
        ("", 'limit = { max = 3 }\ncriterion = "fraem"', "points[0].criterion"),
        (
            '[defaults]\nlimit = { max = 9 }\ncriterion = "fraem"\n',
            "limit = { max = 3 }",
            "defaults.criterion",
        ),
        ("", 'limit = { max = 3, criterion = "fraem" }', "points[0].limit.criterion"),
        ("", 'limit = { criterion = "fraem", unit = "ohm" }', "points[0].limit.criterion"),
    ],
)
def test_a_misspelt_criterion_is_told_with_what_else_is_wrong(defaults: str, stated: str, field: str) -> None:
    """Both at once: who takes the limit out need not come back for the name."""
    text = HEAD + defaults + SECTION + point(stated)
    beside, misspelt = sorted(
        check_route(text.encode(), "wing.toml", "wing", CRITERIA), key=lambda p: "fraem" in p.what
    )
    assert (misspelt.severity, misspelt.field) == ("error", field)
    assert misspelt.what == 'criterion "fraem" is not in the table of criteria'
    assert "frame" in misspelt.remedy
    assert "fraem" not in beside.what and beside.severity == "error"


@pytest.mark.parametrize(
    ("defaults", "stated", "field", "line"),
    [
        ("", 'limit = { max = 3 }\ncriterion = "frame"', "points[0].criterion", 'criterion = "frame"'),
        (
            "",
            'limit = { record_only = true }\ncriterion = "frame"',
            "points[0].criterion",
            'criterion = "frame"',
        ),
        (
            '[defaults]\nlimit = { max = 9 }\ncriterion = "frame"\n',
            "",
            "defaults.criterion",
            'criterion = "frame"',
        ),
    ],
)
def test_a_criterion_beside_a_limit_is_an_error_as_it_is_inside_one(
    defaults: str, stated: str, field: str, line: str
) -> None:
    text = HEAD + defaults + SECTION + point(stated)
    (problem,) = check_route(text.encode(), "wing.toml", "wing", CRITERIA)
    assert (problem.severity, problem.field) == ("error", field)
    assert problem.what == "a criterion beside a limit, which alone would judge"
    assert problem.line is not None
    assert text.splitlines()[problem.line - 1] == line
    with pytest.raises(BadInputError):
        load_route(text.encode(), "wing.toml", "wing", CRITERIA)


def test_a_limit_of_a_point_and_a_criterion_of_the_defaults_are_no_contradiction() -> None:
    assert check(HEAD + '[defaults]\ncriterion = "frame"\n' + SECTION + point("limit = { max = 3 }")) == []


LIMIT = "limit = { max = 3 }\n"


@pytest.mark.parametrize("rule", ["mean", "median"])
def test_a_rule_for_several_readings_where_one_is_taken_is_warned_of(rule: str) -> None:
    (problem,) = check(HEAD + SECTION + point(f'{LIMIT}rule = "{rule}"'))
    assert (problem.severity, problem.field) == ("warning", "points[0].rule")
    assert problem.what == f'rule = "{rule}" puts several readings together, and one is taken'
    assert check(HEAD + SECTION + point(f'{LIMIT}rule = "{rule}"\nrepeats = 2')) == []


def test_a_default_rule_is_warned_of_where_no_point_has_several_readings() -> None:
    defaults = '[defaults]\nrule = "mean"\n'
    (problem,) = check(HEAD + defaults + SECTION + point(LIMIT) + point(LIMIT, name="P2"))
    assert (problem.severity, problem.field) == ("warning", "defaults.rule")
    assert check(HEAD + defaults + SECTION + point(LIMIT) + point(f"{LIMIT}repeats = 3", name="P2")) == []
    assert check(HEAD + defaults + SECTION + point(f'{LIMIT}method = "reversed"')) == []
