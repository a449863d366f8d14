"""A table of a file as a class: frozen, every key read by its own check, all that is wrong found at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import FrozenInstanceError

import pytest

from fieldtui.files.toml.fields import Id, RefusedError, Text
from fieldtui.files.toml.strict import Strict, read


class Strap(Strict):
    id: Id
    title: Text = "no title"


class Box(Strict):
    straps: tuple[Strap, ...] = ()
    named: Mapping[Id, Text] = {}


class Bare(Strict):
    size: int


def refused(model: type[Strict], value: object) -> list[tuple[tuple[object, ...], str]]:
    with pytest.raises(RefusedError) as caught:
        read(model, value)
    return [(path, fault.what) for path, fault in caught.value.found]


def test_what_is_read_cannot_be_changed_and_what_was_not_given_is_the_class_s() -> None:
    strap = read(Strap, {"id": "A1"})
    assert (strap.id, strap.title) == ("A1", "no title")
    with pytest.raises(FrozenInstanceError):
        strap.title = "another"  # type: ignore[misc]


def test_everything_wrong_is_found_with_its_place() -> None:
    value = {"straps": [{"id": "A 1"}, {"titel": "x"}, 3], "named": {"a b": "x", "c": 4}, "more": 1}
    places = [path for path, _ in refused(Box, value)]
    assert places == [
        ("straps", 0, "id"), ("straps", 1, "titel"), ("straps", 1, "id"), ("straps", 2),
        ("named", "a b"), ("named", "c"), ("more",),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("value", "what"),
    [
        (3, "3 stands where a table is wanted"),
        ({"straps": {"id": "A"}}, "stands where a list is wanted"),
        ({"named": ["a"]}, "stands where a table is wanted"),
    ],
)
def test_a_value_of_another_form_is_refused(value: object, what: str) -> None:
    ((_, told),) = refused(Box, value)
    assert told.endswith(what)


def test_an_annotation_without_a_check_is_a_mistake_of_ours_and_said_at_once() -> None:
    with pytest.raises(TypeError, match="no way to read"):
        read(Bare, {"size": 3})
