"""The close-out on the screen: what is listed, what each key settles, the seal, and the way back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard
from fieldtui.core.survey.brief import Brief
from fieldtui.desk import closing
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.report.findings.all import find_exceptions
from fieldtui.ui.app import FieldApp
from fieldtui.ui.pages.close_out import CloseOutScreen
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.screens.walk import WalkScreen
from fieldtui.ui.widgets.close_list import CloseList
from tests.desk.scenes import record
from tests.ui.walking import HIGH, LOW, METER, Hand, Ticking, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]
STANDARD = CheckStandard(
    parse_resistance("2.500", Unit.MOHM), parse_resistance("0.050", Unit.MOHM), "resistor in the lid"
)


@pytest.fixture
def desk(workspace: Workspace) -> Desk:
    """Four points, each with a finish to restore, and a meter that has a check standard."""
    route = workspace.root / "routes" / "wing.toml"
    route.write_text(route_text(restore='"conversion coat"'), encoding="utf-8")
    meter = replace(METER, check_standard=STANDARD)
    brief = Brief(
        job="J-100", crew=Crew("Ada", "Bo"), instrument=meter, next_number=5, standard=STANDARD.value
    )
    return begin_session(workspace, workspace.load_route("wing"), brief, Ticking())


def marked(hand: Hand) -> str:
    item = hand.app.screen.query_one(CloseList).item
    assert item is not None
    return item.what


async def test_the_memory_run_of_the_line_is_reconciled(desk: Desk, app_of: AppOf) -> None:
    for value in ("1.38", "1.40"):
        desk.record(desk.weigh(value))
    desk.start_run(1, "memory full")
    desk.record(desk.weigh("1.35"))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("d")
        while marked(hand) != "memory run 1: not reconciled":
            await hand.press("down")
        await hand.press("1")
        assert "The memory list of run 1" in hand.screen()
        await hand.press("2", "‹1.38›", "enter", "‹1.40›", "enter", "enter", "1", "1")
        assert desk.survey.reconciled == {1}
        await hand.press("escape")
        assert isinstance(hand.app.screen, CloseOutScreen)


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_everything_that_is_left_is_listed_with_its_key(
    desk: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("‹1.38›", "enter", "‹2.9›", "enter", "s", "1", "d")
        screen = hand.screen()
        for words in (
            "POINTS STILL OPEN OR NOT MEASURED  ○ 2 to do",
            "SW-03    Flap track 3 jumper, skipped",
            "FAILED POINTS  ○ 1 to do",
            "FINISHES AND PANELS TO RESTORE  ○ 2 to do",
            "under 1 min  Flap track 1 jumper: conversion coat",
            "the check standard was not read after the last reading",
            "READINGS IN DOUBT  ✓ none",
            "memory run 1: not reconciled",
            "SIGNATURES  ○ 2 to do",
            "1  go there    2  not accessible    3  waived",
            "9 close",
        ):
            assert words in screen, f"{words} is not in\n{screen}"


async def test_a_failed_check_after_lists_the_readings_and_each_is_released_or_taken_again(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "‹1.1›", "enter", "d")
        await to(hand, "the check standard")
        await hand.press("1", "‹2.9›", "enter", "enter", "‹2.9›", "enter", "enter")  # read, and not filed
        assert "METER NOT GOOD" in hand.screen()
        assert [row["ref"] for row in hand.rows("standard")] == ["after"]
        assert "record 1, 1.38 mΩ" in marked(hand)
        await hand.press("1", "0", "‹second meter agrees›", "enter")
        assert [(row["ref"], row["reason"]) for row in hand.rows("release")] == [("1", "second meter agrees")]
        assert "record 2, 1.1 mΩ" in marked(hand)
        await hand.press("2", "0", "‹with the other meter›", "enter")
        assert [row["point"] for row in hand.rows("redo")] == ["SW-02"]
        assert isinstance(hand.app.screen, WalkScreen)
        assert "SW-02" in hand.screen().splitlines()[1]


async def test_a_slip_at_the_check_standard_puts_nothing_in_doubt(desk: Desk, app_of: AppOf) -> None:
    """A point's value keyed there is asked for again; what is read again and the same stands."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "g")
        assert f"Check {METER.title}" in hand.dialog()
        await hand.press("‹0.58›", "enter", "enter")
        said = " ".join(hand.dialog().split())
        assert "NOT RECORDED YET: the check standard reads 0.58 mΩ, not within 0.050 mΩ of 2.500 mΩ" in said
        await hand.press("‹2.9›", "enter", "enter")  # another one that is not good is asked for again, too
        assert "NOT RECORDED YET: the check standard reads 2.9 mΩ" in " ".join(hand.dialog().split())
        assert hand.rows("standard") == []
        await hand.press("‹2.50›", "enter", "enter")
        assert [(row["value"], row["verdict"]) for row in hand.rows("standard")] == [("2.50", "good")]
        assert "METER GOOD" in hand.screen()


