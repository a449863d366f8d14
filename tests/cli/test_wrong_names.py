"""A command, a session or a route that there is not: what was meant, and what there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.desk.naming import nearest_first, offered
from tests.cli.conftest import Ask
from tests.desk.session_maker import SessionMaker


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["wlak"], ["There is no command: fieldtui wlak", "did you mean: fieldtui walk ?", "--help lists"]),
        (["verfy", "x"], ["did you mean: fieldtui verify ?"]),
        (["route", "chekc", "x"], ["There is no command: fieldtui route chekc", "fieldtui route check ?"]),
        (["\x1b[2Jq"], ["There is no command: fieldtui \\u{1b}[2Jq", "fieldtui --help lists the commands"]),
    ],
)
def test_a_wrong_command_names_the_nearest(ask: Ask, arguments: list[str], says: list[str]) -> None:
    answer = ask(*arguments)
    assert answer.code == 2
    assert answer.out == ""
    for words in says:
        assert words in answer.err, answer.err
    assert "invalid choice" not in answer.err
    assert len(answer.err.splitlines()) == 2


def test_a_command_like_no_other_is_not_guessed_at(ask: Ask) -> None:
    assert "did you mean" not in ask("zzzzz").err


@pytest.mark.parametrize("command", [["verify"], ["report"], ["resume"], ["review"]])
def test_an_unknown_session_lists_those_there_are(ask: Ask, tmp_path: Path, command: list[str]) -> None:
    maker = SessionMaker(tmp_path)
    names = [maker.make(f"2026-0{month}-01", SW_01="1.38").name for month in range(1, 8)]
    answer = ask(*command, names[3][:-1] + "9")
    assert answer.code == 2
    assert f"There is no session {names[3][:-1]}9" in answer.err
    (offer,) = [line for line in answer.err.splitlines() if "there are:" in line]
    listed = offer.partition("there are: ")[2].split(", ")
    assert listed[0] == names[3]  # the nearest first
    assert len(listed) == 6 and listed[-1] == "and 2 more"


def test_without_a_session_it_says_how_to_begin_one(ask: Ask, tmp_path: Path) -> None:
    SessionMaker(tmp_path)
    answer = ask("verify", "nope")
    assert answer.code == 2
    assert "begin one: fieldtui walk ROUTE" in answer.err


def test_an_unknown_route_lists_those_there_are(ask: Ask, tmp_path: Path) -> None:
    (tmp_path / "routes").mkdir()
    for name in ("port-wing", "tail"):
        (tmp_path / "routes" / f"{name}.toml").write_text("", encoding="utf-8")
    answer = ask("walk", "wing")
    assert answer.code == 2
    assert "There is no route wing" in answer.err
    assert "there are: port-wing, tail" in answer.err


def test_the_nearest_holds_the_word_or_is_like_it() -> None:
    names = ["alpha", "beta", "2026-05-12_twin_beta-bonds_01"]
    assert nearest_first("BONDS", names)[0] == names[2]
    assert nearest_first("bata", names)[0] == "beta"
    assert offered("x", [], "nothing") == "nothing"
    assert offered("x", ["one"], "nothing") == "there is: one"
