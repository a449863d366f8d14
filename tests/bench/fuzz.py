"""Fuzzing by the million: ``python -m tests.bench.fuzz [--seconds 60] [--reader NAME] [--inputs N]``.

Coverage-guided where atheris is installed (each reader in a process of its own); without it, or with
``--inputs``, the test run's own mutations, as many as asked for and with another seed each time.
Exit code 1 where a reader did anything but answer or raise one of our own errors, within the bounds.
"""

from __future__ import annotations

import argparse
import importlib.util
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ONE_READER = """
import atheris, sys
with atheris.instrument_imports(include=["fieldtui", "tomllib"]):
    from tests.fuzz.readers import OWN_ERRORS, READERS
read, seeds = READERS[sys.argv.pop(1)]
def one(data):
    try:
        read(data)
    except OWN_ERRORS:
        pass
atheris.Setup(sys.argv, one)
atheris.Fuzz()
"""
MOST_LENGTH = 16_384  # bytes of one input
MOST_WAIT_S = 2  # the engine reads the wall clock, on an instrumented program
MOST_RSS_MB = 256 + 128  # the program itself included


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=int, default=60, help="for each reader, with atheris")
    parser.add_argument("--inputs", type=int, help="for each reader, without atheris")
    parser.add_argument("--reader", action="append", help="only this one")
    arguments = parser.parse_args()
    from tests.fuzz.readers import READERS

    has_atheris = importlib.util.find_spec("atheris") is not None and arguments.inputs is None
    engine = "atheris" if has_atheris else "mutations"
    say(f"{'reader':14} {'engine':10} {'inputs':>10} {'seconds':>8}  found")
    bad = 0
    for name in arguments.reader or READERS:
        began = time.perf_counter()
        if has_atheris:
            inputs, found = guided(name, arguments.seconds)
        else:
            inputs, found = plain(name, arguments.inputs or 20_000)
        bad += bool(found)
        taken = time.perf_counter() - began
        say(f"{name:14} {engine:10} {inputs:10} {taken:8.0f}  {found or 'nothing'}")
    return 1 if bad else 0


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def guided(name: str, seconds: int) -> tuple[int, str]:
    """Inputs tried, and the end of what was said where something was found."""
    from tests.fuzz.readers import READERS

    with tempfile.TemporaryDirectory() as folder:
        corpus = Path(folder, "corpus")
        corpus.mkdir()
        for number, seed in enumerate(READERS[name][1]):
            (corpus / str(number)).write_bytes(seed[:MOST_LENGTH])
        command = [sys.executable, "-c", ONE_READER, name, str(corpus)]
        options = [f"-max_total_time={seconds}", f"-max_len={MOST_LENGTH}", f"-artifact_prefix={folder}/"]
        options += ["-print_final_stats=1", f"-timeout={MOST_WAIT_S}", f"-rss_limit_mb={MOST_RSS_MB}"]
        done = subprocess.run([*command, *options], capture_output=True, text=True, check=False)
    words = done.stderr
    inputs = [line for line in words.splitlines() if "number_of_executed_units" in line]
    count = int(inputs[0].rpartition(":")[2]) if inputs else 0
    return count, "" if done.returncode == 0 else words[-2000:]


def plain(name: str, inputs: int) -> tuple[int, str]:
    """The same without a guide."""
    from contextlib import suppress

    from hypothesis import HealthCheck, given, settings

    from tests.fuzz.bounds import bounded
    from tests.fuzz.mutations import mutated
    from tests.fuzz.readers import OWN_ERRORS, READERS

    read, seeds = READERS[name]
    tried = 0

    @settings(max_examples=inputs, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(mutated(seeds))
    def check(data: bytes) -> None:
        nonlocal tried
        tried += 1
        with bounded(), suppress(*OWN_ERRORS):
            read(data)

    try:
        check()
    except Exception as error:  # noqa: BLE001  whatever it is, it is the finding
        return tried, f"{type(error).__name__}: {error}"
    return tried, ""


if __name__ == "__main__":
    raise SystemExit(main())