async def test_the_standard_of_a_meter_that_was_given_up_is_not_read_with_the_present_one(
    desk: Desk, app_of: AppOf
) -> None:
    record(desk, "1.38")
    spare = replace(METER, id="spare", title="Spare meter", serial="0041", check_standard=STANDARD)
    desk.take_meter(spare, 1, "battery flat")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("d")
        await to(hand, "its check standard was not read after record 1")
        page = hand.screen()
        assert "back to the walk, where y takes that meter again" in page
        assert "key the check standard" not in page
        await hand.press("1")
        assert isinstance(hand.app.screen, WalkScreen) and hand.rows("standard") == []
        await hand.press("d")
        await to(hand, "the check standard was not read after the last reading")
        await hand.press("1")
        assert "Check out Spare meter, serial 0041" in hand.dialog()


async def test_a_finish_is_ticked_off_and_the_mark_goes_on(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "‹1.1›", "enter", "‹1.2›", "enter", "d")
        await to(hand, "Flap track 1 jumper: conversion")
        await hand.press("enter")
        assert "Flap track 2 jumper: conversion" in marked(hand)
        await hand.press("2")
        assert [row["point"] for row in hand.rows("restored")] == ["SW-01", "SW-02", "SW-03"]
        assert "nothing is left opened" in hand.screen()


