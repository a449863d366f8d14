"""The power goes at every call of writing a report over an older one: each file is the old or the new one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldtui.report.writing import PAGE, RESULTS, SUMMARY, write_report
from tests.crash.model import FIRST_LINK, FOLDER, SESSION_ID, SESSIONS, TOML, ModelDisk, started
from tests.ui.review_fixtures import Story

NAMES = (RESULTS, SUMMARY, PAGE)
STEP = 1_997  # bytes between two cuts: a page has some ten thousand


def moments(call_left_out: str = "") -> list[tuple[ModelDisk, bool]]:
    """The disk after each call that changed something, and whether the new report was said to be written."""
    from fieldtui.files import durable

    disk = ModelDisk()
    disk.make_folder(SESSIONS)
    disk.sync_folder(Path("/"))
    durable.create_session(disk, SESSIONS, SESSION_ID, TOML, FIRST_LINK, started()).close()
    write_report(disk, Story().session(), FOLDER)
    seen: list[tuple[ModelDisk, bool]] = []
    if call_left_out:
        setattr(disk, call_left_out, lambda _: disk.on_change())
    disk.on_change = lambda: seen.append((disk.killed(), False))
    write_report(disk, Story().clean().session(), FOLDER)
    seen.append((disk.killed(), True))
    return seen


def states(step: int, call_left_out: str = "") -> Iterator[bool]:
    """For each state a power cut may leave, whether every file in it is the old one or the new one."""
    every = moments(call_left_out)
    first, last = every[0][0], every[-1][0]
    old, new = ([disk.content(FOLDER / name) for name in NAMES] for disk in (first, last))
    session = [last.content(FOLDER / name) for name in ("session.toml", "trail.csv")]
    for disk, is_said in every:
        for left in disk.power_cuts(step):
            found = [left.content(FOLDER / name) for name in NAMES]
            is_whole = all(each in pair for each, pair in zip(found, zip(old, new, strict=True), strict=True))
            is_kept = [left.content(FOLDER / name) for name in ("session.toml", "trail.csv")] == session
            yield is_whole and is_kept and (found == new or not is_said)


def test_no_power_cut_leaves_half_a_report_or_touches_the_session() -> None:
    found = list(states(STEP))
    assert len(found) > 200
    assert all(found)


@pytest.mark.parametrize("call", ["sync_data", "sync_folder"])
def test_the_model_would_notice_a_sync_left_out(call: str) -> None:
    assert not all(states(STEP * 10, call))
