"""``fieldtui schema``: JSON Schema that says yes to every file of ours and no to plain slips.

The oracle is the jsonschema library with draft 2020-12.
"""

from __future__ import annotations

import json
import tomllib
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fieldtui.cli.setting_up import SCHEMAS
from fieldtui.files.new_workspace import EXAMPLE
from fieldtui.files.toml.schemas import MODELS, WORDS, make_schema

ROOT = Path(__file__).resolve().parents[2]
FILES = [
    *(("route", path) for path in [*ROOT.glob("routes/*.toml"), *ROOT.glob("demo/routes/*.toml")]),
    *((path.stem, path) for path in [*ROOT.glob("shared/*.toml"), *ROOT.glob("demo/shared/*.toml")]),
    *(("session", path) for path in ROOT.glob("demo/sessions/*/session.toml")),
]


def plain(value: Any) -> Any:
    """As an editor hands it to a schema: dates as texts."""
    match value:
        case dict():
            return {key: plain(inner) for key, inner in value.items()}
        case list():
            return [plain(inner) for inner in value]
        case date() | datetime():
            return value.isoformat()
        case _:
            return value


def complaints(name: str, text: str) -> list[str]:
    validator = Draft202012Validator(make_schema(name))
    return [error.message for error in validator.iter_errors(plain(tomllib.loads(text)))]


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_schema_is_one_and_is_printed(ask: Any, name: str) -> None:
    answer = ask("schema", name)
    assert answer.code == 0
    Draft202012Validator.check_schema(answer.json)
    assert answer.json == json.loads(json.dumps(make_schema(name)))
    assert answer.json["title"] == f"fieldtui {name}"


@pytest.mark.parametrize("name", SCHEMAS)
def test_nothing_of_the_program_s_inside_shows(name: str) -> None:
    text = json.dumps(make_schema(name))
    for word in ("null", "Model", "``", "Decimal"):
        assert word not in text


@pytest.mark.parametrize(
    ("name", "path"), FILES, ids=[f"{name}-{path.parent.name}-{path.stem}" for name, path in FILES]
)
def test_every_file_of_ours_is_accepted(name: str, path: Path) -> None:
    assert complaints(name, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format = 1", "format = 2"),
        ('unit = "mohm"', 'unit = "MOHM"'),
        ('title = "Example"', 'title = ""'),
        ('title = "Example"', 'titel = "Example"'),
        ('id = "FR-03"', 'id = "FR 03"'),
        ("max = 2.5", "max = 0"),
        ("max = 2.5", 'max = "2.5"'),
        ('cmp = "<"', 'cmp = "=<"'),
        ("low = 0.4", "low = -1"),
        ("check_every = 10", "check_every = 1.5"),
    ],
)
def test_a_slip_is_found(old: str, new: str) -> None:
    assert complaints("route", EXAMPLE) == []
    assert old in EXAMPLE
    assert complaints("route", EXAMPLE.replace(old, new))


def test_the_session_s_route_is_held_against_the_route_s_schema() -> None:
    path = next(ROOT.glob("demo/sessions/*practice*/session.toml"))
    text = path.read_text(encoding="utf-8")
    assert 'unit = "mohm"' in text
    assert complaints("session", text.replace('unit = "mohm"', 'unit = "volt"'))


def keys_of(schema: Any) -> set[str]:
    if isinstance(schema, list):
        return set().union(*map(keys_of, schema))
    if not isinstance(schema, dict):
        return set()
    return set(schema.get("properties", ())).union(*map(keys_of, schema.values()))


def test_every_word_explains_a_key_that_there_is_and_every_key_of_a_route_has_one() -> None:
    assert set(WORDS) <= set().union(*(keys_of(make_schema(name)) for name in MODELS))
    point = make_schema("route")["$defs"]["Point"]["properties"]
    assert [key for key, schema in point.items() if not schema.get("description")] == []


def test_the_names_are_those_of_the_models_and_any_other_is_refused(ask: Any) -> None:
    assert tuple(MODELS) == SCHEMAS
    answer = ask("schema", "trail")
    assert answer.code == 2
    assert "usage: fieldtui schema" in answer.err