async def test_escape_leaves_it_as_it_is(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("d", "3", "escape", "9", "escape", "escape")
        assert isinstance(hand.app.screen, WalkScreen)
        assert not hand.rows("close") and not hand.rows("waive")
        await hand.press("‹1.38›", "enter")  # and the walk goes on
        assert "RECORDED 1" in hand.screen()


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_the_seal_is_shown_in_groups_with_the_rows_and_leads_to_the_review(
    desk: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("d", "9", "enter")
        assert "a reason is wanted" in hand.screen()
        await hand.press("‹dark›", "enter")
        (row,) = hand.rows("close")
        screen, link = hand.screen(), row["chain"]
        groups = [link[start : start + 4] for start in range(0, 32, 4)]
        assert "   ".join(groups[:4]) in screen and "   ".join(groups[4:]) in screen
        assert f"rows   {row['row']}" in screen
        assert "technician: NOT SIGNED" in screen
        await hand.press("d", "9", "1")  # nothing more can be done here
        assert len(hand.trail()) == int(row["row"])
        await hand.press("enter")
        await hand.app.workers.wait_for_complete()
        await hand.pilot.pause()
        assert isinstance(hand.app.screen, ReviewScreen)
        assert "closed without the signature of the inspector" in hand.screen()


async def test_a_value_that_is_no_value_is_told_and_nothing_is_recorded(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "d")
        await to(hand, "the check standard")
        rows = len(hand.trail())
        await hand.press("1", "‹two›", "enter")
        assert "two" in hand.dialog()  # and it can be put right there
        await hand.press("escape")
        assert len(hand.trail()) == rows
        assert isinstance(hand.app.screen, CloseOutScreen)


async def test_a_closed_session_is_reopened_from_the_start_with_reason_and_name(workspace: Workspace) -> None:
    desk = begin_desk(workspace)
    with desk:
        seal = desk.close("dark")
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        hand = Hand(pilot, desk.folder)
        await listed(hand, "Closed sessions")
        await hand.press("end", "o")
        await listed(hand, "Open this closed session again?")
        assert seal[:4] in hand.screen()
        await hand.press("enter")
        assert "a reason is wanted" in hand.screen()
        await hand.press("‹retest›", "enter", "enter")
        await listed(hand, "NOW")
        (row,) = hand.rows("reopen")
        assert (row["ref"], row["reason"], row["by"]) == (seal, "retest", "Bo")
        await hand.press("‹1.38›", "enter")
        assert "RECORDED 1" in hand.screen()


async def test_an_open_session_is_not_reopened(workspace: Workspace) -> None:
    with begin_desk(workspace) as desk:
        pass
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        hand = Hand(pilot, desk.folder)
        await listed(hand, "Open sessions")
        await hand.press("home", "o")
        assert not hand.rows("reopen")
        assert "again?" not in hand.screen()


async def to(hand: Hand, words: str) -> None:
    """Move the mark to the line with these words."""
    await hand.press("home")
    for _ in range(40):
        if words in marked(hand):
            return
        await hand.press("down")
    raise AssertionError(f"{words} is not on the list:\n{hand.screen()}")


async def listed(hand: Hand, words: str) -> None:
    """Wait until these words are on the screen."""
    for _ in range(300):
        if words in hand.screen():
            return
        await hand.pilot.pause(0.01)
    raise AssertionError(f"{words} never came:\n{hand.screen()}")


async def test_the_last_check_of_the_meter_may_be_filed_in_its_memory(desk: Desk, app_of: AppOf) -> None:
    """As on the walk: the number, if it was filed, and the next one moves on; else nothing."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "d")  # filed as 5
        await to(hand, "the check standard")
        await hand.press("1", "‹2.51›", "enter")
        assert "memory number" in hand.screen() and "6 is next" in hand.screen()
        await hand.press("‹6›", "enter")
        (row,) = hand.rows("standard")
        assert (row["value"], row["ref"], row["run"], row["number"]) == ("2.51", "after", "1", "6")
        assert "METER GOOD" in hand.screen()
        assert desk.survey.next_number == 7


PATH = """
[[paths]]
id = "E-1"
title = "Flap track to spar"
points = ["SW-01", "SW-02"]
limit = { max = 3.0, cmp = "<=" }
"""


async def test_a_path_that_fails_is_listed_and_its_paper_settles_it(
    workspace: Workspace, app_of: AppOf
) -> None:
    """Nothing is written where the paper is left empty; it stands in the trail and with the finding."""
    route = workspace.root / "routes" / "wing.toml"
    route.write_text(route_text() + PATH, encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk, HIGH) as hand:
        await hand.press("‹1.50›", "enter", "‹1.60›", "enter", "d")
        assert "POINTS IN SERIES  ○ 1 to do" in hand.screen()
        await to(hand, "path E-1")
        assert "3.10 mΩ, fail against <= 3.0 mΩ; no paper" in marked(hand)
        await hand.press("1", "enter")
        assert not hand.rows("path")
        await hand.press("‹D-18›", "enter")
        assert [(row["ref"], row["reason"]) for row in hand.rows("path")] == [("E-1", "D-18")]
        assert "POINTS IN SERIES  ✓ done" in hand.screen()
    told = [finding.what for finding in find_exceptions(read_session(Disk(), desk.folder))]
    assert any("3.10 mΩ, fail against <= 3.0 mΩ; paper D-18" in what for what in told)


def test_a_paper_wants_a_path_of_the_route_and_a_reference(workspace: Workspace) -> None:
    route = workspace.root / "routes" / "wing.toml"
    route.write_text(route_text() + PATH, encoding="utf-8")
    with begin_desk(workspace) as desk:
        with pytest.raises(WrongUseError, match="no path E-2"):
            closing.path_paper(desk, "E-2", "D-18")
        with pytest.raises(BadInputError):
            closing.path_paper(desk, "E-1", "  ")
        assert "path" not in desk.survey.recent


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_a_long_title_of_wide_letters_pushes_out_nothing(
    workspace: Workspace, app_of: AppOf, size: tuple[int, int]
) -> None:
    title = "右翼フラップ軌条二番ジャンパー線の接地端子の組合せ点検箇所" * 3
    (workspace.root / "routes" / "wing.toml").write_text(route_text(title=title), encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("d")
        assert isinstance(hand.app.screen, CloseOutScreen)
        head = hand.screen().splitlines()[0]
    assert " CLOSE-OUT  6 to do  右翼" in head or " to do  右翼" in head
