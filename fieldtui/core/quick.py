"""Frozen dataclasses made by the hundred thousand.

A frozen dataclass fills its slots through ``object.__setattr__``, one call a field; that alone is
a third of the time in which a long trail opens. Here the slots are filled on a twin of the same
layout that is not frozen, and the finished object then becomes one of the frozen class, for good.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import MISSING, fields
from typing import Any, TypeVar, cast

T = TypeVar("T")


def quick_maker(build: type[T], given: Sequence[str] = ()) -> Callable[..., T]:
    """A function that makes a ``build`` of values by position.

    Args:
        build: a frozen dataclass with slots and without ``__post_init__``.
        given: the fields that the function takes, in this order; every field in its own order if
            left out. The others hold their defaults.

    Raises:
        TypeError: a field is not given and has no plain default.
    """
    defaults = {each.name: each.default for each in fields(cast("Any", build))}
    taken = tuple(given) or tuple(defaults)
    left = {name: value for name, value in defaults.items() if name not in taken}
    if MISSING in left.values() or not defaults.keys() >= set(taken):
        raise TypeError(f"{build.__name__} cannot be made of {', '.join(taken)}")
    # A frozen base refuses both ways of changing; one of them left in its hands slows the other down.
    free = {"__setattr__": object.__setattr__, "__delattr__": object.__delattr__}
    twin = type(build.__name__, build.__bases__, {"__slots__": build.__dict__["__slots__"], **free})
    names = {"_new": object.__new__, "_twin": twin, "_build": build, "_left": left}
    source = [
        f"def make({', '.join(taken)}, {', '.join(f'_{name}=_left[{name!r}]' for name in left)}):",
        " _made = _new(_twin)",
        *(f" _made.{name} = {name}" for name in taken),
        *(f" _made.{name} = _{name}" for name in left),
        " _made.__class__ = _build",
        " return _made",
    ]
    # As dataclasses makes __init__, and of field names only: a loop over them would cost what is saved.
    exec("\n".join(source), names)  # noqa: S102
    return cast("Callable[..., T]", names["make"])
