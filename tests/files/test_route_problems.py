"""Problems of a route that hang on more than one key; one slip makes one problem."""

from __future__ import annotations

import sys
from typing import Any

import pytest

from fieldtui.errors import Problem
from fieldtui.files.route.file import check_route, load_route
from fieldtui.files.toml.schema import MAX_PROBLEMS

HEAD = """\
format = 1
title = "Wing"
asset = "twin"
unit = "mohm"
[[sections]]
id = "A"
title = "All"
"""
LIMIT = "limit = { max = 2.5 }\n"


def check(*points: str, defaults: str = "") -> list[Problem]:
    text = HEAD.replace("[[sections]]", f"[defaults]\n{defaults}\n[[sections]]")
    for number, point in enumerate(points, 1):
        text += f'[[points]]\nid = "P{number}"\nsection = "A"\ntitle = "Strap"\n{point}\n'
    return check_route(text.encode(), "wing.toml", "wing", {})


def test_a_partner_whose_id_is_no_id_is_told_once() -> None:
    text = HEAD + '[[points]]\nid = "P 1"\nsection = "A"\ntitle = "x"\npair = "P2"\n' + LIMIT
    text += '[[points]]\nid = "P2"\nsection = "A"\ntitle = "x"\npair = "P 1"\n' + LIMIT
    problems = check_route(text.encode(), "wing.toml", "wing", {})
    assert {problem.line for problem in problems if "pair" not in problem.field} == {9}
    twice = HEAD + "".join(
        f'[[points]]\nid = "P1"\nsection = "A"\ntitle = "x"\npair = "{pair}"\n{LIMIT}'
        for pair in ("P2", "P2")
    )
    twice += '[[points]]\nid = 3\nsection = "A"\ntitle = "x"\npair = "P1"\n' + LIMIT
    assert check_route(twice.encode(), "wing.toml", "wing", {})


def test_a_test_current_without_a_method_is_told_and_one_of_the_defaults_means_nothing_there() -> None:
    (problem,) = check(LIMIT + "current_ma = 200")
    assert (problem.field, problem.what) == (
        "points[0].current_ma", "voltages are read with the current reversed",
    )  # fmt: skip
    (problem,) = check(LIMIT, defaults='method = "single"\ncurrent_ma = 200')
    assert problem.field == "defaults.current_ma"
    assert check(LIMIT + 'method = "single"', defaults='method = "reversed"\ncurrent_ma = 200') == []
    assert check(LIMIT + 'method = "reversed"\ncurrent_ma = 200') == []


def test_a_method_says_by_itself_how_readings_are_taken() -> None:
    problems = check(LIMIT + 'method = "reversed"\nrepeats = 3\nrule = "mean"')
    assert {problem.field for problem in problems} == {"points[0].repeats", "points[0].rule"}
    assert check(LIMIT + 'method = "reversed"', defaults="repeats = 3") == []


def test_a_point_that_is_no_table_is_told_and_the_others_are_looked_at() -> None:
    text = HEAD.replace(
        "[[sections]]", 'points = [3, { id = "P1", section = "A", title = "x" }]\n[[sections]]'
    )
    problems = check_route(text.encode(), "wing.toml", "wing", {})
    assert any("stands where a table is wanted" in problem.what for problem in problems)
    assert any(problem.field.startswith("points[1]") for problem in problems)


def test_of_problems_without_end_the_first_ones_are_told_and_a_closer_look_is_not_taken() -> None:
    text = HEAD + '[[points]]\nid = "P1"\nsection = "A"\ntitle = "x"\npair = "nobody"\n' + LIMIT
    text += "".join(f"k{number} = 1\n" for number in range(MAX_PROBLEMS + 10))
    problems = check_route(text.encode(), "wing.toml", "wing", {})
    assert len(problems) >= MAX_PROBLEMS
    assert not any("nobody" in problem.what for problem in problems)


@pytest.mark.parametrize("method", ["reversed", "three-reading"])
def test_a_method_takes_its_own_readings(method: str) -> None:
    text = HEAD + f'[[points]]\nid = "P1"\nsection = "A"\ntitle = "x"\nmethod = "{method}"\n{LIMIT}'
    (point,) = load_route(text.encode(), "wing.toml", "wing", {}).route.points
    assert (point.method, point.repeats > 1) == (method, True)


def test_twice_the_slips_make_twice_the_work() -> None:
    """Comparing each unknown word with each known one would make it four times."""
    calls = 0

    def seen(frame: Any, event: str, argument: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    counts = []
    for points in (400, 800):
        data = [LIMIT + f'x = 1\npair = "Q{number}"' for number in range(points)]
        calls = 0
        sys.setprofile(seen)
        try:
            found = check(*data)
        finally:
            sys.setprofile(None)
        counts.append(calls)
        assert sum(problem.field.endswith(".x") for problem in found) == points
    assert counts[1] <= 2.1 * counts[0]
