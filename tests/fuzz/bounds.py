"""The two bounds of every input: 256 MiB of memory, and an end to its computing.

An input should take a second at most; ``tests.bench.hostile`` and ``tests.bench.fuzz`` print what inputs
do take. The test run must not depend on the machine's speed, so there it fails only where an input takes
several times as long, as anything does whose work grows with the square of the input.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

GOAL_SECONDS = 1.0
MOST_SECONDS = 5.0
MOST_BYTES = 256 * 1024 * 1024
seconds_taken: list[float] = []  # by each input, for the bench


@contextmanager
def bounded(seconds: float = MOST_SECONDS) -> Iterator[None]:
    """Run what is inside with at most :data:`MOST_BYTES` more memory, and hold its time to ``seconds``.

    The memory limit is the system's own and raises ``MemoryError`` inside; where the system has none,
    only the time is held. Time is that of this thread's computing, so that a busy machine does not count.
    """
    began = time.thread_time()
    with _limited_memory():
        yield
    taken = time.thread_time() - began
    seconds_taken.append(taken)
    assert taken <= seconds, f"{taken:.2f} s for one input"


@contextmanager
def _limited_memory() -> Iterator[None]:
    if sys.platform != "linux":
        yield
        return
    import resource

    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (pages * resource.getpagesize() + MOST_BYTES, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)
