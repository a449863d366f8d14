"""Mappings that are never changed, and the next one made at the cost of what changes.

A survey of ten thousand points must not be copied for each reading keyed. So a mapping is a large
dictionary with a small one laid over it; a change copies the small one, and once in a while, when
that has grown, both are put together.
"""

from __future__ import annotations

from collections.abc import ItemsView, Iterator, KeysView, Mapping, MutableMapping, ValuesView
from typing import Generic, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class Layers(Mapping[K, V]):
    """One state of a mapping. Keys stay in the order in which they came."""

    __slots__ = ("_base", "_top", "_whole")

    def __init__(self, base: dict[K, V] | None = None) -> None:
        """``base`` is taken over; nobody may change it any more."""
        self._base: dict[K, V] = base or {}
        self._top: dict[K, V] = {}
        self._whole: dict[K, V] | None = self._base

    def with_changes(self, changes: dict[K, V]) -> Layers[K, V]:
        """The mapping after ``changes``, which are taken over."""
        if not self._base:
            return Layers(changes)
        top = {**self._top, **changes}
        if len(top) * len(top) > len(self._base):  # so that neither copying nor putting together prevails
            return Layers({**self._base, **top})
        after: Layers[K, V] = Layers(self._base)
        after._top = top
        after._whole = None
        return after

    def together(self) -> dict[K, V]:
        """All of it as one dictionary, to be read only."""
        if self._whole is None:
            self._whole = {**self._base, **self._top}
        return self._whole

    def __getitem__(self, key: K) -> V:
        return self._top[key] if key in self._top else self._base[key]

    def __contains__(self, key: object) -> bool:
        return key in self._top or key in self._base

    def __len__(self) -> int:
        return len(self._base) + sum(key not in self._base for key in self._top)

    def __iter__(self) -> Iterator[K]:
        return iter(self.together())

    def __reversed__(self) -> Iterator[K]:
        yield from (key for key in reversed(self._top) if key not in self._base)
        yield from reversed(self._base)

    def keys(self) -> KeysView[K]:
        return self.together().keys()

    def values(self) -> ValuesView[V]:
        return self.together().values()

    def items(self) -> ItemsView[K, V]:
        return self.together().items()

    def __repr__(self) -> str:
        return repr(self.together())


class Changes(MutableMapping[K, V], Generic[K, V]):
    """A mapping while it is changed; what it came from stays as it is. Nothing is ever taken out."""

    __slots__ = ("_under", "own")

    def __init__(self, under: Layers[K, V]) -> None:
        self._under = under
        self.own: dict[K, V] = {}  # what was changed; a new key may be put in here as well

    def frozen(self) -> Layers[K, V]:
        """The mapping as it now stands. This one is spent."""
        return self._under.with_changes(self.own) if self.own else self._under

    def __getitem__(self, key: K) -> V:
        return self.own[key] if key in self.own else self._under[key]

    def __setitem__(self, key: K, value: V) -> None:
        self.own[key] = value

    def __delitem__(self, key: K) -> None:
        raise TypeError("nothing is taken out of a survey")

    def __contains__(self, key: object) -> bool:
        return key in self.own or key in self._under

    def __len__(self) -> int:
        return len(self._under) + sum(key not in self._under for key in self.own)

    def together(self) -> dict[K, V]:
        """All of it as one dictionary, to be read only."""
        return {**self._under.together(), **self.own}

    def __iter__(self) -> Iterator[K]:
        return iter(self.together())

    def values(self) -> ValuesView[V]:
        return self.together().values()
