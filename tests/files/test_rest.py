"""Ways through the readers that no other test takes: words no one expects, a parser that changes its mind."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from itertools import product

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, Limit
from fieldtui.core.verdict.judging import is_within
from fieldtui.errors import BadInputError
from fieldtui.files.limits import is_looser
from fieldtui.files.route.file import check_route
from fieldtui.files.route.point_list import place_problems, read_points
from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.sheet import parse_sheet
from fieldtui.files.toml.text import parse_toml
from tests.desk.scenes import ROUTE


def said(data: bytes) -> tuple[int | None, str]:
    with pytest.raises(BadInputError) as caught:
        parse_toml(data, "f.toml")
    (problem,) = caught.value.problems
    return problem.line, problem.what


def test_a_key_with_a_wrong_escape_is_told_with_its_line() -> None:
    assert said(b'a = 1\n"k\\q" = 1\n')[0] == 2


@pytest.mark.parametrize("error", [ValueError("too many digits"), RecursionError("too deep")], ids=repr)
def test_what_the_parser_raises_besides_its_own_error_is_ours(
    error: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It has bounds of its own that no input gets to any more; another version may have others."""

    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(tomllib, "loads", fail)
    assert said(b"a = 1\n") == (None, "this cannot be read as TOML")


def test_a_message_that_is_not_known_is_told_with_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise tomllib.TOMLDecodeError("Something new (at line 2, column 1)")

    monkeypatch.setattr(tomllib, "loads", fail)
    assert said(b"a = 1\nb = 2\n") == (2, "this is not valid TOML")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('title = "Flap jumper"', 'title = "Flap jumper"\nconductor = { awg = 1.5, length_mm = 5 }', "AWG"),
        ('title = "Flap jumper"', 'title = "Flap jumper"\nconductor = { awg = "50", length_mm = 5 }', "AWG"),
        ('title = "Flap jumper"', 'title = "Flap jumper"\ncorrect_to_20 = "yes"', "neither true nor false"),
        ('title = "Flap jumper"', 'title = "Flap jumper"\nsection = []', ""),
        ('title = "Flap jumper"', 'title = "Flap jumper"\nlimit = 3', ""),
        ('title = "Flap jumper"', 'title = "Flap jumper"\npair = "SW-01"', "itself"),
    ],
)
def test_a_value_of_the_wrong_kind_is_told(old: str, new: str, words: str) -> None:
    problems = check_route(ROUTE.replace(old, new, 1).encode(), "wing.toml", "wing", {})
    assert any(problem.severity == "error" and words in problem.what for problem in problems)


def test_a_lower_limit_with_another_comparator_is_looser() -> None:
    one = Resistance(Decimal("1"), Unit.MOHM)
    strict, loose = Limit(minimum=one, lower=Comparator.MORE), Limit(minimum=one, lower=Comparator.AT_LEAST)
    assert is_looser(loose, strict)
    assert not is_looser(strict, loose)


def test_looser_is_what_lets_something_pass_that_the_other_does_not() -> None:
    """By enumeration: every window with ends on 1, 2 and 3 mohm, against values on them and between."""
    ends = [None, *(Resistance(Decimal(number), Unit.MOHM) for number in (1, 2, 3))]
    windows = [
        Limit(high, low, upper, lower)
        for high, low in product(ends, ends)
        for upper in (Comparator.LESS, Comparator.AT_MOST)
        for lower in (Comparator.MORE, Comparator.AT_LEAST)
        if low is None or high is None or low.ohms < high.ohms
    ]
    values = [Decimal(number) / 2000 for number in range(9)]
    passing = {window: {value for value in values if is_within(window, value)} for window in windows}
    for one, other in product(windows, windows):
        assert is_looser(one, other) == bool(passing[one] - passing[other]), (str(one), str(other))


def test_a_standard_without_its_value_is_told() -> None:
    sheet = parse_sheet(
        b"action,point,record,value,unit,memory,reason,note,time\nstandard,,,,,,,,\n", "s.csv"
    )
    assert any("check standard without a value" in problem.what for problem in sheet.problems)


def test_a_problem_of_a_point_is_told_at_its_line_of_the_list_and_another_as_it_is() -> None:
    table = parse_point_table(b"id,title,max\nA,Strap,2.5\n\nB,Strap,2.5\n", "points.csv")
    found = read_points(table, [], Unit.MOHM, {})
    data = b'format = 1\n[[points]]\nid = "A"\n[[points]]\nid = 3\n'
    placed = place_problems(check_route(data, "r.toml", "r", {}), found, "points.csv")
    assert {problem.file for problem in placed} == {"points.csv", "r.toml"}
    assert any(problem.file == "points.csv" and problem.line == 4 for problem in placed)
