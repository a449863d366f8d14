"""A session's time never goes backward, whatever is done to the machine's clock."""

from __future__ import annotations

from datetime import UTC, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.desk.clock import STEP_S, SessionClock, SystemClock, format_step
from tests.desk.scenes import START, SetClock


def seconds_since_start(clock: SessionClock) -> float:
    return (clock.now() - START).total_seconds()


def test_time_goes_on_as_the_clock_does() -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    machine.tick(1.5)
    assert seconds_since_start(clock) == 1.5
    assert clock.stepped is None


def test_a_step_forward_is_followed_and_told_once() -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    machine.step(3600)
    assert seconds_since_start(clock) == 3600
    assert clock.stepped == timedelta(hours=1)
    clock.step_told()
    machine.tick(1)
    assert (seconds_since_start(clock), clock.stepped) == (3601, None)


def test_a_step_back_is_told_and_not_followed() -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    machine.tick(10)
    machine.step(-3600)
    assert seconds_since_start(clock) == 10
    assert clock.stepped == timedelta(hours=-1)
    clock.step_told()
    machine.tick(5)
    assert (seconds_since_start(clock), clock.stepped) == (15, None)


def test_a_clock_put_back_and_then_right_again_never_goes_backward() -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    machine.step(-3600)
    assert seconds_since_start(clock) == 0
    machine.step(3600)
    assert seconds_since_start(clock) == 3600
    machine.step(-3600)
    assert seconds_since_start(clock) == 3600


def test_steps_that_nobody_was_told_of_are_added_up() -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    for step in (100, -30):
        machine.step(step)
        clock.now()
    assert clock.stepped == timedelta(seconds=70)


@pytest.mark.parametrize("seconds", [STEP_S, -STEP_S, 0.5, -0.5])
def test_a_clock_that_is_only_trimmed_has_not_stepped(seconds: float) -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    machine.step(seconds)
    assert (seconds_since_start(clock), clock.stepped) == (0, None)


def test_a_session_resumed_on_a_clock_that_lags_goes_on_from_its_last_time() -> None:
    machine = SetClock()
    clock = SessionClock(machine, not_before=START + timedelta(hours=1))
    assert clock.stepped == timedelta(hours=-1)
    machine.tick(2)
    assert seconds_since_start(clock) == 3602


def test_a_session_resumed_a_moment_too_early_is_no_step() -> None:
    machine = SetClock()
    clock = SessionClock(machine, not_before=START + timedelta(milliseconds=400))
    assert (seconds_since_start(clock), clock.stepped) == (0.4, None)


def test_a_session_resumed_later_goes_by_the_clock() -> None:
    clock = SessionClock(SetClock(), not_before=START - timedelta(days=3))
    assert (seconds_since_start(clock), clock.stepped) == (0, None)


moves = st.lists(
    st.tuples(st.sampled_from(["tick", "step"]), st.floats(-1e6, 1e6, allow_nan=False)), max_size=20
)


@given(moves, st.none() | st.floats(-1e5, 1e5, allow_nan=False))
def test_no_game_with_the_clock_turns_time_back(
    moves: list[tuple[str, float]], not_before: float | None
) -> None:
    machine = SetClock()
    earliest = START + timedelta(seconds=not_before) if not_before is not None else None
    clock = SessionClock(machine, earliest)
    last = clock.now()
    assert earliest is None or last >= earliest.replace(microsecond=earliest.microsecond // 1000 * 1000)
    for kind, seconds in moves:
        if kind == "tick":
            machine.tick(abs(seconds))
        else:
            machine.step(seconds)
        now = clock.now()
        assert now >= last
        assert now.microsecond % 1000 == 0
        last = now


@given(moves)
def test_every_larger_step_is_noticed(moves: list[tuple[str, float]]) -> None:
    machine = SetClock()
    clock = SessionClock(machine)
    for kind, seconds in moves:
        clock.now()
        clock.step_told()
        if kind == "step" and abs(seconds) > STEP_S + 0.001:
            off = clock.now(), machine.wall()
            machine.step(seconds)
            clock.now()
            assert clock.stepped is not None, off
        else:
            machine.tick(abs(seconds))


def test_the_machines_own_clock_is_in_utc_and_its_counter_goes_forward() -> None:
    clock = SystemClock()
    assert clock.wall().tzinfo is UTC
    first = clock.elapsed()
    assert clock.elapsed() >= first


def test_a_system_without_a_counter_through_sleep_takes_the_other_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delattr("time.CLOCK_BOOTTIME", raising=False)
    clock = SystemClock()
    assert clock.elapsed() <= clock.elapsed()


@pytest.mark.parametrize(
    ("seconds", "sentence"),
    [
        (3600.4, "the machine's clock went forward by 3600 s"),
        (-90, "the machine's clock went back by 90 s"),
    ],
)
def test_a_step_in_words(seconds: float, sentence: str) -> None:
    assert format_step(timedelta(seconds=seconds)) == sentence
