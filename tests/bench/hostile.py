"""What hostile files cost: ``python -m tests.bench.hostile``.

Runs ``tests/fuzz/test_hostile_files.py`` in this process and prints the inputs that took longest, in
seconds of this thread's computing. Exit code 1 where one took more than its second, or a test failed.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import pytest

from tests.fuzz import bounds

SHOWN = 10


class Slowest:
    """A plugin that notes each test's slowest input."""

    def __init__(self) -> None:
        self.by_test: list[tuple[float, str]] = []
        self.inputs = 0

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        bounds.seconds_taken.clear()
        yield
        self.inputs += len(bounds.seconds_taken)
        self.by_test.append((max(bounds.seconds_taken, default=0.0), item.name))


def main() -> int:
    slowest = Slowest()
    code = pytest.main(["-q", "-p", "no:xdist", "tests/fuzz/test_hostile_files.py"], plugins=[slowest])
    sys.stdout.write(f"{slowest.inputs} inputs; goal for each: at most {bounds.GOAL_SECONDS} s\n")
    worst = sorted(slowest.by_test, reverse=True)[:SHOWN]
    for seconds, name in worst:
        sys.stdout.write(f"{seconds:6.2f} s  {name}\n")
    return int(code != 0 or worst[0][0] > bounds.GOAL_SECONDS)


if __name__ == "__main__":
    raise SystemExit(main())
