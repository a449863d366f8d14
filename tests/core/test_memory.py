"""The meter counts, the record predicts: numbers, room, full and empty memories."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.memory import begin_run, number_refusal

METER = Instrument(id="m", title="meter", memory_size=3)
FROM_NOUGHT = replace(METER, first_number=0)
UNBOUNDED = replace(METER, memory_size=0)


def test_a_run_fills_up_reading_by_reading() -> None:
    run = begin_run(METER, run=1, number=1)
    seen = []
    while not run.is_full:
        seen.append((run.next_number, run.filed_last, run.room))
        run = run.after(run.next_number)
    assert seen == [(1, None, 3), (2, 1, 2), (3, 2, 1)]
    assert (run.filed_last, run.room, run.is_full) == (3, 0, True)


def test_a_memory_that_counts_from_nought_ends_one_lower() -> None:
    run = begin_run(FROM_NOUGHT, run=1, number=0)
    assert (run.filed_last, run.last_number, run.room) == (None, 2, 3)
    assert run.after(0).filed_last == 0
    assert not run.after(1).is_full
    assert run.after(2).is_full


def test_a_run_begun_in_a_memory_that_was_not_cleared_knows_the_number_shown() -> None:
    run = begin_run(METER, run=1, number=3)
    assert (run.filed_last, run.room) == (2, 1)


def test_a_meter_of_unknown_size_is_never_full() -> None:
    run = begin_run(UNBOUNDED, run=1, number=1).after(999_998)
    assert (run.is_full, run.room, run.next_number) == (False, None, 999_999)


@pytest.mark.parametrize(
    ("instrument", "number", "why"),
    [
        (METER, 0, "memory number 0 is below this meter's first, 1"),
        (METER, 1, None),
        (METER, 3, None),
        (METER, 4, "memory number 4 is beyond this meter's last, 3"),
        (FROM_NOUGHT, 0, None),
        (FROM_NOUGHT, 3, "memory number 3 is beyond this meter's last, 2"),
        (UNBOUNDED, 999_999, None),
    ],
)
def test_numbers_a_meter_cannot_have(instrument: Instrument, number: int, why: str | None) -> None:
    assert number_refusal(instrument, number) == why


@given(st.integers(0, 5), st.integers(1, 40), st.integers(0, 60))
def test_room_is_what_can_still_be_filed(first: int, size: int, filed: int) -> None:
    meter = Instrument(id="m", title="m", memory_size=size, first_number=first)
    run = begin_run(meter, run=1, number=first)
    for _ in range(min(filed, size)):
        run = run.after(run.next_number)
    assert run.room == size - min(filed, size)
    assert run.is_full == (filed >= size)
    assert (number_refusal(meter, run.next_number) is None) == (not run.is_full)
