"""The power goes at every call of adding a remark: what was said to be saved is there, whole."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldtui.core.remarks import Remark
from fieldtui.errors import BadInputError
from fieldtui.files.remarks import append_remark, file_name, parse_remarks
from tests.crash.model import FIRST_LINK, FOLDER, SESSION_ID, SESSIONS, START, ModelDisk

FILE = FOLDER / file_name("Ivo Marr")


def remark(number: int) -> Remark:
    time = START + timedelta(minutes=number)
    return Remark(
        number=number, time=time, by="Ivo Marr", text=f"remark {number}", seal=FIRST_LINK, rows=number
    )


def saved_states() -> list[tuple[ModelDisk, int]]:
    """The disk after each call that changed something, and how many remarks were said to be saved."""
    disk = ModelDisk()
    for folder in (SESSIONS, FOLDER):
        disk.make_folder(folder)
        disk.sync_folder(folder.parent)
    seen: list[tuple[ModelDisk, int]] = []
    saved = 0
    disk.on_change = lambda: seen.append((disk.killed(), saved))
    for number in (1, 2, 3):
        append_remark(disk, FOLDER, SESSION_ID, remark(number))
        saved = number
        seen.append((disk.killed(), saved))
    return seen


def lost(step: int) -> tuple[int, int]:
    """How many states a power cut may leave, and in how many of them a promise is broken."""
    states = broken = 0
    for disk, saved in saved_states():
        for left in disk.power_cuts(step):
            states += 1
            data = left.content(FILE)
            try:
                known = () if data is None else parse_remarks(data, "f", SESSION_ID)
            except BadInputError:  # half a file
                broken += 1
                continue
            wanted = tuple(remark(number) for number in range(1, len(known) + 1))
            broken += known != wanted or not saved <= len(known) <= saved + 1
    return states, broken


def test_no_power_cut_loses_a_saved_remark_or_leaves_half_a_file() -> None:
    states, broken = lost(step=5)
    assert states > 300
    assert broken == 0


@pytest.mark.parametrize("call", ["sync_data", "sync_folder"])
def test_the_model_would_notice_a_sync_left_out(call: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ModelDisk, call, lambda self, *_: self.on_change())
    assert lost(step=31)[1] > 0
