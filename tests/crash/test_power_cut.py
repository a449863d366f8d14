"""The power of a real file system is cut while a session is begun and written; root is needed.

What the real one cannot show, such as a folder's entry that was not synced, the model shows
(``test_power_loss_model``); what the model assumes, this one does.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from fieldtui.errors import FieldtuiError
from fieldtui.files.disk import Disk
from tests.crash.loop_disk import LoopDisk, NoLoopDiskError, loop_disk
from tests.crash.power_cuts import LostError, cut_and_check

CUTS = 20
SEED_CUTS = 10  # a seeded bug must show within these; one or two are enough as a rule


@pytest.fixture
def loop(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[LoopDisk]:
    try:
        with loop_disk(tmp_path, options=getattr(request, "param", "")) as disk:
            yield disk
    except NoLoopDiskError as error:
        pytest.skip(f"no loop disk here: {error}")


@pytest.mark.parametrize("loop", ["data=ordered", "data=writeback"], indirect=True)
def test_no_power_cut_loses_what_was_acknowledged(loop: LoopDisk) -> None:
    tally = cut_and_check(loop, CUTS // 2, random.Random(17))
    assert tally.cuts == CUTS // 2
    assert tally.acknowledged >= 10, "hardly anything was written: the test proves nothing"


class NeverSyncs(Disk):
    """A seeded bug: rows are acknowledged from the cache."""

    def sync_data(self, fd: int) -> None:
        pass


class SyncsTheRowBefore(Disk):
    """A seeded bug: each row is synced when the next one comes."""

    def write(self, fd: int, data: bytes) -> int:
        super().sync_data(fd)
        return super().write(fd, data)

    def sync_data(self, fd: int) -> None:
        pass


class RenamesWithoutSync(Disk):
    """A seeded bug: session.toml gets its name before its bytes are on the medium."""

    def write_whole(self, path: Path, data: bytes) -> None:
        temporary = path.with_name(".tmp")
        fd = self.create(temporary)
        self.write(fd, data)
        self.close(fd)
        self.rename(temporary, path)
        self.sync_folder(path.parent)


@pytest.mark.parametrize("buggy", [NeverSyncs, SyncsTheRowBefore, RenamesWithoutSync])
def test_a_seeded_bug_loses_something(loop: LoopDisk, buggy: type[Disk]) -> None:
    with pytest.raises((LostError, FieldtuiError)):
        cut_and_check(loop, SEED_CUTS, random.Random(5), buggy())
