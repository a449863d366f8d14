"""Every script in ``scripts`` is played through the real screens at 80x24."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.journeys.journey import Journey

SCRIPTS = sorted((Path(__file__).parent / "scripts").glob("*.txt"))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
async def test_journey(script: Path, tmp_path: Path) -> None:
    await Journey(script, tmp_path).play()


def test_the_scripts_are_there() -> None:
    assert len(SCRIPTS) >= 5
