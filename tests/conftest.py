"""What holds for every test: nothing outside its folders is written to, and a slow machine is no failure."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

from fieldtui.ui.widgets.entry_line import EntryLine

# Hints of the first sessions are kept in the user's own folder; programs that tests start inherit this.
os.environ["FIELDTUI_HINTS"] = "off"

# A busy machine, or one that measures coverage, makes inputs slowly; that is no fault of theirs.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")


@pytest.fixture(autouse=True)
def hands_that_think(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Keys of a test follow each other at once, and are meant one by one; a test of haste says so."""
    if "in_haste" not in request.keywords:
        monkeypatch.setattr(EntryLine, "ONE_NUMBER_S", 0.0)
