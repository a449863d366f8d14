"""Hostile text on every page and in every dialog: held to the bytes that reach the terminal."""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path

import pytest

from tests.crash.hostile_pages import OWN_WORDS, PAGES
from tests.crash.poison import MARK, MARKUP
from tests.crash.test_untrusted_text import unsafe_bytes
from tests.ui.every_screen import every_dialog

PATIENCE_S = 1.5


def test_every_page_and_dialog_is_looked_at() -> None:
    assert every_dialog() == set(PAGES)


if sys.platform == "win32":
    pytest.skip("a pseudo-terminal is wanted", allow_module_level=True)

from tests.crash.terminal import Terminal  # noqa: E402
from tests.crash.test_untrusted_text import settle  # noqa: E402

# Keys before the Escape that leads on.
KEYS = {
    "PointDriftScreen": ["\x1b[B", "\r", "\x1b"],  # the preview, and back
    "NumberDriftScreen": ["1", "\r", "\x1b"],  # the places, and back
    "ReconcileScreen": ["3", "\x1b[B", "2", "\x1b"],
    "CloseOutScreen": [*["\x1b[B"] * 2, "\x1b[F", "1", "\x1b", "9", "\x1b"],
    "ReasonDialog": ["/"],
}


def pictures_of(payload: str, folder: Path) -> tuple[bytes, dict[str, str]]:
    """All bytes sent, and by page everything that stood on the screen."""
    terminal = Terminal(
        [payload, str(folder)], folder, columns=200, rows=50, module="tests.crash.hostile_pages"
    )
    pictures = {}
    try:
        terminal.wait_for("THE NUMBERS DIFFER")
        settle(terminal)  # the first key counts once all of the page could be seen
        for name in PAGES:
            seen = []
            seen.append(terminal.text)
            for key in KEYS.get(name, []):
                press(terminal, key)
                seen.append(terminal.text)
            pictures[name] = "\n".join(seen)
            press(terminal, "\x1b")
    finally:
        terminal.kill()
    return bytes(terminal.raw), pictures


def press(terminal: Terminal, key: str) -> None:
    """Send a key and wait for the picture that it leads to; a lone Escape is taken for one after a while."""
    before = terminal.text
    terminal.send(key)
    until = time.monotonic() + PATIENCE_S
    while terminal.text == before and time.monotonic() < until:
        terminal.look(0.1)
    settle(terminal)


# How each payload shows: its beginning, and its end for lines that are longer than their box.
SHOWS = {
    "controls": ("\\u{1b}]0;EVIL\\u{7}", "\\u{8}EVIL"),
    "markup": (MARKUP[:40], "</td><script>EVIL</script>](javascript:EVIL)|`\\"),
}


@pytest.mark.parametrize("payload", SHOWS)
def test_nothing_hostile_acts_on_a_page_or_in_a_dialog(payload: str, tmp_path: Path) -> None:
    raw, pictures = pictures_of(payload, tmp_path)
    assert unsafe_bytes(raw, may_ring=False) == []
    assert b"Traceback" not in raw
    for name, picture in pictures.items():
        text = re.sub(r"[┃│]?\s*\n\s*[┃│]?", "", picture)
        if name in OWN_WORDS:
            assert MARK not in text
        else:
            assert any(whole in text for whole in SHOWS[payload]), (
                f"{name}: altered, or never came:\n{picture}"
            )
