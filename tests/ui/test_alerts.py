"""The warnings above the entry line: none hides another, and those without a line are one key away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.widgets.alerts import Alerts, alerts_of
from tests.ui.test_drift_resumed import ONE_PASSED_OVER, left_with, resumed, surveyed
from tests.ui.walking import METER, Ticking, walking

AppOf = Callable[[Desk], FieldApp]
__all__ = ["surveyed"]  # a fixture

# One standard of 1 mohm, within 0.02; a memory of which four numbers are left after the third reading.
BAD_METER = replace(
    METER,
    memory_size=11,
    check_standard=CheckStandard(Resistance(Decimal(1), Unit.MOHM), Resistance(Decimal("0.02"), Unit.MOHM)),
)


@pytest.fixture
def beset(workspace: Workspace) -> Desk:
    """A meter that is not good, a number check that is due, and a memory that is nearly full."""
    standard = Resistance(Decimal("1.00"), Unit.MOHM)
    brief = Brief("J-100", Crew("Ada", "Bo"), BAD_METER, next_number=5, standard=standard)
    desk = begin_session(workspace, workspace.load_route("wing"), brief, Ticking())
    for value in ("1.1", "1.2"):
        desk.record(desk.weigh(value))
    desk.skip("fog")
    desk.check_standard("1.5")
    return desk


def heads(desk: Desk, drift: str = "") -> list[str]:
    return [alert.split(":")[0].split(" (")[0] for alert in alerts_of(desk.survey, drift)]


def test_what_makes_readings_worthless_comes_before_what_only_hinders(beset: Desk) -> None:
    assert heads(beset, "one point passed over") == [
        "METER NOT GOOD",
        "DRIFT not settled",
        "Number check due",
        "Memory nearly full",
    ]
    beset.check_standard("1.01")  # good again: the earlier failure is told, below what is due
    beset.lead_changed("tips worn")
    assert heads(beset)[:2] == ["Number check due", "Check standard due"]
    assert heads(beset)[-1] == "Memory nearly full"


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_memory_that_fills_hides_no_bad_meter(
    beset: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(beset), beset, size) as hand:
        lines = [line.strip(" !") for line in hand.screen().splitlines() if line.startswith(" ! ")]
        told = [line.split(":")[0].split(" (")[0] for line in lines]
        assert told[:2] == ["METER NOT GOOD", "Number check due"]
        # Where the prober is to go takes a line of its own: then F1 has the last one.
        assert told[2:] == ["Memory nearly full"] or (size[1] == 24 and lines[-1].endswith("(+1: F1)"))
        assert "value mΩ >" in hand.screen() and "F1 help" in hand.screen()


@pytest.mark.parametrize("size", [(80, 24), (60, 18)])
async def test_a_warning_without_a_line_is_one_key_away(
    beset: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(beset), beset, size) as hand:
        alerts = hand.walk.query_one(Alerts)
        alerts.beside = ("The second copy failed.",)
        alerts.drift = "one point passed over"
        await hand.settle()
        shown = [line for line in hand.screen().splitlines() if line.startswith(" ! ")]
        assert "METER NOT GOOD" in shown[0]
        assert f"(+{5 - len(shown)}: F1)" in shown[-1]
        await hand.press("question_mark")
        assert isinstance(hand.app.screen, HelpDialog)
        told = hand.dialog()
        for alert in alerts.standing:
            assert f"! {alert[:30]}" in told, told


async def test_drift_that_was_left_open_stands_until_it_is_settled(
    surveyed: Workspace, app_of: AppOf
) -> None:
    desk = resumed(surveyed, left_with(surveyed, ONE_PASSED_OVER))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("escape")
        assert "! DRIFT not settled" in hand.screen()
        last = desk.survey.run.filed_last if desk.survey.run is not None else None
        await hand.press("c", f"‹{last}›", "enter")  # the numbers agree: then it is asked again
        assert type(hand.app.screen).__name__ == "PointDriftScreen"
        await hand.press("down", "enter", "enter", "1", "enter")
        assert hand.rows("shift")
        assert "DRIFT not settled" not in hand.screen()


@pytest.mark.parametrize("rows", range(12, 24))
async def test_a_low_terminal_leaves_no_rows_empty_below_the_entry(
    beset: Desk, app_of: AppOf, rows: int
) -> None:
    """From 16 rows on the keys and how far it is are in sight; below that the entry and the point."""
    async with walking(app_of(beset), beset, (60, rows)) as hand:
        await hand.press("‹1.3›")
        lines = hand.screen().splitlines()
    assert any("value mΩ > 1.3" in line for line in lines), lines
    assert any("one decimal three milliohms" in line for line in lines), lines
    assert any("METER NOT GOOD" in line for line in lines)
    if rows >= 16:
        assert any(" of 4 " in line and "○" in line for line in lines), lines
        assert any("s skip" in line for line in lines), lines
        below = lines[next(place for place, line in enumerate(lines) if "value mΩ" in line) + 1 :]
        assert all(below), lines


async def test_a_warning_longer_than_its_line_takes_no_other_one_s_place(beset: Desk, app_of: AppOf) -> None:
    beset.check_standard("1.01")
    beset.check_number(6)
    beset.lead_changed("tips worn")
    async with walking(app_of(beset), beset, (60, 24)) as hand:
        lines = hand.screen().splitlines()
    at = next(n for n, line in enumerate(lines) if "! Number check due" in line)
    assert lines[at].endswith("…")
    assert lines[at + 1].startswith(" ! Check standard due (lead or tips were changed)")
