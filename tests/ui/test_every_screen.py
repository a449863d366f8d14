"""Every screen at every size: nothing runs over, what counts is in sight, and it can be read in any light.

Sizes are those that are laid out on purpose; contrasts after WCAG 2.1, success criterion 1.4.6.
"""

from __future__ import annotations

from pathlib import Path
from unicodedata import normalize

import pytest
from rich.cells import cell_len
from rich.color import ColorSystem
from rich.style import Style
from rich.terminal_theme import DEFAULT_TERMINAL_THEME
from textual.color import Color

from fieldtui.ui.app import FieldApp
from tests.desk.scenes import QuickDisk
from tests.ui.every_screen import MARKED, SCREENS, WIDE, drawn, lay_out, on_screen
from tests.ui.test_widgets import contrast

SIZES = [(80, 24), (100, 30), (120, 40), (200, 60)]
LIGHTS = ["daylight", "dim", "night"]

# Words that must be in sight at every size, by screen.
IN_SIGHT = {
    "start": ["wing", "F1 help"],
    "brief": ["BLOCKED", "F1 help"],
    "walk": [
        "NOW",
        "SW-07",
        "RECORD",
        "METER MEMORY",
        "limit",
        "one decimal three eight milliohms",
        "F1 help",
    ],
    "drift": ["THE NUMBERS DIFFER", "Meter: last reading is 9.", "1  ", "Esc"],
    "reconcile": ["RECONCILE", "KEYED DIFFERENTLY", "F1 help"],
    "close-out": ["POINTS STILL OPEN", "SW-04", "F1 help"],
    "menu": ["skip", "close"],
    "help": ["Keys", "Leave this point for later"],
    "reason": ["SW-07", "Esc"],
    "records": ["SW-06", "SW-04"],
    "points": ["SW-07"],
    "number": ["number"],
    "insert": ["what is measured", "limit"],
    "blind": ["Esc"],
    "stopped": ["SW-07", "40", "Esc"],
    "review-1": ["SW-04", "F1 help"],
    "review-2": ["SW-04", "VOID", "F1 help"],
    "review-3": ["SW-04", "F1 help"],
    "review-4": ["reading", "F1 help"],
    "review-5": ["Ada", "F1 help"],
    "review-6": ["6 remarks", "F1 help"],
    "review-7": ["SW-01", "mΩ ┤", "limit", "F1 help"],
    "review-7-2": ["SW-01", "100 % ┤", "F1 help"],
    "review-7-3": ["percent of the limit", "F1 help"],
    "review-7-4": ["The route names no symmetric partners", "F1 help"],
    "review-7-5": ["no earlier survey", "F1 help"],
    "review-8": ["Sections", "4 of 12 settled", "F1 help"],
    "review-9": ["memory run", "F1 help"],
    "review-point": ["SW-01", "point 1 of 12", "How it stands", "F1 help"],
}


@pytest.mark.parametrize("name", SCREENS)
async def test_nothing_runs_over_and_what_counts_is_in_sight(name: str, tmp_path: Path) -> None:
    async with on_screen(name, lay_out(tmp_path, QuickDisk()), SIZES[0]) as hand:
        for size in SIZES:
            await hand.pilot.resize_terminal(*size)
            await hand.settle()
            assert [length for length, _ in drawn(hand.app)] == [size[0]] * size[1]
            text = hand.screen()
            missing = [words for words in IN_SIGHT[name] if words not in text]
            assert missing == [], f"{size}\n{text}"
            for line in text.splitlines():  # a frame around wide letters stands straight
                if line.count("┃") == 2:
                    before, inside, _ = line.split("┃")
                    assert (cell_len(before), cell_len(before + inside) + 1) in frames(text), line


def frames(text: str) -> set[tuple[int, int]]:
    """Where the upper edges of dialogs begin and end, in cells."""
    edges = set()
    for line in text.splitlines():
        left, right = line.find("┏"), line.rfind("┓")
        if 0 <= left < right:
            edges.add((cell_len(line[:left]), cell_len(line[:right])))
    return edges


