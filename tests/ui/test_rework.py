"""Rework on the walk: a failed bond is cleaned where it failed, and its retest has a limit of its own."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.redo import FailedRedoDialog
from tests.desk.scenes import record
from tests.ui.walking import begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]


@pytest.fixture
def held(workspace: Workspace) -> Desk:
    """Points with a limit of < 2.5 mohm, and < 2.0 after rework."""
    text = route_text(4, retest="{ max = 2.0 }")
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    return begin_desk(workspace)


async def test_a_bond_cleaned_where_it_failed_is_retested_by_the_retest_limit(
    held: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(held), held) as hand:
        await hand.press("‹2.7›", "enter")
        assert "FAIL" in hand.screen()
        await hand.press("t")
        assert isinstance(hand.app.screen, FailedRedoDialog)
        assert "Repaired or cleaned? z: rework" in hand.dialog()
        assert "cleaned again" not in hand.dialog()
        await hand.press("z")
        assert "SW-01 was repaired or cleaned: what was done?" in hand.dialog()
        await hand.press("1", "enter")
        assert "none yet: the reference you have" in hand.dialog()
        await hand.press("enter")
        assert "a reference is wanted" in hand.dialog()
        await hand.press("‹DR-7›", "enter")
        page = hand.screen()
        assert "REWORKED  SW-01  surfaces cleaned. RETEST next, limit less than 2.0 mΩ" in page
        assert "less than 2.0 mΩ  after rework" in page
        assert "retest" in next(line for line in page.splitlines() if "NOW" in line)
        await hand.press("‹2.2›", "enter")  # within 2.5, not within 2.0
        assert "FAIL  retest" in " ".join(hand.screen().split("\n"))
        assert held.survey.records[2].verdict is Verdict.FAIL
        (row,) = hand.rows("rework")
        assert (row["point"], row["reason"], row["ref"]) == ("SW-01", "surfaces cleaned", "DR-7")
        assert held.survey.position.here == "SW-02"  # back to where the walk was
        await hand.press(
            "z", "2", "enter", "‹1.4›", "enter"
        )  # the paper is known now and not asked for again
        assert held.survey.standings["SW-01"].state is State.PASSED


async def test_it_is_reached_from_the_keypad(held: Desk, app_of: AppOf) -> None:
    record(held, "2.7")
    async with walking(app_of(held), held) as hand:
        await hand.press("plus", "minus", "slash", "slash")
        line = next(line for line in hand.dialog().splitlines() if "reworked" in line)
        await hand.press(line.replace("▶", " ").split()[0], "1", "enter", "‹31›", "enter")
        assert [row["point"] for row in hand.rows("rework")] == ["SW-01"]


async def test_of_several_failed_points_the_one_read_last_is_marked(held: Desk, app_of: AppOf) -> None:
    record(held, "2.7", "2.8")
    async with walking(app_of(held), held) as hand:
        await hand.press("z")
        assert "Which failed point was reworked?" in hand.dialog()
        await hand.press("enter", "1", "enter", "‹DR-7›", "enter")
        assert [row["point"] for row in hand.rows("rework")] == ["SW-02"]
        assert [row["point"] for row in hand.rows("jump")] == ["SW-02"]


async def test_what_was_only_taken_again_can_still_be_said_to_have_been_reworked(
    held: Desk, app_of: AppOf
) -> None:
    record(held, "2.7")
    held.redo("probe slipped", 1)
    record(held, "2.2")
    assert held.survey.in_state(State.FAILED) == []
    async with walking(app_of(held), held) as hand:
        await hand.press("z", "1", "enter", "‹DR-7›", "enter", "‹2.2›", "enter")
        assert [point.id for point in held.survey.in_state(State.FAILED)] == ["SW-01"]


async def test_where_nothing_failed_there_is_nothing_to_rework(held: Desk, app_of: AppOf) -> None:
    record(held, "1.0")
    async with walking(app_of(held), held) as hand:
        await hand.press("z")
        assert "No point has failed, so none was reworked" in hand.screen()
        await hand.press("t")
        assert "rework" not in hand.dialog()
        await hand.press("escape")
        assert [row["kind"] for row in hand.trail()][-1] == "reading"


@pytest.mark.parametrize("keys", [("z", "escape"), ("z", "1", "escape"), ("t", "z", "1", "minus")])
async def test_left_half_way_nothing_is_written(held: Desk, app_of: AppOf, keys: tuple[str, ...]) -> None:
    record(held, "2.7")
    async with walking(app_of(held), held) as hand:
        await hand.press(*keys)
        assert hand.app.screen is hand.walk
        assert hand.rows("rework") == hand.rows("redo") == []


async def test_the_reason_may_still_be_in_own_words(held: Desk, app_of: AppOf) -> None:
    """Where words are keyed, z is a letter."""
    record(held, "2.7")
    async with walking(app_of(held), held) as hand:
        await hand.press("t", "0", "‹fuzzy›", "enter")
        assert [row["reason"] for row in hand.rows("redo")] == ["fuzzy"]
