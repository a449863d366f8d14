"""A meter's memory read out into a CSV file: entries in order, every problem with its line."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.errors import BadInputError
from fieldtui.files.csv_lines import MAX_PROBLEMS, MORE_PROBLEMS
from fieldtui.files.memory_list import parse_memory_list


def read(text: str) -> list[MemoryEntry]:
    return parse_memory_list(text.encode(), "list.csv", Unit.MOHM)


def test_entries_come_in_their_order_with_the_digits_as_they_stand() -> None:
    found = read("number,value,run,unit,state\n1,1.50,1,,\n2,950u,,,\n4,0.3,1,ohm,erased\n3,,,,erased\n")
    assert found == [
        MemoryEntry(run=1, number=1, reading=Resistance(Decimal("1.50"), Unit.MOHM)),
        MemoryEntry(run=None, number=2, reading=Resistance(Decimal("950"), Unit.UOHM)),
        MemoryEntry(run=1, number=4, reading=Resistance(Decimal("0.3"), Unit.OHM), erased=True),
        MemoryEntry(run=None, number=3, reading=None, erased=True),
    ]


def test_an_entry_that_shows_no_value_has_a_state_of_its_own() -> None:
    """Over range or open contact, filed all the same; what the display says may stand beside the state."""
    empty = [MemoryEntry(None, number, None) for number in (1, 2)]
    assert read("number,value,state\n1,,no-value\n2,OL,No-Value\n") == empty
    for value, words in (
        ("OL", "write the state no-value beside it"),
        ("open", "write the state no-value beside it"),
        ("", "write the value, or the state erased, or no-value where the meter shows none"),
        ("1..2", "write the value as the meter shows it"),
    ):
        with pytest.raises(BadInputError) as caught:
            read(f"number,value,state\n1,{value},\n")
        assert [problem.remedy for problem in caught.value.problems] == [words]


def test_an_entry_knows_its_line() -> None:
    assert [each.line for each in read("number,value\n1,1.5\n\n2,1.6\n")] == [2, 4]


def test_an_entry_without_a_number_is_an_entry() -> None:
    assert read("number,value\n,1.5\n")[0].number is None


def test_every_bad_line_is_told_at_once() -> None:
    with pytest.raises(BadInputError) as caught:
        read("number,value,unit,state\none,1.5,,\n2,,,\n3,abc,,\n4,1.5,miles,\n5,1.5,,gone\n")
    problems = caught.value.problems
    assert [(problem.line, problem.field) for problem in problems] == [
        (2, "number"), (3, "value"), (4, "value"), (5, "unit"), (6, "state"),
    ]  # fmt: skip
    assert caught.value.what.startswith("The memory list has 5 problems")
    with pytest.raises(BadInputError, match="has 1 problem;"):
        read("number,value\n1,\n")


def test_of_problems_without_end_a_part_is_listed_and_the_rest_is_said_to_be_there() -> None:
    with pytest.raises(BadInputError) as caught:
        read("number,value\n" + "x,\n" * MAX_PROBLEMS)
    problems = caught.value.problems
    assert len(problems) == MAX_PROBLEMS + 1
    assert problems[-1].what == MORE_PROBLEMS


def test_a_list_without_an_entry_is_refused() -> None:
    for text in ("number,value\n", "run,number,value,unit,state\n\n\n"):
        with pytest.raises(BadInputError) as caught:
            read(text)
        assert [problem.what for problem in caught.value.problems] == ["there is no entry below the header"]


def read_volts(text: str, *currents: str) -> list[MemoryEntry]:
    return parse_memory_list(text.encode(), "list.csv", Unit.MOHM, [Decimal(each) for each in currents])


def test_voltages_stand_with_their_sign_and_the_current_they_were_read_at() -> None:
    found = read_volts("number;value;unit\n1;-0,52;mV\n2;550;uV/10mA\n3;1,2;mohm\n", "100")
    assert [each.reading.cells for each in found if each.reading is not None] == [
        ("-0.52", "mV/100mA"),
        ("550", "uV/10mA"),
        ("1.2", "mohm"),
    ]


@pytest.mark.parametrize(
    ("currents", "what"),
    [
        ((), "a voltage, and no point of this session is read in volt"),
        (("10", "100"), "a voltage of which current? This session reads voltages at 10 mA, 100 mA"),
    ],
)
def test_a_voltage_of_an_unknown_current_is_told(currents: tuple[str, ...], what: str) -> None:
    with pytest.raises(BadInputError) as caught:
        read_volts("number,value,unit\n1,0.52,mV\n2,0.52,mV/0mA\n3,--1,mV/10mA\n", *currents)
    assert [(each.line, each.field) for each in caught.value.problems] == [
        (2, "unit"), (3, "unit"), (4, "value"),
    ]  # fmt: skip
    assert caught.value.problems[0].what == what
    assert "mV/100mA" in caught.value.problems[0].remedy


def test_a_current_that_is_no_number_is_told_as_a_unit_that_is_none() -> None:
    with pytest.raises(BadInputError) as caught:
        read_volts("number,value,unit\n1,0.52,mV/1234567890mA\n", "100")
    assert [(each.line, each.field) for each in caught.value.problems] == [(2, "unit")]


def test_a_unit_that_is_none_is_told_once_and_the_value_is_read_all_the_same() -> None:
    with pytest.raises(BadInputError) as caught:
        read("number,value,unit\n1,0.52,mV/x\n")
    assert [(problem.line, problem.field) for problem in caught.value.problems] == [(2, "unit")]
