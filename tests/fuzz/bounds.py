"""The two bounds of every input: one second of computing, 256 MiB of memory."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

MOST_SECONDS = 1.0
MOST_BYTES = 256 * 1024 * 1024


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
