"""The published schema of session.toml: the whole route stands in it, and a real session passes."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from fieldtui.files.session.file import freeze_session
from fieldtui.files.toml.schemas import MODELS, make_schema
from tests.files.test_session_file import CRITERIA, LOADED, SESSION


@pytest.mark.parametrize("name", MODELS)
def test_every_reference_leads_somewhere_and_nothing_is_null(name: str) -> None:
    schema = make_schema(name)

    def look(at: Any) -> None:
        if isinstance(at, dict):
            assert at.get("type") != "null"
            if "$ref" in at:
                assert at["$ref"].removeprefix("#/$defs/") in schema["$defs"]
            for inner in at.values():
                look(inner)
        elif isinstance(at, list):
            for inner in at:
                look(inner)

    look(schema)
    assert schema["properties"]


def test_a_session_holds_a_whole_route_and_its_name() -> None:
    schema, route = make_schema("session"), make_schema("route")
    inside = schema["properties"]["route"]
    assert inside["properties"].keys() == {"name", *route["properties"]}
    assert inside["required"] == ["name", *route["required"]]
    written = tomllib.loads(freeze_session(SESSION, LOADED.raw, CRITERIA)[0].decode())
    assert written.keys() <= schema["properties"].keys()
    assert written["route"].keys() <= inside["properties"].keys()
    assert set(schema["required"]) <= written.keys()
