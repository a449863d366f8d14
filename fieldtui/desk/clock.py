"""Time as the desk sees it. The real clock lives here; everything else is handed one.

A session's time never goes backwards. Between two looks the wall clock is held against a
counter that nobody can set; where they part by more than ``STEP_S`` the clock was stepped,
which is an event of its own. A step forward is followed; a step back is not: the session goes on
from its last time at the counter's pace.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

STEP_S = 2.0  # seconds between wall clock and counter that count as a step


class Clock(Protocol):
    """A wall clock and a counter."""

    def wall(self) -> datetime:
        """The time of day, UTC."""
        ...

    def elapsed(self) -> float:
        """Seconds on a counter that only goes forward, sleep of the machine included if it can."""
        ...


class SystemClock:
    """The machine's own clocks."""

    def wall(self) -> datetime:
        return datetime.now(UTC)

    def elapsed(self) -> float:
        boottime = getattr(time, "CLOCK_BOOTTIME", None)  # counts through suspend; not on Windows
        if boottime is None:
            return time.monotonic()
        seconds: float = getattr(time, "clock_gettime")(boottime)  # noqa: B009  no such name on Windows
        return seconds


class SessionClock:
    """A clock whose time never goes backwards, and that notices when the wall clock is stepped."""

    def __init__(self, clock: Clock, not_before: datetime | None = None) -> None:
        self._clock = clock
        wall = clock.wall()
        self.stepped: timedelta | None = None  # a step not yet told, wall minus expected
        self._base = wall
        if not_before is not None and wall < not_before:
            self._base = not_before
            if _is_step(wall - not_before):
                self.stepped = wall - not_before
        self._offset = wall - self._base  # how far the wall clock is known to be off
        self._start = clock.elapsed()

    def now(self) -> datetime:
        """The session's time, UTC, to the millisecond."""
        expected = self._base + timedelta(seconds=self._clock.elapsed() - self._start)
        wall = self._clock.wall() - self._offset
        gap = wall - expected
        if _is_step(gap):
            self.stepped = gap + (self.stepped or timedelta(0))
            if gap > timedelta(0):
                self._base += gap  # forward: follow
                expected += gap
            else:
                self._offset += gap  # backward: never follow
        return expected.replace(microsecond=expected.microsecond // 1000 * 1000)

    def elapsed(self) -> float:
        """Seconds on a counter that is never set."""
        return self._clock.elapsed()

    def step_told(self) -> None:
        """The step is on record."""
        self.stepped = None


def _is_step(gap: timedelta) -> bool:
    return abs(gap.total_seconds()) > STEP_S


def format_step(stepped: timedelta) -> str:
    """A step as the sentence that goes into the trail."""
    seconds = round(stepped.total_seconds())
    return f"the machine's clock went {'forward' if seconds > 0 else 'back'} by {abs(seconds)} s"
