"""Where the prober must go: said in words whenever the next point is not the one after the last."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.core.survey.lead import Lead, SectionLeft
from fieldtui.desk.opening import resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.widgets.way_line import way_lines
from tests.ui.walking import LOW, Hand, Ticking, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]

SLIM = (60, 24)
PORT = """\
[[sections]]
id = "PW"
title = "Port wing"
[[points]]
id = "PW-01"
section = "PW"
title = "Fuel cap strap with a long name of its own"
limit = { max = 2.5, cmp = "<" }
[[points]]
id = "PW-02"
section = "PW"
title = "Port pump strap"
limit = { max = 2.5, cmp = "<" }
"""
sizes = pytest.mark.parametrize("size", [SLIM, LOW, (120, 40)])


@pytest.fixture
def desk(workspace: Workspace) -> Desk:
    (workspace.root / "routes" / "wing.toml").write_text(route_text(3) + PORT, encoding="utf-8")
    return begin_desk(workspace)


def said(hand: Hand) -> str:
    """What stands between the outcome of the last action and the line that is keyed."""
    lines = hand.screen().splitlines()
    entry = next(at for at, line in enumerate(lines) if line.startswith(" value "))
    start = next((at for at, line in enumerate(lines) if line.startswith((" NOW GO", " NO POINT"))), entry)
    return "\n".join(lines[start:entry])


@sizes
async def test_going_on_to_the_next_point_needs_no_word(
    desk: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        assert said(hand) == ""
        await hand.press("‹1›", "enter")
        assert said(hand) == ""
        await hand.press("s", "2")  # the one after it is the next one
        assert "SKIPPED  SW-02" in hand.screen()
        assert said(hand) == ""


@sizes
async def test_the_end_of_a_detour_says_where_to_go(desk: Desk, app_of: AppOf, size: tuple[int, int]) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("j", "‹SW-03›", "enter", "1", "enter")
        assert said(hand).startswith(" NOW GO TO SW-03  Flap track 3 jumper")
        await hand.press("‹1›", "enter")
        assert "RECORDED 1  SW-03" in hand.screen()
        assert said(hand).startswith(" NOW GO TO SW-01  Flap track 1 jumper  back from the detour")
        await hand.press("n", "‹wet›", "enter")  # it stays while something else is said
        assert "NOTED  SW-01" in hand.screen()
        assert said(hand).startswith(" NOW GO TO SW-01")
        await hand.press("‹1..2›", "enter", "escape")  # and where a value was refused
        assert said(hand).startswith(" NOW GO TO SW-01")
        await hand.press("‹2›", "enter")
        assert said(hand) == ""  # SW-02 is the one after it


@sizes
async def test_a_point_read_on_a_detour_is_passed_by_aloud(
    desk: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("j", "‹SW-02›", "enter", "1", "enter", "‹1›", "enter", "‹2›", "enter")
        assert "RECORDED 2  SW-01" in hand.screen()
        assert said(hand).startswith(" NOW GO TO SW-03  Flap track 3 jumper")


@sizes
async def test_another_section_and_what_is_left_behind(
    desk: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("‹1›", "enter", "s", "2", "‹2›", "enter")
        assert "RECORDED 2  SW-03" in hand.screen()
        assert "NOW GO TO PW-01  Fuel cap strap" in said(hand)
        assert "section PW" in said(hand)
        assert "SW left with 1 skipped: SW-02" in said(hand)
        await hand.press("‹2.1›", "enter")
        assert said(hand) == ""  # once


async def test_a_reading_struck_out_leaves_its_section_open(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹2›", "enter", "v", "enter", "1")  # the last one
        assert len(hand.rows("void")) == 1
        await hand.press("‹2.1›", "enter")
        assert "SW left with 1 open: SW-02" in said(hand)


@sizes
async def test_the_second_pass_says_where_it_begins(desk: Desk, app_of: AppOf, size: tuple[int, int]) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("‹1›", "enter", "s", "2", "‹2›", "enter", "‹2.1›", "enter", "‹1.1›", "enter")
        assert "RECORDED 4  PW-02" in hand.screen()
        assert said(hand).startswith(" NOW GO TO SW-02  Flap track 2 jumper  second pass")
        await hand.press("‹1.2›", "enter")
        assert said(hand).startswith(" NO POINT IS LEFT: tell the prober to stop")


@sizes
async def test_the_far_end_first(desk: Desk, app_of: AppOf, size: tuple[int, int]) -> None:
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("b", "1")
        assert said(hand).startswith(" NOW GO TO SW-03  Flap track 3 jumper")
        await hand.press("‹1›", "enter")
        assert said(hand) == ""  # the rest of the section comes in its new order


async def test_a_session_taken_up_again_says_where_to_go(
    workspace: Workspace, desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("j", "‹PW-02›", "enter", "1", "enter", "‹1›", "enter", "q")
    again = resume_session(workspace, desk.folder, Ticking())
    async with walking(app_of(again), again) as hand:
        assert said(hand).startswith(" NOW GO TO SW-01")


@pytest.mark.parametrize("height", [9, 12, 18, 22, 24])
async def test_the_entry_line_stays_in_sight(workspace: Workspace, app_of: AppOf, height: int) -> None:
    """With every line of the card in use and several warnings above."""
    full = {"condition": '"flaps up"', "prepare": '"clean"', "caution": '"fuel vent 1 m forward"'}
    text = route_text(3, **full).replace("check_every = 10", "check_every = 1") + PORT
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk, (60, height)) as hand:
        await hand.press("s", "2", "‹1›", "enter", "‹2›", "enter")
        screen = hand.screen().splitlines()
        assert sum(line.startswith(" value ") for line in screen) == 1
        assert any(line.startswith(" NOW GO TO PW-01") for line in screen)
        assert any("RECORDED 2" in line for line in screen)


def test_the_reason_stays_where_the_title_is_too_long(desk: Desk) -> None:
    long = Lead(
        "PW-01", "second pass", SectionLeft("SW", ("SW-01",), ("SW-02", "SW-03"), ("SW-01", "SW-02", "SW-03"))
    )
    for width in (40, 50, 60, 80):
        way, left = (line.plain for line in way_lines(long, desk.survey, width))
        assert way.startswith(" NOW GO TO PW-01  Fuel ")
        assert way.endswith("second pass")
        assert left.startswith(" SW left with 1 open, 2 skipped: ")
        assert max(len(way), len(left)) <= width


def coming(hand: Hand) -> list[str]:
    """What the list of what is coming up begins with, row by row."""
    lines = hand.screen().splitlines()
    top, left = next((at, line.index("coming up")) for at, line in enumerate(lines) if "coming up" in line)
    return [line[left:].split("  ")[0] for line in lines[top + 1 :]]


async def test_what_is_coming_up_goes_on_to_the_second_pass(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk, (200, 40)) as hand:
        await hand.press("s", "2", "‹1›", "enter")  # at SW-03
        assert coming(hand)[:5] == ["PW-01", "PW-02", "second pass", "SW-01", ""]
        await hand.press("‹1.1›", "enter", "‹1.3›", "enter")  # at PW-02
        assert coming(hand)[:3] == ["second pass", "SW-01", ""]
