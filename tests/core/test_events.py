"""Every kind of event stands in the table, fits the trail's columns, and cannot be changed."""

from __future__ import annotations

import inspect
from dataclasses import FrozenInstanceError, fields

import pytest

from fieldtui.core.trail import events as ev
from tests.core.walks import START

# The trail's columns that an event may fill; ``reading`` fills value and unit, ``definition`` note.
COLUMNS = {"time", "record", "point", "run", "number", "verdict", "ref", "reason", "note", "by"}


def kinds() -> list[type[ev.Event]]:
    classes = (cls for _, cls in inspect.getmembers(ev, inspect.isclass))
    return [cls for cls in classes if issubclass(cls, ev.Event) and cls is not ev.Event]


def test_every_kind_is_in_the_table_under_its_own_name() -> None:
    assert sorted(ev.KINDS.values(), key=str) == sorted(kinds(), key=str)
    assert all(name == cls.kind for name, cls in ev.KINDS.items())
    assert len({cls.kind for cls in kinds()}) == len(kinds())


@pytest.mark.parametrize("cls", kinds())
def test_field_names_are_the_columns_of_the_trail(cls: type[ev.Event]) -> None:
    names = {field.name for field in fields(cls)}
    assert names - {"reading", "definition"} <= COLUMNS
    assert {"time", "by", "note"} <= names
    assert all(field.kw_only for field in fields(cls))


def test_an_event_cannot_be_changed() -> None:
    note = ev.Noted(time=START, by="Ana", note="rain")
    with pytest.raises(FrozenInstanceError):
        note.note = "sun"  # type: ignore[misc]
    assert not hasattr(note, "__dict__")


def test_events_are_equal_by_what_they_say() -> None:
    assert ev.Paused(time=START, by="Ana") == ev.Paused(time=START, by="Ana")
    assert ev.Paused(time=START, by="Ana") != ev.Proceeded(time=START, by="Ana")
