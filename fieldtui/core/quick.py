"""Frozen dataclasses made by the hundred thousand.

A frozen dataclass fills its slots through ``object.__setattr__``, one call a field; that alone is
a third of the time in which a long trail opens. Here the slots are filled on a twin of the same
layout that is not frozen, and the finished object then becomes one of the frozen class, for good.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import MISSING, field, fields, make_dataclass
from typing import Any, TypeVar

T = TypeVar("T")


def quick_maker(build: type[T], given: Sequence[str] = ()) -> Callable[..., T]:
    """A function that makes one ``build`` of values by position.

    Args:
        build: a frozen dataclass with slots and without ``__post_init__``.
        given: the fields that the function takes, in this order; every field in its own order if
            left out. The others hold their defaults.

    Raises:
        TypeError: a field is not given and has no plain default.
    """
    twin: Any = _twin_of(build, given)

    def make(*values: Any) -> T:
        made = twin(*values)
        made.__class__ = build
        return made  # type: ignore[no-any-return]  # it is of no other class by now

    return make


def quick_makers(build: type[T], given: Sequence[str] = ()) -> Callable[..., list[T]]:
    """The same for many at a time: the function takes a column of values for each field."""
    twin: Any = _twin_of(build, given)

    def make(*columns: Iterable[Any]) -> list[T]:
        made = [*map(twin, *columns)]
        for each in made:
            each.__class__ = build
        return made

    return make


def _twin_of(build: type[Any], given: Sequence[str]) -> type[Any]:
    """A class of the same layout that sets its fields as any class does, and takes those given first."""
    defaults = {each.name: each.default for each in fields(build)}
    taken = tuple(given) or tuple(defaults)
    left = {name: value for name, value in defaults.items() if name not in taken}
    if MISSING in left.values() or not defaults.keys() >= set(taken):
        raise TypeError(f"{build.__name__} cannot be made of {', '.join(taken)}")
    # Of this one only its __init__ is wanted.
    usual: Any = make_dataclass(
        build.__name__,
        [*((name, Any) for name in taken), *((name, Any, field(default=left[name])) for name in left)],
        repr=False,
        eq=False,
    )
    # A frozen base refuses both ways of changing; one of them left in its hands slows the other down.
    free = {"__setattr__": object.__setattr__, "__delattr__": object.__delattr__}
    slots = {"__slots__": build.__dict__["__slots__"], "__init__": usual.__init__}
    return type(build.__name__, build.__bases__, {**slots, **free})
