"""Where a second copy goes, as said on the command line or in the environment."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.cli.places import open_workspace


def test_no_copy_unless_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FIELDTUI_COPY", raising=False)
    assert open_workspace().copy_to is None


def test_the_environment_says_it_for_every_walk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIELDTUI_COPY", "/media/stick")
    assert open_workspace().copy_to == Path("/media/stick")


def test_what_is_said_on_the_line_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIELDTUI_COPY", "/media/stick")
    assert open_workspace(copy="other").copy_to == Path("other")


@pytest.mark.parametrize("command", ["walk", "resume"])
def test_the_option_is_passed_on(command: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from fieldtui.cli import main, screens

    seen = []
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(screens, "open_workspace", lambda *_, **said: seen.append(said) or _stop())
    main([command, "airframe-bonds", "--copy", "/media/stick"])
    assert seen[0]["copy"] == "/media/stick"


def _stop() -> None:
    from fieldtui.errors import WrongUseError

    raise WrongUseError("far enough for this test")
