"""Looks at a file that take less than reading it whole, and what they may not pass over."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.files.fleet.folders import RESULTS_COLUMNS, why_no_results
from fieldtui.files.route.file import sketch_route
from fieldtui.files.tables.tables import CRITERIA, load_criteria, load_tables

TABLE = b"""\
format = 1
[criteria.frame]
title = "Frame"
max = 2.5
cmp = "<"
unit = "mohm"
source = "own"
status = "own"
"""


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ('title = "Wing"\npoints = [{}, {}]\nx = 1', ("Wing", 2)),
        ("", ("wing", 0)),
        ("title = 3\npoints = 4", ("wing", 0)),
    ],
)
def test_a_sketch_of_a_route_checks_nothing(text: str, seen: tuple[str, int]) -> None:
    assert sketch_route(text.encode(), "wing.toml", "wing") == seen


def test_what_is_no_toml_has_no_sketch() -> None:
    with pytest.raises(BadInputError):
        sketch_route(b"title = ", "wing.toml", "wing")


def test_the_criteria_alone_are_those_of_all_tables() -> None:
    def read(name: str) -> bytes | None:
        return TABLE if name == CRITERIA else None

    assert load_criteria(read) == load_tables(read).criteria
    assert load_criteria(lambda name: None) == {}
    with pytest.raises(BadInputError) as caught:
        load_criteria(lambda name: TABLE.replace(b'"<"', b'"~"'))
    assert caught.value.problems


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ("P1,<= 2,1,1,mohm,pass,2026-05-04T08:30:00.000Z,\n", ""),
        ("P1,<= 2,1,1,mohm,pass,2026-05-04T08:30:00.000Z,in doubt: meter\n", "in doubt for the meter: 1"),
        ("P1\n", ""),
        (f'"{"x" * 200_000}"\n', "is not CSV"),
    ],
)  # fmt: skip
def test_a_results_table_whose_verdicts_are_in_doubt_says_so(tmp_path: Path, rows: str, why: str) -> None:
    path = tmp_path / "results.csv"
    path.write_text(",".join(RESULTS_COLUMNS) + ",in_doubt\n" + rows)
    assert why in why_no_results(Disk(), path)
    assert bool(why_no_results(Disk(), path)) is bool(why)
