"""What the speed benches share: a bare pseudo-terminal, turns taken by the ways compared, medians.

Absolute times are the machine's, so a bench prints ratios: every round does each way once, and the
ratio is the median over the rounds of one way's time to the first way's in the same round.
"""

from __future__ import annotations

import os
import signal
import statistics
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from tests.crash.pseudo import TOP, Pseudo, terminal_environment

__all__ = ["NO_GOAL", "TOP", "Goals", "Pty", "percentile", "show"]

_PATIENCE_S = 60.0


class Pty(Pseudo):
    """A Python module under a pseudo-terminal whose bytes are only kept, so that looking costs nothing."""

    def __init__(self, module: str, arguments: Sequence[str], folder: Path) -> None:
        self.sent = 0.0  # when keys were last typed
        environment = terminal_environment()
        # Compiled once and kept, as where it is installed, whatever is set here; a first start fills it.
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        environment["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
        self.began = time.perf_counter()
        super().__init__([sys.executable, "-m", module, *arguments], folder, environment)

    def send(self, keys: str) -> int:
        """Type; returns where the bytes begin that answer."""
        here = len(self.raw)
        self.sent = time.perf_counter()
        self.type(keys)
        return here

    def wait_for(self, words: str, since: int = 0) -> float:
        """Seconds on the clock of ``perf_counter`` at which the bytes after ``since`` held the words."""
        wanted = words.encode()
        until = time.perf_counter() + _PATIENCE_S
        while wanted not in self.raw[since:]:
            if time.perf_counter() > until or not self.look(0.5):
                raise AssertionError(f"{words!r} never came: {bytes(self.raw[-2000:])!r}")
        return time.perf_counter()

    def rest(self, seconds: float = 0.15) -> None:
        """Read until nothing came for a while."""
        seen = -1
        while seen != len(self.raw):
            seen = len(self.raw)
            if not self.look(seconds):
                return

    def memory_kib(self) -> int:
        """Resident memory of the program, KiB."""
        status = Path(f"/proc/{self.pid}/status").read_text(encoding="utf-8")
        (line,) = [line for line in status.splitlines() if line.startswith("VmRSS:")]
        return int(line.split()[1])

    def processor_seconds(self) -> float:
        """Time on a processor so far, user and system: less shaken by other programs than the clock."""
        fields = Path(f"/proc/{self.pid}/stat").read_text(encoding="utf-8").rpartition(") ")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def kill(self) -> None:
        self.signal(signal.SIGKILL)
        self.close()


def percentile(values: Sequence[float], part: float) -> float:
    return sorted(values)[min(len(values) - 1, int(len(values) * part))]


Goals = dict[str, tuple[float, float]]
NO_GOAL = float("inf")


def show(found: dict[str, list[float]], unit: str = "ms", goals: Goals | None = None) -> None:
    """Each way's median and 99th percentile, and both as ratios to those of the first way in the same run.

    ``round by round`` is the median of the ratios within a round; ``goals`` are the largest ratios of the
    median and of the 99th percentile.
    """
    first = next(iter(found.values()))
    for name, values in found.items():
        middle, far = statistics.median(values), percentile(values, 0.99)
        ratios = middle / statistics.median(first), far / percentile(first, 0.99)
        rounds = statistics.median(one / other for one, other in zip(values, first, strict=True))
        goal = (goals or {}).get(name)
        said = "" if goal is None else f"  goal {goal[0]:g}, {goal[1]:g}"
        if goal is not None and any(ratio > most for ratio, most in zip(ratios, goal, strict=True)):
            said += "  MISSED"
        sys.stdout.write(
            f"{name:40}{len(values):5} x  p50 {middle:8.2f} {unit}  p99 {far:8.2f} {unit}"
            f"  ratio {ratios[0]:5.2f}  p99 {ratios[1]:5.2f}  round by round {rounds:5.2f}{said}\n"
        )
    sys.stdout.write("\n")
