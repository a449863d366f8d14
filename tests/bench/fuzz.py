"""Fuzzing by the million: ``python -m tests.bench.fuzz [--inputs 1000000] [--seconds 420] [--reader NAME]``.

Coverage-guided by atheris (``pip install atheris``), each reader in a process of its own, from short
whole files, files that are deep, and the words of the formats; with ``--plain`` the test run's own
mutations instead. Exit code 1 where a reader did anything but answer or raise one of our own errors,
took more than a second of computing for one input, or grew by more than 256 MiB.
"""

from __future__ import annotations

import argparse
import importlib.util
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ONE_READER = """
import atheris, sys, time
with atheris.instrument_imports(include=["fieldtui"]):
    from tests.fuzz.readers import OWN_ERRORS, READERS
read, seeds = READERS[sys.argv.pop(1)]
slowest = 0.0
def one(data):
    global slowest
    began = time.thread_time()
    try:
        read(data)
    except OWN_ERRORS:
        pass
    taken = time.thread_time() - began
    if taken > slowest:
        slowest = taken
        sys.stderr.write(f"slowest input: {taken}\\n")
    assert taken <= 1.0, f"{taken} s for one input"
atheris.Setup(sys.argv, one)
atheris.Fuzz()
"""
ROOM = 160  # bytes that an input may be longer than the longest seed: what is short is tried often
MOST_WAIT_S = 60  # for an input that never ends; its computing is held to a second inside
MOST_RSS_MB = 64 + 256  # the program itself included


@dataclass
class Found:
    """What became of one reader."""

    engine: str
    inputs: int
    seconds: float
    slowest_ms: float = 0.0
    rss_mb: int = 0
    branches: int = 0
    trouble: str = ""

    def row(self, name: str) -> str:
        return (
            f"{name:14} {self.engine:10} {self.inputs:10,} {self.seconds:8.0f} {self.slowest_ms:11.0f} "
            f"{self.rss_mb:8} {self.branches:9}  {self.trouble or 'nothing'}"
        )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=1_000_000, help="at most, for each reader")
    parser.add_argument("--seconds", type=int, default=420, help="at most, for each reader")
    parser.add_argument("--plain", action="store_true", help="without a guide")
    parser.add_argument("--reader", action="append", help="only this one")
    arguments = parser.parse_args()
    from tests.fuzz.readers import READERS

    if not arguments.plain and importlib.util.find_spec("atheris") is None:
        say("atheris is not installed: pip install atheris, or --plain for mutations without a guide")
        return 2
    say("reader         engine         inputs  seconds  slowest ms  peak MB  branches  found")
    bad = total = 0
    for name in arguments.reader or READERS:
        if arguments.plain:
            found = plain(name, min(arguments.inputs, 20_000))
        else:
            found = guided(name, arguments.inputs, arguments.seconds)
        bad += bool(found.trouble)
        total += found.inputs
        say(found.row(name))
    say(f"{total:,} inputs, {bad} readers with findings")
    return 1 if bad else 0


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def guided(name: str, inputs: int, seconds: int) -> Found:
    """One reader under atheris, until it has had ``inputs`` or the time is over."""
    from tests.fuzz.mutations import TOKENS
    from tests.fuzz.small_seeds import small_seeds

    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        corpus = Path(folder, "corpus")
        corpus.mkdir()
        seeds = small_seeds(name)
        length = ROOM + max(map(len, seeds))
        for number, seed in enumerate(seeds):
            (corpus / str(number)).write_bytes(seed)
        words = Path(folder, "words")
        words.write_text("".join(f'"{_escaped(token)}"\n' for token in TOKENS if token), encoding="ascii")
        command = [sys.executable, "-c", ONE_READER, name, str(corpus)]
        options = [f"-runs={inputs}", f"-max_total_time={seconds}", f"-max_len={length}"]
        options += [
            f"-artifact_prefix={folder}/",
            f"-dict={words}",
            "-print_final_stats=1",
            "-use_value_profile=0",
        ]
        options += [f"-timeout={MOST_WAIT_S}", f"-rss_limit_mb={MOST_RSS_MB}"]
        done = subprocess.run([*command, *options], capture_output=True, check=False)
    lines = (done.stderr + done.stdout).decode(errors="replace").splitlines()
    return Found(
        "atheris",
        inputs=int(_last(lines, "number_of_executed_units:")),
        seconds=time.perf_counter() - began,
        slowest_ms=1000 * _last(lines, "slowest input:"),
        rss_mb=int(_last(lines, "peak_rss_mb:")),
        branches=int(_last(lines, "cov:")),
        trouble="" if done.returncode == 0 else "\n" + "\n".join(lines[-40:]),
    )


def _last(lines: list[str], label: str) -> float:
    """The number after the last ``label`` that was said, 0 where none was."""
    said = [line.partition(label)[2].split()[0] for line in lines if label in line]
    return float(said[-1]) if said else 0.0


def _escaped(token: str) -> str:
    """A word as the engine's dictionary has it."""
    return "".join(f"\\x{byte:02x}" for byte in token.encode(errors="surrogatepass"))


def plain(name: str, inputs: int) -> Found:
    """The same without a guide."""
    from contextlib import suppress

    from hypothesis import HealthCheck, given, settings

    from tests.fuzz.bounds import bounded
    from tests.fuzz.mutations import mutated
    from tests.fuzz.readers import OWN_ERRORS, READERS

    read, seeds = READERS[name]
    began = time.perf_counter()
    tried = 0

    @settings(max_examples=inputs, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(mutated(seeds))
    def check(data: bytes) -> None:
        nonlocal tried
        tried += 1
        with bounded(), suppress(*OWN_ERRORS):
            read(data)

    trouble = ""
    try:
        check()
    except Exception as error:  # noqa: BLE001  whatever it is, it is the finding
        trouble = f"{type(error).__name__}: {error}"
    return Found("mutations", tried, time.perf_counter() - began, trouble=trouble)


if __name__ == "__main__":
    raise SystemExit(main())
