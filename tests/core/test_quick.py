from __future__ import annotations

from dataclasses import FrozenInstanceError, dataclass, field, fields
from typing import Any

import pytest

from fieldtui.core.quick import quick_maker, quick_makers
from fieldtui.core.survey.standing import Standing
from fieldtui.core.trail.events import KINDS, Event, ReadingTaken


@pytest.mark.parametrize("build", KINDS.values(), ids=KINDS.keys())
def test_an_event_made_quickly_is_the_one_its_class_makes(build: type[Event]) -> None:
    names = [each.name for each in fields(build)]
    anything: dict[str, Any] = {name: number for number, name in enumerate(names)}
    usual = build(**anything)
    one_by_one = quick_maker(build)(*range(len(names)))
    together = quick_makers(build)(*([number] * 2 for number in range(len(names))))
    assert len(together) == 2
    for quick in (one_by_one, *together):
        assert type(quick) is build
        assert quick == usual
        assert hash(quick) == hash(usual)
        assert repr(quick) == repr(usual)
        with pytest.raises(FrozenInstanceError):
            quick.time = None  # type: ignore[misc, assignment]
        with pytest.raises(FrozenInstanceError):
            del quick.by


def test_what_is_not_given_takes_its_default() -> None:
    make = quick_maker(ReadingTaken, ("verdict", "time", "by", "record", "point", "reading"))
    quick = make("v", "t", "b", 1, "p", "r")
    assert quick == ReadingTaken(time="t", by="b", record=1, point="p", reading="r", verdict="v")  # type: ignore[arg-type]
    assert quick_maker(Standing, ("take",))(3) == Standing(take=3)
    assert quick_makers(Standing, ("attempts", "take"))([1, 2], [3, 4]) == [
        Standing(take=3, attempts=1),
        Standing(take=4, attempts=2),
    ]


@dataclass(frozen=True, slots=True)
class _Listed:
    names: list[str] = field(default_factory=list)
    size: int = 0


def test_a_field_without_a_plain_default_must_be_given() -> None:
    with pytest.raises(TypeError):
        quick_maker(ReadingTaken, ("time", "by"))
    with pytest.raises(TypeError):
        quick_maker(_Listed, ("size",))
    with pytest.raises(TypeError):
        quick_maker(_Listed, ("names", "colour"))
    assert quick_maker(_Listed)(["a"], 1) == _Listed(["a"], 1)
