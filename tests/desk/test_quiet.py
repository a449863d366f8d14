from __future__ import annotations

import gc

import pytest

from fieldtui.desk.quiet import collector_at_rest


def test_the_collector_rests_and_goes_on() -> None:
    assert gc.isenabled()
    with collector_at_rest():
        assert not gc.isenabled()
        with collector_at_rest():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()


def test_it_goes_on_after_an_error() -> None:
    with pytest.raises(ValueError, match="damaged"), collector_at_rest():
        raise ValueError("damaged")
    assert gc.isenabled()
