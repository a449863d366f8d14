from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.survey.layers import Changes, Layers

steps = st.lists(st.dictionaries(st.integers(0, 30), st.integers(), max_size=4), max_size=25)


@given(st.dictionaries(st.integers(0, 30), st.integers()), steps)
def test_every_state_is_the_dictionary_it_stands_for(
    first: dict[int, int], changes: list[dict[int, int]]
) -> None:
    plain = dict(first)
    states: list[tuple[Layers[int, int], dict[int, int]]] = [(Layers(dict(first)), dict(plain))]
    for change in changes:
        changing = Changes(states[-1][0])
        for key, value in change.items():
            changing[key] = value
            plain[key] = value
        assert dict(changing) == plain
        assert list(changing.values()) == list(plain.values())
        assert len(changing) == len(plain)
        states.append((changing.frozen(), dict(plain)))
    for layers, meant in states:  # the earlier ones too: nothing reaches back
        assert layers == meant
        assert list(layers) == list(meant)
        assert list(reversed(layers)) == list(reversed(meant))
        assert list(layers.items()) == list(meant.items())
        assert list(layers.keys()) == list(meant)
        assert list(layers.values()) == list(meant.values())
        assert len(layers) == len(meant)
        assert repr(layers) == repr(meant)
        for key in range(32):
            assert (key in layers) == (key in meant)
            assert layers.get(key) == meant.get(key)


def test_what_is_not_there_is_a_key_error() -> None:
    layers = Layers({"a": 1}).with_changes({"b": 2})
    with pytest.raises(KeyError):
        layers["c"]
    with pytest.raises(KeyError):
        Changes(layers)["c"]


def test_nothing_is_taken_out() -> None:
    changes = Changes(Layers({"a": 1}))
    with pytest.raises(TypeError):
        del changes["a"]


def test_a_change_copies_few_of_many() -> None:
    """What a step copies grows with the root of the size: counted, not timed."""
    layers = Layers({n: n for n in range(10_000)})
    base = layers._base
    copied = 0
    for n in range(1000):
        layers = layers.with_changes({n: -n})
        copied += len(layers._top)
        if layers._base is not base:
            base = layers._base
            copied += len(base)
    assert copied < 1000 * 200
