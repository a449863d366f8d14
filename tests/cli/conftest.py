"""What the tests of commands share: one command run, and what it answered."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli import main

ROOT = Path(__file__).resolve().parents[2]
_WILD = ("Cc", "Cf", "Cs", "Zl", "Zp")


class Answered:
    """What a command said; neither stream holds anything that could drive a terminal."""

    def __init__(self, code: int, out: str, err: str) -> None:
        for text in (out, err):
            assert "Traceback" not in text
            assert not [c for c in text if c != "\n" and unicodedata.category(c) in _WILD]
        assert "did not expect" not in err
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> dict[str, Any]:
        return dict(json.loads(self.out))


Ask = Callable[..., Answered]


@pytest.fixture
def ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Runs a command in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def answer(*arguments: str) -> Answered:
        code = main(list(arguments))
        return Answered(code, *capsys.readouterr())

    return answer