@pytest.mark.parametrize("name", SCREENS)
async def test_every_text_stands_out_in_every_light(name: str, tmp_path: Path) -> None:
    """7:1 in the exact colours; still apart from its ground in the sixteen of a plain terminal."""
    async with on_screen(name, lay_out(tmp_path, QuickDisk()), (120, 40)) as hand:
        for light in LIGHTS:
            hand.app.theme = light
            await hand.settle()
            exact, plain = contrasts(hand.app)
            assert len(exact) > 5
            assert {text: ratio for text, ratio in exact.items() if ratio < 7} == {}, light
            assert {text: ratio for text, ratio in plain.items() if ratio < 3} == {}, light


def contrasts(app: FieldApp) -> tuple[dict[str, float], dict[str, float]]:
    """The contrast of each text in front, in exact colours and brought down to sixteen."""
    exact, plain = {}, {}
    region = app.screen.query_one(".dialog").region if app.screen.query(".dialog") else app.screen.region
    for y, (_, segments) in enumerate(drawn(app)):
        x = 0
        for text, style in segments:
            start, x = x, x + cell_len(text)
            if not text.strip() or (start, y) not in region:
                continue
            assert isinstance(style, Style)
            assert style.color is not None
            assert style.bgcolor is not None
            exact[text] = contrast(Color.from_rich_color(style.color), Color.from_rich_color(style.bgcolor))
            few = [colour.downgrade(ColorSystem.STANDARD) for colour in (style.color, style.bgcolor)]
            ink, ground = (colour.get_truecolor(DEFAULT_TERMINAL_THEME) for colour in few)
            plain[text] = contrast(Color(*ink), Color(*ground))
    return exact, plain


@pytest.mark.parametrize(
    "name", ["start", "brief", "walk", "drift", "close-out", "stopped", "review-1", "review-3"]
)
async def test_without_colour_everything_is_still_said(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """NO_COLOR: the same letters, and no hue is left."""
    async with on_screen(name, lay_out(tmp_path, QuickDisk()), (80, 24)) as hand:
        coloured = hand.screen()
    monkeypatch.setenv("NO_COLOR", "1")
    (tmp_path / "again").mkdir()
    async with on_screen(name, lay_out(tmp_path / "again", QuickDisk()), (80, 24)) as hand:
        grey = hand.screen()
        for _, segments in drawn(hand.app):
            for _, style in segments:
                for colour in (getattr(style, "color", None), getattr(style, "bgcolor", None)):
                    if colour is not None and colour.triplet is not None:
                        assert len(set(colour.triplet)) == 1, colour
    assert grey.replace(str(tmp_path / "again"), str(tmp_path)) == coloured


async def test_wide_and_marked_titles_are_shown_whole_where_there_is_room(tmp_path: Path) -> None:
    async with on_screen("walk", lay_out(tmp_path, QuickDisk()), (200, 60)) as hand:
        text = hand.screen()
        assert WIDE in text
        assert normalize("NFC", MARKED) in text  # as texts are kept


async def test_the_largest_terminal_shows_what_is_ahead(tmp_path: Path) -> None:
    async with on_screen("walk", lay_out(tmp_path, QuickDisk()), (200, 60)) as hand:
        rows = [line.split("│")[1] for line in hand.screen().splitlines() if line.count("│") == 2]
    assert rows[0].strip() == "coming up"
    ahead = [row.split()[0] for row in rows[1:] if row.strip()]
    assert ahead == [*(f"SW-{n:02d}" for n in range(8, 13)), "second", "SW-05"]  # and what was skipped
    assert all("less than 2.5 mΩ" in row for row in rows[1:6])


async def test_a_reading_has_its_title_beside_it_where_there_is_room(tmp_path: Path) -> None:
    async with on_screen("walk", lay_out(tmp_path, QuickDisk()), (80, 24)) as hand:
        assert "Flap track 1 jumper" not in hand.screen()
        await hand.pilot.resize_terminal(100, 30)
        await hand.settle()
        assert any("0.52 mΩ" in line and "Flap track 1 jumper" in line for line in hand.screen().splitlines())
