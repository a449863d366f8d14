"""What is wrong is said once, at its place: not the same sentence again, and not of files that are sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.errors import BadInputError, Problem
from tests.cli.conftest import Ask
from tests.desk.scenes import Scene

BROKEN = "format = 1\n[instruments.m1\n"


@pytest.mark.parametrize(
    ("arguments", "where", "what"),
    [
        (["transcribe", "wing", "none.csv"], "none.csv", "The file cannot be read: it does not exist."),
        (["walk", "broken"], "broken.toml:2", "a table's name without its closing bracket"),
        (["walk", "unknown"], "unknown.toml:3, colour", 'the route cannot be used: unknown key "colour"'),
        (["walk", "noon"], "noon.toml:2, noon", "a time of day without its offset from UTC"),
        (["compare", "--merge", "nowhere"], "sessions", "There is no session nowhere"),
        (["trend", "nowhere"], "sessions", "There is no session nowhere"),
        (["reconcile", "nowhere", "x.csv"], "sessions", "There is no session nowhere"),
    ],
)
def test_one_problem_is_one_sentence_one_place_and_what_to_do(
    ask: Ask, tmp_path: Path, arguments: list[str], where: str, what: str
) -> None:
    Scene(tmp_path)
    routes = tmp_path / "routes"
    wing = (routes / "wing.toml").read_text(encoding="utf-8")
    (routes / "broken.toml").write_text("format = 1\n[defaults\n", encoding="utf-8")
    (routes / "unknown.toml").write_text("\n\ncolour = 1\n" + wing, encoding="utf-8")
    (routes / "noon.toml").write_text("\nnoon = 2026-05-01T12:00:00\n" + wing, encoding="utf-8")
    answer = ask(*arguments)
    assert (answer.code, answer.out) == (2, "")
    first, place, remedy = answer.err.splitlines()
    assert first == f"fieldtui: {what}"
    assert place.startswith("  where: ") and place.endswith(where)
    assert remedy.startswith("  do: ")


def test_of_several_problems_the_first_is_told_and_the_rest_listed(ask: Ask, tmp_path: Path) -> None:
    Scene(tmp_path)
    path = tmp_path / "routes" / "wing.toml"
    path.write_text("colour = 1\nsmell = 2\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    answer = ask("walk", "wing")
    assert 'the route cannot be used: 2 problems, the first: unknown key "colour"' in answer.err
    assert answer.err.count("colour") == 2  # what and where
    assert 'wing.toml:2, smell: error: unknown key "smell"' in answer.err
    answer = ask("transcribe", "wing", "x.csv", "--json")
    assert [each["field"] for each in answer.json["problems"]] == ["colour", "smell"]  # whole for programs


def test_further_problems_are_those_that_the_error_does_not_tell() -> None:
    one, other = Problem("odd", "mend it", "a.csv", 1), Problem("odd", "mend it", "a.csv", 2)
    assert BadInputError("It is odd", where=one.where, problems=[one, other]).further == (other,)
    assert BadInputError("Two bad lines", where="a.csv", problems=[one, other]).further == (one, other)
    assert BadInputError("It is odd").further == ()


def test_a_broken_table_is_told_by_its_file_and_line_and_once(ask: Ask, tmp_path: Path) -> None:
    Scene(tmp_path)
    routes, table = tmp_path / "routes", tmp_path / "shared" / "instruments.toml"
    (routes / "tail.toml").write_bytes((routes / "wing.toml").read_bytes())
    table.parent.mkdir(exist_ok=True)
    table.write_text(BROKEN, encoding="utf-8")
    answer = ask("route", "check", "wing", "tail")
    assert answer.code == 2
    assert answer.out.splitlines() == [
        f"{table}:2: error: a table's name without its closing bracket",
        "    put ] here",
        "0 of 2 routes checked: 1 error, 0 warnings",
    ]
    told = ask("route", "check", "wing", "--json").json["problems"]
    assert [(each["file"], each["line"]) for each in told] == [(str(table), 2)]
    for command in (["walk", "wing"], ["route", "sheet", "wing"], ["route", "import", "x.csv"]):
        (tmp_path / "x.csv").write_text("No,Limit\n1,< 2 mohm\n", encoding="utf-8")
        answer = ask(*command)
        assert answer.code == 2
        assert answer.err.splitlines()[1] == f"  where: {table}:2"
        assert len(answer.err.splitlines()) == 3
    table.unlink()
    assert ask("route", "check", "wing", "nowhere").out.endswith(
        "1 of 2 routes checked: 1 error, 0 warnings\n"
    )
