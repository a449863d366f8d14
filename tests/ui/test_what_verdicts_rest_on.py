"""On the screens: temperature asked for and told, both values of a corrected reading, a pair with the
current reversed, a path in series, and the rule an unplanned point is judged by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.brief import BriefScreen
from tests.ui.review_fixtures import METER as BRIEF_METER
from tests.ui.review_fixtures import TODAY, heard_by, page_of, route_of, shown_screen, tables_of
from tests.ui.walking import METER, Ticking, route_text, walking

AppOf = Callable[[Desk], FieldApp]
PATH = '[[paths]]\nid = "E-1"\ntitle = "stud to stud"\npoints = ["SW-01", "SW-02"]\nlimit = { max = 3.0 }\n'


def begun(workspace: Workspace, text: str, **facts: object) -> Desk:
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    brief = Brief(job="J-100", crew=Crew("Ada", "Bo"), instrument=METER, next_number=5)
    brief = replace(brief, **facts)  # type: ignore[arg-type]
    return begin_session(workspace, workspace.load_route("wing"), brief, Ticking())


async def test_a_corrected_reading_is_shown_with_both_values(workspace: Workspace, app_of: AppOf) -> None:
    desk = begun(workspace, route_text(correct_to_20="true"), conductor_c=Decimal(35))
    async with walking(app_of(desk), desk) as hand:
        assert "less than 2.5 mΩ  at 20 °C, from 35 °C" in hand.screen()
        await hand.press("‹2.600›", "enter")
        assert "RECORDED 1  SW-01  2.600 mΩ  ✓ PASS  memory 5  at 20 °C 2.45526 mΩ" in hand.screen()
        await hand.press("‹2.700›", "enter")
        assert "✗ FAIL  memory 6  at 20 °C 2.54970 mΩ" in hand.screen()
    assert [row["value"] for row in hand.rows("reading")] == ["2.600", "2.700"]


async def test_without_a_temperature_the_point_says_that_it_is_judged_as_measured(
    workspace: Workspace, app_of: AppOf
) -> None:
    text = route_text(correct_to_20="true")
    desk = begun(workspace, text, overrides={"temperature": "thermometer forgotten"})
    async with walking(app_of(desk), desk) as hand:
        assert "less than 2.5 mΩ  as measured: no temperature" in hand.screen()
        await hand.press("‹2.600›", "enter")
        assert "✗ FAIL  memory 5" in hand.screen()


async def test_a_pair_with_the_current_reversed_is_judged_by_its_mean(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begun(workspace, route_text(method='"reversed"'))
    async with walking(app_of(desk), desk) as hand:
        assert "reading 1 of 2" in hand.screen()
        await hand.press("‹2.55›", "enter")
        assert "• RECORDED" in hand.screen()  # one way only: nothing is judged
        assert "reading 2 of 2" in hand.screen()
        await hand.press("‹2.43›", "enter")
        assert "✓ PASS  memory 6  mean 2.490 mΩ" in hand.screen()
    assert [row["verdict"] for row in hand.rows("reading")] == ["recorded", "pass"]


async def test_a_path_that_fails_is_told_at_the_reading_that_completes_it(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begun(workspace, route_text() + PATH)
    async with walking(app_of(desk), desk, (120, 40)) as hand:
        await hand.press("‹1.50›", "enter")
        assert "PATH" not in hand.screen()
        await hand.press("‹1.60›", "enter")
        assert "✓ PASS  memory 6  PATH E-1 FAILS: 3.10 mΩ, fail against <= 3.0 mΩ" in hand.screen()


async def test_an_unplanned_point_has_the_guard_band_of_its_route(
    workspace: Workspace, app_of: AppOf
) -> None:
    accuracy = Accuracy(Decimal(0), parse_resistance("0.10", Unit.MOHM))
    text = route_text().replace("check_every", 'decision = "guarded"\ncheck_every', 1)
    desk = begun(workspace, text, instrument=replace(METER, accuracy=accuracy))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("i", "‹Spare strap›", *["enter"] * 4, "0", "‹seen›", "enter")
        assert "INSERTED" in hand.screen()
        await hand.press("‹2.45›", "enter")
        assert "✗ FAIL" in hand.screen()


@pytest.mark.parametrize(("wants", "asked"), [(True, True), (False, False)])
async def test_the_brief_asks_for_the_conductor_s_temperature_where_the_route_needs_it(
    wants: bool, asked: bool
) -> None:
    limit = Limit(parse_resistance("2.5", Unit.MOHM))
    route = route_of(Point("P-1", "SW", "Strap", Unit.MOHM, limit, correct_to_20=wants))
    brief = Brief("J-1", Crew("Ben", "Ana"), BRIEF_METER, 17, standard=parse_resistance("2.5", Unit.MOHM))
    screen = BriefScreen(route, tables_of(BRIEF_METER), TODAY, suggested=brief)
    async with shown_screen(screen, (120, 40)) as pilot:
        assert ("Conductor, °C" in page_of(pilot)) is asked
        if not asked:
            return
        await pilot.press("f3", "shift+tab", "shift+tab")  # the last question, before BEGIN THE WALK
        assert "no temperature was taken" in page_of(pilot)
        await pilot.press(*"350", "tab")
        assert "350: degrees Celsius from -60 to 80" in page_of(pilot)
        await pilot.press("shift+tab", *["backspace"] * 3, *"35", "f5")
        (message,) = heard_by(pilot)
    assert message.brief.conductor_c == Decimal(35)


async def test_voltages_are_keyed_with_their_sign_and_r_is_shown_with_them(
    workspace: Workspace, app_of: AppOf
) -> None:
    """The minus begins a value here, and is no command; on the next point it is one again."""
    text = route_text().replace('"SW-01"', '"SW-01"\nmethod = "reversed"\ncurrent_ma = 100', 1)
    desk = begun(workspace, text)
    async with walking(app_of(desk), desk) as hand:
        assert "value ±mV at 100 mA >" in hand.screen()
        await hand.press("‹0.22›", "enter")
        assert "• RECORDED" in hand.screen() and "0.22 mV (2.2 mΩ)" in hand.screen()
        await hand.press("minus", "‹0.20›", "enter")
        assert "✓ PASS" in hand.screen()
        assert "✓ PASS  memory 6  R 2.10 mΩ" in hand.screen()
        assert "value mΩ >" in hand.screen()
        await hand.press("minus", "1")
        assert [row["point"] for row in hand.rows("skip")] == ["SW-02"]
    kept = [(row["value"], row["unit"], row["verdict"]) for row in hand.rows("reading")]
    assert kept == [("0.22", "mV/100mA", "recorded"), ("-0.20", "mV/100mA", "pass")]


async def test_a_minus_left_out_stops_the_walk_for_a_word(workspace: Workspace, app_of: AppOf) -> None:
    desk = begun(workspace, route_text(method='"reversed"', current_ma="100"))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹0.22›", "enter", "‹0.20›", "enter")
        assert "minus left out?" in " ".join(hand.screen().split())
        assert len(hand.rows("reading")) == 1
