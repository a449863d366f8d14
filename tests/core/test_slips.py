"""Keying slips: named, explained and turned back."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.slips import Slip, candidates, explain, kinds_of_wrong, ticks
from tests.bench.crew import mis_keyed

READINGS = st.builds(
    lambda digits, places: Resistance(Decimal(digits).scaleb(-places), Unit.MOHM),
    st.integers(100, 9999),
    st.integers(0, 3),
)
OF_DIGITS = [slip for slip in Slip if slip is not Slip.REPEATED]


def r(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


@pytest.mark.parametrize(
    ("keyed", "true", "slip"),
    [
        ("1.48", "1.38", Slip.REPLACED),
        ("1.83", "1.38", Slip.SWAPPED),
        ("1.8", "1.38", Slip.OMITTED),
        ("11.38", "1.38", Slip.ADDED),
        ("1.358", "1.38", Slip.ADDED),
        ("13.8", "1.38", Slip.POINT_MOVED),
        ("138", "1.38", Slip.POINT_MOVED),
        ("1.38r", "1.38", Slip.UNIT_WRONG),
        ("1.38u", "1.38", Slip.UNIT_WRONG),
        ("1380", "1.38", Slip.UNIT_WRONG),
        ("1.5", "12.5", Slip.OMITTED),
        ("2.5", "12.5", Slip.OMITTED),
        ("0.74", "0.47", Slip.SWAPPED),
    ],
)
def test_one_slip_is_named(keyed: str, true: str, slip: Slip) -> None:
    assert explain(r(keyed), r(true)) is slip


@pytest.mark.parametrize(("keyed", "true"), [("1.38", "1.38"), ("1.380", "1.38"), ("0.00138r", "1.38")])
def test_equal_values_need_no_slip(keyed: str, true: str) -> None:
    assert explain(r(keyed), r(true)) is None


@pytest.mark.parametrize(
    ("keyed", "listed", "same"),
    [
        ("1.384", "1.38", True),
        ("1.385", "1.38", True),  # half a step of the coarser: either rounding may be the display's
        ("1.386", "1.38", False),
        ("1.4", "1.38", True),
        ("1.5", "1.38", False),
    ],
)
def test_display_rounding_is_allowed_for(keyed: str, listed: str, same: bool) -> None:
    assert ticks(r(keyed)).is_same(ticks(r(listed))) is same


@pytest.mark.parametrize(
    ("keyed", "listed", "slip"),
    [
        ("1.834", "1.38", Slip.SWAPPED),
        ("13.84", "1.38", Slip.POINT_MOVED),
        ("1.384r", "1.38", Slip.UNIT_WRONG),
        ("362", "0.36", Slip.UNIT_WRONG),
        ("2.384", "1.38", Slip.REPLACED),
    ],
)
def test_a_slip_is_seen_through_a_list_with_fewer_digits(keyed: str, listed: str, slip: Slip) -> None:
    assert explain(r(keyed), r(listed)) is slip


def test_a_value_of_nowhere_is_not_explained() -> None:
    assert explain(r("9.99"), r("1.38")) is None


def test_a_repetition_is_named_only_where_nothing_else_explains() -> None:
    assert explain(r("4.72"), r("1.38"), previous=r("4.72")) is Slip.REPEATED
    assert explain(r("1.83"), r("1.38"), previous=r("1.83")) is Slip.SWAPPED


@given(READINGS, st.sampled_from(OF_DIGITS), st.integers(0, 2**32))
def test_every_planted_slip_is_explained_and_can_be_turned_back(
    true: Resistance, slip: Slip, seed: int
) -> None:
    keyed = mis_keyed(true, slip, None, Random(seed))
    if ticks(keyed).is_same(ticks(true)):
        assert explain(keyed, true) is None
        return
    assert explain(keyed, true) is not None
    back = {ticks(value).value for kind, value in candidates(keyed) if kind is slip}
    assert ticks(true).value in back


@given(READINGS)
def test_candidates_differ_from_what_was_keyed_and_are_explained(keyed: Resistance) -> None:
    found = list(candidates(keyed))
    assert {slip for slip, _ in found} >= {Slip.REPLACED, Slip.OMITTED, Slip.POINT_MOVED, Slip.UNIT_WRONG}
    for _, value in found:
        assert value.value > 0
        assert value.ohms != keyed.ohms
        assert ticks(value).is_same(ticks(keyed)) or explain(keyed, value) is not None


@given(READINGS, st.sampled_from(OF_DIGITS))
def test_a_slip_spreads_over_its_ways_and_over_nothing_else(true: Resistance, slip: Slip) -> None:
    kinds = kinds_of_wrong(ticks(true), true.unit)
    chances = {value: chance for value, ways in kinds.items() for kind, chance in ways if kind is slip}
    assert sum(chances.values()) == pytest.approx(1.0) or slip in (Slip.SWAPPED, Slip.OMITTED)
    assert bool(chances) or len(set(true.digits) - {"."}) <= 2  # such as 1.00: nothing to swap or miss
    assert ticks(true).value not in chances
