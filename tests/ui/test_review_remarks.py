"""Remarks in the review: written on what is marked, kept on the screen until saved, gone to, withdrawn."""

from __future__ import annotations

import errno
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.remarks import Place
from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.files.disk import Disk
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.widgets.review.table import ReviewTable
from tests.ui.review_fixtures import page_of, shown_screen
from tests.ui.test_start import StandingClock, take, workspace_in

SIZES = [(80, 24), (120, 40)]


class Choosy(Disk):
    """A disk that can be told to be full."""

    is_full = False

    def write(self, fd: int, data: bytes) -> int:
        if self.is_full:
            raise OSError(errno.ENOSPC, "full")
        return super().write(fd, data)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two points, the second one failed."""
    return take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38", "2.61")


def review_of(folder: Path, disk: Disk | None = None, elsewhere: Path | None = None) -> ReviewScreen:
    session = read_session(Disk(), folder)
    return ReviewScreen(session, RemarkDesk(disk or Disk(), session, StandingClock(), elsewhere))


async def settled(pilot: Any) -> str:
    """The page once every worker that can end has ended."""
    for _ in range(50):
        await pilot.pause()
        if not [worker for worker in pilot.app.workers if not worker.is_finished]:
            break
    return page_of(pilot)


async def written(pilot: Any, name: str, words: str) -> str:
    """Key a name and words into the dialog and wait for what the screen says."""
    await pilot.press(*name, "enter", *words, "enter")
    for _ in range(100):
        await pilot.pause(0.01)
        page = page_of(pilot)
        if "saving" not in page:
            break
    return await settled(pilot)


def texts(folder: Path) -> list[tuple[str, str, str]]:
    entries = RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock()).read().entries
    return [(each.remark.by, each.remark.text, each.remark.about.words) for each in entries]


@pytest.mark.parametrize("size", SIZES)
async def test_a_remark_on_a_marked_point_is_saved_listed_and_leads_back_to_it(
    folder: Path, size: tuple[int, int]
) -> None:
    async with shown_screen(review_of(folder), size) as pilot:
        await pilot.press("3", "down", "n")
        await pilot.pause()
        assert "Remark on point SW-02" in page_of(pilot)
        await written(pilot, "Ivo", "strap looks burnt")
        assert texts(folder) == [("Ivo", "strap looks burnt", "point SW-02")]
        await pilot.press("6")
        page = await settled(pilot)
        assert "Ivo, 2026-05-04" in page
        assert "[point SW-02]" in page
        assert "strap looks burnt" in page
        await pilot.press("1", "6", "enter")
        page = page_of(pilot)
        assert "title Slat" in " ".join(page.split())  # the row of SW-02 is written out below the table


@pytest.mark.parametrize(
    ("keys", "about"),
    [
        (["2", "down"], "point SW-02, record 2"),
        (["4", "end"], "point SW-02, record 2, row"),
        (["5"], "the whole session"),
        (["6"], "the whole session"),
        (["slash", *"SW-02 failed", "enter"], "point SW-02, record 2, row"),
    ],
)
async def test_what_is_marked_on_each_page_is_what_the_remark_is_about(
    folder: Path, keys: list[str], about: str
) -> None:
    async with shown_screen(review_of(folder)) as pilot:
        await pilot.press(*keys, "n")
        await pilot.pause()
        assert f"Remark on {about}" in " ".join(page_of(pilot).split())


def first_cell_marked(pilot: Any) -> tuple[str, str]:
    """The page in front, and the first cell of the row under its cursor."""
    table = pilot.app.screen.page_in_front
    assert isinstance(table, ReviewTable)
    assert table.marked is not None
    return table.sheet.name, table.marked.cells[0]


async def test_a_remark_on_a_row_and_on_a_record_is_gone_to(folder: Path) -> None:
    desk = RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock())
    desk.add("Ivo", "a", Place(row=2))
    desk.add("Ivo", "b", Place(record=2))
    desk.add("Ivo", "c", Place(point="XX-99"))
    async with shown_screen(review_of(folder), (120, 40)) as pilot:
        await pilot.press("6")
        await settled(pilot)
        await pilot.press("enter")
        assert first_cell_marked(pilot) == ("trail", "2")
        await pilot.press("6", "down", "enter")
        assert first_cell_marked(pilot) == ("readings", "2")
        await pilot.press("6", "down", "enter")  # the cursor is where it was left
        await pilot.pause()
        assert [each.message for each in pilot.app._notifications] == ["This record has no point XX-99."]


async def test_what_is_not_saved_stays_on_the_screen_with_why_and_can_be_saved_later(folder: Path) -> None:
    disk = Choosy()
    async with shown_screen(review_of(folder, disk), (100, 30)) as pilot:
        await settled(pilot)
        disk.is_full = True
        await pilot.press("5", "n")
        await pilot.pause()
        page = " ".join((await written(pilot, "Ivo", "strap looks burnt")).split())
        assert "NOT SAVED: The remark is not saved: the disk is full" in page
        assert "strap looks burnt" in page
        assert texts(folder) == []
        disk.is_full = False
        await pilot.press("enter")
        for _ in range(100):
            await pilot.pause(0.01)
            if "strap" not in page_of(pilot):
                break
        assert texts(folder) == [("Ivo", "strap looks burnt", "the whole session")]


async def test_the_name_is_kept_for_the_next_remark_and_escape_writes_nothing(folder: Path) -> None:
    async with shown_screen(review_of(folder)) as pilot:
        await pilot.press("5", "n")
        await pilot.pause()
        await written(pilot, "Ivo", "one")
        await pilot.press("n")
        await pilot.pause()
        await pilot.press(*"two", "enter")
        for _ in range(100):
            await pilot.pause(0.01)
            if len(texts(folder)) == 2:
                break
        await settled(pilot)
        await pilot.press("n")
        await pilot.pause()
        await pilot.press(*"three", "escape")
        await pilot.pause()
    assert [(by, text) for by, text, _ in texts(folder)] == [("Ivo", "one"), ("Ivo", "two")]


async def test_a_remark_is_withdrawn_by_its_author_and_stays_in_sight(folder: Path) -> None:
    RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock()).add("Ivo", "strap looks burnt")
    async with shown_screen(review_of(folder)) as pilot:
        await pilot.press("6")
        await settled(pilot)
        await pilot.press("w")
        await pilot.pause()
        page = await written(pilot, "Ana", "no")
        assert "NOT SAVED: This remark is by Ivo" in page
        await pilot.press("up", "ctrl+u", *"Ivo", "enter", "enter")
        for _ in range(100):
            await pilot.pause(0.01)
            if "Withdraw:" not in page_of(pilot):
                break
        page = await settled(pilot)
        assert "WITHDRAWN  Ivo" in page
        assert "strap looks burnt" in page
        assert "note: withdrawn" in page


async def test_a_file_that_cannot_be_read_is_named_and_markup_stays_text(folder: Path) -> None:
    desk = RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock())
    desk.add("[bold]x[/]", "see [P-014] $HOME")
    (folder / "review-bad.toml").write_bytes(b"format = 2\x1b")
    async with shown_screen(review_of(folder), (120, 40)) as pilot:
        await pilot.press("6")
        page = await settled(pilot)
    assert "[bold]x[/], " in page
    assert "see [P-014] $HOME" in page
    assert "NOT READ" in page
    assert "review-bad.toml" in page.replace("\n", "").replace(" ", "")
    assert "\x1b" not in page


async def test_remarks_are_searched_like_the_rest(folder: Path) -> None:
    desk = RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock())
    desk.add("Ivo", "strap looks burnt")
    desk.add("Ana", "fine by me")
    async with shown_screen(review_of(folder)) as pilot:
        await pilot.press("6")
        await settled(pilot)
        await pilot.press("slash", *"burnt", "enter")
        page = page_of(pilot)
    assert "1 of 2 with: burnt" in page
    assert "fine by me" not in page


async def test_where_it_was_saved_is_said_beside_the_page_and_not_over_it(folder: Path) -> None:
    async with shown_screen(review_of(folder), (80, 24)) as pilot:
        for words in ("look again", "and here"):
            await pilot.press("n")
            page = await written(pilot, "Ivo" if words == "look again" else "", words)
        page = await settled(pilot)
        told = [line for line in page.splitlines() if "Saved in" in line]
        assert len(told) == 1
        (file,) = [path.name for path in folder.rglob("review-*.toml")]
        assert file in told[0]
        assert not pilot.app._notifications
        await pilot.press("2")
        assert "Saved in" not in page_of(pilot)
