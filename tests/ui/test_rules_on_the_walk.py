"""The walk shows by which rule a limit judges, and the limit in the unit that is keyed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.app import FieldApp
from tests.ui.walking import METER, Ticking, begin_desk, route_text, walking

STATED = replace(
    METER,
    accuracy=Accuracy(
        Decimal("0.5"), parse_resistance("0.02", Unit.MOHM), parse_resistance("0.01", Unit.MOHM), Decimal(2)
    ),
)
LIMIT = '{ max = 0.003, unit = "ohm", cmp = "<=", decision = "four-state" }'


@pytest.mark.parametrize("size", [(80, 24), (60, 24), (120, 40)])
async def test_rule_and_converted_limit_are_in_sight(tmp_path: Path, size: tuple[int, int]) -> None:
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(route_text(limit=LIMIT), encoding="utf-8")
    workspace = Workspace(tmp_path, Disk())
    with begin_desk(workspace, meter=STATED) as desk:
        async with walking(FieldApp(workspace, Ticking(), desk=desk), desk, size) as hand:
            left = (line.partition("│")[0] for line in hand.screen().splitlines())
            card = " ".join(" ".join(left).split())
            assert "at most 0.003 Ω = 3 mΩ, four states, guard band 1 U" in card
            assert "value mΩ >" in card
            await hand.press("‹2.98›", "enter")
            said = " ".join(hand.screen().split())
            assert "guard band 0.035 mΩ" in said  # U at 2.98 mohm: why a value below the limit is no pass
            assert "cond. pass memory 5" in said
