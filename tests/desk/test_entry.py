"""What was keyed on the entry line: a value, or a memory number and a value, and what is doubtful."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Unit
from fieldtui.desk.entry import DoubtKind, parse_memory_number, weigh
from fieldtui.errors import BadInputError, FieldtuiError, WrongUseError
from tests.core.walks import Walk, point


def at_a_point() -> Walk:
    return Walk("SW-01", "SW-02").start_run(17)


@pytest.mark.parametrize(
    ("text", "digits", "unit", "number"),
    [
        ("1.38", "1.38", Unit.MOHM, None),
        (" 1.38 ", "1.38", Unit.MOHM, None),
        ("17 1.38", "1.38", Unit.MOHM, 17),
        ("17\t1.38m", "1.38", Unit.MOHM, 17),
        ("17 R47", "0.47", Unit.OHM, 17),
        ("017 950u", "950", Unit.UOHM, 17),
        ("950 uohm", "950", Unit.UOHM, None),
        ("2.1 R", "2.1", Unit.OHM, None),
        ("12 m", "12", Unit.MOHM, None),
    ],
)
def test_a_value_or_a_memory_number_and_a_value(
    text: str, digits: str, unit: Unit, number: int | None
) -> None:
    entry = weigh(text, at_a_point().survey)
    assert (entry.reading.digits, entry.reading.unit, entry.number) == (digits, unit, number)
    assert entry.text == text


def test_an_entry_says_what_will_be_said() -> None:
    entry = weigh("2.500", at_a_point().survey)
    assert (entry.verdict.value, entry.read_back) == ("pass", "two decimal five zero zero milliohms")
    assert entry.doubts == ()
    assert weigh("2.501", at_a_point().survey).verdict.value == "fail"


def test_the_verdict_is_of_the_take_so_far() -> None:
    walk = Walk(point("SW-01", repeats=3, rule="median")).read("9.9").read("1.0")
    assert weigh("1.1", walk.survey).verdict.value == "pass"
    assert weigh("3.0", walk.survey).verdict.value == "fail"


def test_another_memory_number_than_expected_is_a_doubt() -> None:
    (doubt,) = weigh("18 1.38", at_a_point().survey).doubts
    assert (doubt.kind, doubt.what) == (DoubtKind.NUMBER, "memory number 18 keyed, 17 expected")
    (doubt,) = weigh("18 1.38", Walk("SW-01").survey).doubts
    assert doubt.what == "memory number 18 keyed, but no memory run has begun"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no value keyed"),
        ("1..3", "more than one point"),
        ("17 1,38", "use a point for decimals"),
        ("1.38 17", "1.38: a memory number is digits only"),
        ("x 1.38", "x: a memory number is digits only"),
        ("-1 1.38", "-1: a memory number is digits only"),
        ("1 2 3", "1 2 3: not a value"),
        ("0 1.38", "memory number 0 is below this meter's first, 1"),
        ("129 1.38", "memory number 129 is beyond this meter's last, 128"),
        ("1234567 1.38", "1234567: a memory number is digits only"),
    ],
)
def test_what_cannot_be_understood_says_why_and_that_nothing_was_recorded(text: str, why: str) -> None:
    with pytest.raises(BadInputError) as refused:
        weigh(text, at_a_point().survey)
    assert why in refused.value.what
    assert "key it again" in refused.value.remedy


def test_nothing_is_weighed_without_a_point_or_with_a_full_memory() -> None:
    with pytest.raises(WrongUseError, match="No point is left to take"):
        weigh("1.38", Walk("SW-01").read().survey)
    with pytest.raises(WrongUseError, match="The meter's memory is full at 128"):
        weigh("1.38", Walk("SW-01", "SW-02").start_run(128).read().survey)


@pytest.mark.parametrize("text", ["", " ", "1.5", "-1", "+1", "１", "1e3", "0x1", "1_0", "1 2", "1234567"])
def test_a_memory_number_is_digits_only(text: str) -> None:
    with pytest.raises(BadInputError):
        parse_memory_number(text)


@given(st.integers(0, 999_999))
def test_any_memory_number_is_understood(number: int) -> None:
    assert parse_memory_number(f" {number} ") == number


@given(st.text(max_size=20))
def test_anything_keyed_is_understood_or_refused_in_words(text: str) -> None:
    try:
        entry = weigh(text, at_a_point().survey)
    except FieldtuiError as refused:
        assert refused.what
        assert refused.remedy
    else:
        assert entry.read_back
