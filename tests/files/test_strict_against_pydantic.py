"""The reader of tables, held against pydantic: it reads the same classes, and both must say the same."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from fieldtui.files.toml.fields import RefusedError
from fieldtui.files.toml.schema import Findings, read_as
from fieldtui.files.toml.schemas import MODELS, pydantic_model
from fieldtui.files.toml.strict import Strict, given_in, read, with_given
from fieldtui.files.toml.text import TomlText, parse_toml

TOP = Path(__file__).resolve().parents[2]
LINK = "0123456789abcdef" * 2
REVIEW = f"""
format = 1
session = "20310506T080000Z-wing"
[[remarks]]
number = 1
time = 2031-05-06T09:00:00Z
by = "Ada"
text = "looked at"
point = "SW-01"
seal = "{LINK}"
rows = 12
[[remarks]]
number = 2
time = 2031-05-06T09:05:00Z
by = "Ada"
text = "not so"
withdraws = 1
seal = "{LINK}"
rows = 12
"""


def good_documents() -> dict[str, dict[str, Any]]:
    """A sound document of each kind, as the parser gives it."""
    files = {name: f"shared/{name}.toml" for name in MODELS if (TOP / f"shared/{name}.toml").is_file()}
    files["route"] = "routes/airframe-bonds.toml"
    files["session"] = str(min((TOP / "demo").rglob("session.toml")).relative_to(TOP))
    found = {name: parse_toml((TOP / file).read_bytes(), file).data for name, file in files.items()}
    return found | {"review": parse_toml(REVIEW.encode(), "review").data}


GOOD = good_documents()


def test_there_is_a_document_of_every_kind() -> None:
    assert GOOD.keys() == MODELS.keys()


# --- both answers, in one form --------------------------------------------------------------------


def plain(value: object) -> object:
    """What was read, without the classes: only the keys that were given."""
    if isinstance(value, Strict):
        return {key: plain(inner) for key, inner in vars(value).items()}
    if isinstance(value, BaseModel):
        return {key: plain(getattr(value, key)) for key in value.model_fields_set}
    if isinstance(value, Mapping):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [plain(inner) for inner in value]
    return value


def by_us(model: type[Strict], document: object) -> object:
    """What is read, or the places of all that is refused."""
    try:
        return plain(read(model, document))
    except RefusedError as refused:
        return {path for path, _ in refused.found}


def by_pydantic(model: type[Strict], document: object) -> object:
    try:
        return plain(pydantic_model(model).model_validate(document))
    except ValidationError as error:
        return {tuple(part for part in each["loc"] if part != "[key]") for each in error.errors()}


@pytest.mark.parametrize("name", MODELS)
def test_what_is_sound_is_read_as_pydantic_reads_it(name: str) -> None:
    found = by_us(MODELS[name], GOOD[name])
    assert isinstance(found, dict)
    assert found == by_pydantic(MODELS[name], GOOD[name])
    assert found.keys() == GOOD[name].keys()


# --- one thing or several changed -------------------------------------------------------------------

JUNK = st.one_of(
    st.booleans(),
    st.integers(-3, 200_000),
    st.decimals(-5, 5, places=2),
    st.sampled_from(["", "x", "a b", "mohm", "<=", "max", "copper", "1/0", "a\nb", "x" * 200, LINK]),
    st.lists(st.integers(0, 3), max_size=3),
    st.dictionaries(st.sampled_from(["id", "title", "max", "a b", "points"]), st.integers(0, 3), max_size=2),
)


def holders(value: object) -> list[dict[str, Any] | list[Any]]:
    """Every table and list of a document."""
    if isinstance(value, dict):
        return [value, *(found for inner in value.values() for found in holders(inner))]
    if isinstance(value, list):
        return [value, *(found for inner in value for found in holders(inner))]
    return []


@st.composite
def changed(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """A sound document in which up to four values are put in, replaced or taken out."""
    name = draw(st.sampled_from(sorted(MODELS)))
    document = deepcopy(GOOD[name])
    for _ in range(draw(st.integers(1, 4))):
        holder = draw(st.sampled_from(holders(document)))
        deed = draw(st.sampled_from(["put in", "replace", "take out"]))
        if deed == "put in" and isinstance(holder, dict):
            holder[draw(st.sampled_from(["id", "title", "limit", "cmp", "a b", "titel"]))] = draw(JUNK)
        elif deed == "put in":
            assert isinstance(holder, list)
            holder.append(draw(JUNK))
        elif holder:
            places: list[Any] = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            place = draw(st.sampled_from(places))
            if deed == "replace":
                holder[place] = draw(JUNK)
            else:
                del holder[place]
    return name, document


@settings(max_examples=200, deadline=None)
@given(changed())
def test_what_was_changed_is_taken_or_refused_where_pydantic_does(case: tuple[str, dict[str, Any]]) -> None:
    name, document = case
    assert by_us(MODELS[name], document) == by_pydantic(MODELS[name], document)


# --- by hand ----------------------------------------------------------------------------------------


def test_an_unknown_key_is_answered_with_the_nearest_one() -> None:
    findings = Findings(TomlText("f", {}, {}))
    assert read_as(MODELS["route"], {**GOOD["route"], "titel": "x"}, findings) is None
    assert [problem.remedy for problem in findings.in_order()] == ['did you mean "title"?']


def test_what_is_not_given_is_not_among_what_is_given() -> None:
    bare = read(MODELS["route"], {key: GOOD["route"][key] for key in ("format", "title", "asset", "unit")})
    assert given_in(bare) == {"format", "title", "asset", "unit"}
    more = with_given(bare, {"source": "a book"})
    assert given_in(more) - given_in(bare) == {"source"}
    assert (getattr(more, "source", None), getattr(bare, "source", None)) == ("a book", "")
