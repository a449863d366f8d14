"""The writer thread: in order, never on the screen's thread, errors come back."""

from __future__ import annotations

import asyncio
import threading

import pytest

from fieldtui.errors import DiskFullError
from fieldtui.ui.writer import Writer


async def test_deeds_run_in_order_on_one_other_thread() -> None:
    writer = Writer()
    seen: list[tuple[int, int]] = []

    def deed(number: int) -> int:
        seen.append((number, threading.get_ident()))
        return number * 2

    try:
        assert await asyncio.gather(*(writer.do(deed, number) for number in range(5))) == [0, 2, 4, 6, 8]
    finally:
        writer.close()
    assert [number for number, _ in seen] == [0, 1, 2, 3, 4]
    assert len({thread for _, thread in seen}) == 1
    assert threading.get_ident() not in {thread for _, thread in seen}


async def test_what_a_deed_raises_comes_back() -> None:
    writer = Writer()

    def deed() -> None:
        raise DiskFullError("full", remedy="make room")

    try:
        with pytest.raises(DiskFullError) as caught:
            await writer.do(deed)
    finally:
        writer.close()
    assert caught.value.remedy == "make room"


async def test_closing_waits_for_what_was_begun() -> None:
    writer = Writer()
    gate = threading.Event()
    done = threading.Event()

    def deed() -> None:
        gate.wait(timeout=20)
        done.set()

    waiting = asyncio.ensure_future(writer.do(deed))
    await asyncio.sleep(0)
    gate.set()
    writer.close()
    assert done.is_set()
    await waiting
