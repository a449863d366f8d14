"""The meter counts, the record predicts: numbers, room, full and empty memories."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.memory import begin_run, number_refusal
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk

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


@pytest.mark.parametrize("stays_used", [True, False])
def test_a_record_whose_entry_was_deleted_keeps_its_number_only_where_it_stays_used(stays_used: bool) -> None:
    meter = replace(METER, erased_number_stays_used=stays_used)
    walk = Walk("SW-01", "SW-02", "SW-03", instrument=meter).start_run().read().read()
    walk.tell(ev.Erased, ref=2, reason="wrong clip")
    assert [(r.number, r.is_erased) for r in walk.survey.records.values()] == [
        (1, False),
        (2 if stays_used else None, True),
    ]
    assert walk.survey.next_number == (3 if stays_used else 2)


def test_another_meter_leaves_the_numbers_of_the_first_behind() -> None:
    """One without a memory: no run begins, and nothing is out of step or due any more."""
    walk = Walk("SW-01", "SW-02", "SW-03", instrument=METER, check_every=1).start_run().read()
    walk.tell(ev.NumberChecked, run=1, number=7, verdict=ev.Agreement.DIFFER, ref=1)
    assert (walk.survey.out_of_step, walk.survey.check_due) == (True, "1 readings since the last")
    other = Instrument(id="plain", title="Plain meter", unit=Unit.MOHM)
    walk.tell(ev.MeterTaken, ref="plain", reason="flat battery", definition=format_meter(other))
    assert (walk.survey.out_of_step, walk.survey.check_due, walk.survey.next_number) == (False, "", None)
    assert walk.survey.first_unchecked == 2


def test_a_number_check_is_due_after_the_first_reading_of_a_later_run() -> None:
    """A record that took the memory for full too early is one off from here on, and nothing else tells."""
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").start_run().read()
    assert walk.survey.check_due == ""
    walk.start_run()
    assert walk.survey.check_due == ""
    walk.read()
    assert walk.survey.check_due == "memory run 2 has begun"
    walk.tell(ev.NumberChecked, run=2, number=1, verdict=ev.Agreement.AGREE, ref=1).read()
    assert walk.survey.check_due == ""
