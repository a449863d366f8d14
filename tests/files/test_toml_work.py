"""How much work a TOML file can make: bounded for every shape of junk, counted in calls, not in seconds."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from fieldtui.desk.reading import read_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.files.toml.scan import MAX_STEPS, MAX_VALUES
from fieldtui.files.toml.text import MAX_BYTES, parse_toml
from tests.ui.walking import begin_desk, route_text

MOST_CALLS = 9_500_000  # of functions, Python's and the interpreter's own: under a second on the test machine
DEEP = ".".join("abcdefghijklmno")


def as_many(lines: Iterable[str]) -> bytes:
    """Lines until the file is as large as a file can be, or holds more than can be read."""
    kept, size = [], 0
    for number, line in enumerate(lines):
        size += len(line)
        if size > MAX_BYTES or number > MAX_VALUES:
            break
        kept.append(line)
    return "".join(kept).encode()


SHAPES = {
    "keys": as_many(f"k{n}=1\n" for n in count()),
    "keys with a backslash": as_many(f'"k{n}\\n"=1\n' for n in count()),
    "keys in one deep table": as_many(f"{DEEP}.k{n}=1\n" for n in count()),
    "deep inline tables": b"a=[" + b"{b.c.d.e.f.g.h.i.j=1}," * 90_000 + b"]",
    "lines continued": b'a="""' + b"\\\n" * (MAX_BYTES // 2 - 8) + b'"""',
}


def calls_of(data: bytes) -> int:
    """Function calls that reading makes, whether it is refused or not."""
    calls = 0

    def seen(frame: Any, event: str, argument: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        parse_toml(data, "junk.toml")
    except BadInputError as error:
        assert error.problems
    finally:
        sys.setprofile(None)
    return calls


@pytest.mark.parametrize("name", SHAPES)
def test_the_work_is_bounded_whatever_the_shape(name: str) -> None:
    assert calls_of(SHAPES[name]) <= MOST_CALLS


def test_what_is_too_much_is_refused_before_it_is_parsed() -> None:
    lines = MAX_STEPS // (len(DEEP.split(".")) + 1) + 1
    data = "".join(f"{DEEP}.k{n}=1\n" for n in range(lines)).encode()
    with pytest.raises(BadInputError) as caught:
        parse_toml(data, "deep.toml")
    (problem,) = caught.value.problems
    assert (problem.line, problem.what) == (lines, "too many values deep in nested tables")
    assert parse_toml(data.rpartition(DEEP.encode())[0], "deep.toml").data


def test_a_route_of_ten_thousand_points_is_not_too_much() -> None:
    point = '[[points]]\nid = "P-{0}"\nsection = "A"\ntitle = "Strap"\nwhere = "zone"\na = "x"\nb = "y"\n'
    data = "".join(point.format(n) + 'limit = { max = 2.5, cmp = "<" }\n' for n in range(10_000)).encode()
    assert len(parse_toml(data, "route.toml").data["points"]) == 10_000


def test_nor_is_its_copy_in_a_session(tmp_path: Path) -> None:
    """It lies a table deeper there than in the route."""
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(10_000), encoding="utf-8")
    desk = begin_desk(Workspace(tmp_path, Disk()))
    desk.leave()
    assert len(read_session(Disk(), desk.folder).survey.points) == 10_000
