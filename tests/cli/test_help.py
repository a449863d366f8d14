"""The help of every command: it exits well, fits a terminal, and each example in it can be typed."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Iterator
from typing import Any

import pytest

from fieldtui.cli import make_parser
from fieldtui.desk.verifying import Paper


def parsers(parser: argparse.ArgumentParser, words: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The words of every command there is, the program itself first."""
    yield words
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, inner in action.choices.items():
                yield from parsers(inner, (*words, name))


COMMANDS = list(parsers(make_parser()))


def examples(text: str) -> list[str]:
    """The lines under "examples:", without what they are for."""
    lines = text.partition("\nexamples:\n")[2].splitlines()
    return [re.split(r"\s{2,}", line.strip())[0] for line in lines]


def test_every_command_is_looked_at() -> None:
    assert {("walk",), ("route", "import"), ("schema",), ("completion",)} <= set(COMMANDS)
    assert len(COMMANDS) >= 19


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words) or "fieldtui")
def test_help_has_examples_that_can_be_typed(ask: Any, words: tuple[str, ...]) -> None:
    answer = ask(*words, "--help")
    assert (answer.code, answer.err) == (0, "")
    found = examples(answer.out)
    assert found
    for example in found:
        program, *typed = shlex.split(re.split(r"\s[>|]\s", example)[0])
        assert program == "fieldtui"
        assert words == tuple(typed[: len(words)]), example
        asked = make_parser().parse_args(typed)
        if getattr(asked, "seal", None) is not None:
            Paper.copied(asked.seal, asked.rows)  # a form that is refused is no example


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(words) or "fieldtui")
def test_help_fits_a_terminal(ask: Any, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for line in ask(*words, "--help").out.splitlines():
        assert len(line) <= 100, line
