"""The calls that the disk object says it makes are the calls that the system sees, one for one."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.crash.traced import Call

ROOT = Path(__file__).resolve().parents[2]
# Everything that could change or read a file, so that a call past the disk object shows as well.
TRACED = (
    "mkdir,mkdirat,openat,open,creat,write,writev,pwrite64,pwritev,read,readv,pread64,preadv,fsync,fdatasync,"
    "sync_file_range,syncfs,rename,renameat,renameat2,unlink,unlinkat,link,linkat,truncate,ftruncate,fallocate,"
    "flock,copy_file_range,sendfile,chmod,fchmod,fchmodat"
)
_LINE = re.compile(r"(?:\d+ +)?(\w+)\((.*)\) += (-?\d+)")


@pytest.fixture(scope="module")
def trace(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Call], list[Call]]:
    """The calls as the disk object told them, and as the system saw them."""
    if shutil.which("strace") is None:
        pytest.skip("strace is wanted")
    folder = tmp_path_factory.mktemp("traced")
    output = folder / "strace.txt"
    strace = ["strace", "--follow-forks", "--decode-fds=path", "--string-limit=0", f"--output={output}"]
    program = [sys.executable, "-m", "tests.crash.traced", str(folder)]
    done = subprocess.run(
        [*strace, f"--trace={TRACED}", *program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    if "ptrace" in done.stderr and "not permitted" in done.stderr:
        pytest.skip("tracing is not permitted here")
    assert done.returncode == 0, done.stderr
    told = [(call, name, size) for call, name, size in json.loads(done.stdout)]
    lines = output.read_text(encoding="utf-8").splitlines()
    seen = [call for line in lines if (call := seen_call(line, str(folder))) is not None]
    return from_the_first_folder(told), from_the_first_folder(seen)


def from_the_first_folder(calls: list[Call]) -> list[Call]:
    """Without what is read before the session begins."""
    return calls[[call for call, _, _ in calls].index("mkdir") :]


def seen_call(line: str, folder: str) -> Call | None:
    """A line of the tracer in the words of the disk object; None where it is of no concern."""
    found = _LINE.match(line)
    if found is None or f"{folder}/routes" in line or folder not in line:
        return None
    call, arguments, answer = found[1], found[2], int(found[3])
    paths = re.findall(rf"{re.escape(folder)}[^\">,]*", f"{call}({arguments}")
    name = Path(paths[-1]).name
    if call == "openat":
        flags = set(re.findall(r"O_[A-Z]+", arguments))
        if "O_CREAT" in flags:
            return ("create", name, 0)
        return ("open", name, 0) if flags & {"O_WRONLY", "O_RDWR", "O_TRUNC"} else None
    if call == "ftruncate":
        return (call, name, int(arguments.rpartition(", ")[2]))
    return (call, name, answer if call in ("write", "pread64") else 0)


def test_no_call_goes_past_the_disk_object(trace: tuple[list[Call], list[Call]]) -> None:
    told, seen = trace
    assert seen == told


def test_each_append_is_one_write_one_sync_one_read_back(trace: tuple[list[Call], list[Call]]) -> None:
    _, seen = trace
    trail = [(call, size) for call, name, size in seen if name == "trail.csv"]
    writes = [place for place, (call, size) in enumerate(trail) if call == "write" and size > 16]
    assert len(writes) > 8  # and the 16 bytes are the half row that the script put there itself
    for place in writes:
        size = trail[place][1]
        assert trail[place + 1 : place + 3] == [("fdatasync", 0), ("pread64", size)]
