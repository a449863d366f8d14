"""Hostile text in every field: on every screen and in every file nothing of it acts, and all of it shows.

Asserted on the bytes that reach the terminal, not on what a widget says it holds: the toolkit passes
control sequences on. Sources: CWE-150 (escape sequences), CVE-2021-42574 (overrides of direction),
CWE-1236 (formulas in CSV), CWE-79 (markup in HTML).
"""

from __future__ import annotations

import csv
import html.parser
import io
import json
import re
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.core.survey.survey import fold
from fieldtui.core.text import is_clean
from fieldtui.desk.comparing import compare_sessions, merge_sessions
from fieldtui.files.disk import Disk
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.coverage_text import format_coverage
from fieldtui.report.between.history_json import comparison_as_json, coverage_as_json
from fieldtui.report.capture.files import write_capture_sheet
from fieldtui.report.capture.sheet import make_sheet
from fieldtui.report.writing import write_report
from tests.crash.hostile_app import story
from tests.crash.poison import CONTROLS, FORMULAS, MARK, MARKUP, poisoned
from tests.desk.scenes import Scene
from tests.ui.review_fixtures import METER, route_of, tables_of

WIDE = (200, 50)  # so that little is cut off at the right

# What the toolkit itself sends: colours, places, its modes, its questions, the pointer's shape.
_OWN = re.compile(
    rb"\x1b\[(?:[0-9;]*m|[0-9]+;[0-9]+H|\?[0-9]+[hl]|\?[0-9]+\$p|>[0-9]+u|<u)|\x1b\]22;default\x07|\r|\n"
)
_STYLE = re.compile(rb"\x1b\[([0-9;]*)m")
_OWN_STYLE = re.compile(rb"(?:(?:0|1|2|3|4|7|9|[34]8;2(?:;[0-9]{1,3}){3})(?:;|$))*")

DIALOGS = ("s", "v", "x", "c", "g", "e", "i", "j", "n", "p", "w", "o", "f", "h", "d", "t", "/", "?")
WALK_KEYS = [*(key for dialog in DIALOGS for key in (dialog, "\x1b")), "1.5\r", "\x1b", "b"]
READY = {"start": "Closed sessions", "brief": "BLOCKED", "review": "CHAIN", "story": "CHAIN", "walk": "NEXT"}
RINGING = ("walk", "brief")  # the program rings the bell there by itself
KEYS = {
    "start": ["\x1b[B", "\x1b[B", "?"],
    "brief": ["\t", "ü", "\t", "\t", "\x1bOR", "\x1b[15~"],
    "review": [*"23456778777", "9", "3", "\r", "n", "\x1b", "1", "/", "E", "V", "\r"],
    "story": ["n", "n", "?", "\x1b", "\x1b", "6", "\r", "\x1b", "w", "\x1b"],
    "walk": WALK_KEYS,
}
OPENING = {"story": [("3", "as found"), ("\r", "next point")]}  # keys, and what then shows


def unsafe_bytes(raw: bytes, *, may_ring: bool) -> list[str]:
    """Everything that a program sent to its terminal and that is neither text nor the toolkit's own."""
    found = [style.decode() for style in _STYLE.findall(raw) if not _OWN_STYLE.fullmatch(style)]
    text = _OWN.sub(b"", raw).decode()
    if may_ring:
        text = text.replace("\x07", "")
    return found + [line for line in re.findall(r".{0,20}[^\n]{0,1}", text) if line and not is_clean(line)]


if sys.platform != "win32":
    from tests.crash.terminal import Terminal

    def bytes_of(screen: str, payload: str, folder: Path) -> tuple[bytes, str]:
        """All bytes of one screen with its dialogs, and every picture of it, one below the other."""
        columns, rows = WIDE
        terminal = Terminal(
            [screen, payload, str(folder)],
            folder,
            columns=columns,
            rows=rows,
            module="tests.crash.hostile_app",
        )
        pictures = []
        try:
            terminal.wait_for(READY[screen])
            for key, words in OPENING.get(screen, []):
                terminal.send(key)
                terminal.wait_for(words)
            for key in ["", *KEYS[screen]]:
                terminal.send(key)
                settle(terminal)
                pictures.append(terminal.text)
        finally:
            terminal.kill()
        return bytes(terminal.raw), "\n".join(pictures)

    def settle(terminal: Terminal) -> None:
        """Until nothing has come for a moment."""
        until = time.monotonic() + 5
        seen = -1
        while len(terminal.raw) != seen and time.monotonic() < until:
            seen = len(terminal.raw)
            terminal.look(0.12)


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is wanted")
@pytest.mark.parametrize("screen", KEYS)
def test_control_sequences_in_every_field_of_a_screen_are_shown_and_not_sent(
    screen: str, tmp_path: Path
) -> None:
    raw, pictures = bytes_of(screen, "controls", tmp_path)
    assert unsafe_bytes(raw, may_ring=screen in RINGING) == []
    assert b"Traceback" not in raw
    assert "\\u{1b}]0;EVIL\\u{7}" in pictures, "the hostile text never came to the screen: nothing is proved"
    assert pictures.count(MARK) > 20


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is wanted")
@pytest.mark.parametrize("screen", KEYS)
def test_markup_in_every_field_of_a_screen_is_text(screen: str, tmp_path: Path) -> None:
    raw, pictures = bytes_of(screen, "markup", tmp_path)
    assert unsafe_bytes(raw, may_ring=screen in RINGING) == []
    assert b"Traceback" not in raw
    assert MARKUP[:60] in pictures, "a label was altered"
    # None of its pieces ever stands there without the others: nothing was taken for markup and dropped.
    wholes = re.findall(r"\[P-014\].{6}", pictures.replace("\n", " "))
    assert wholes and set(wholes) <= {
        "[P-014][/b][/",
        *(whole for whole in wholes if "…" in whole or " " in whole),
    }


ATTACKS = [
    *("\x1b]0;x\x07", "\x1b[6n", "\x1b[31m", "\x9b5n", "\x1bPq\x1b\\", "\x1b[2J", "\x1bc", "\x00", "\u202ex"),
    *("\x1b]52;c;eA==\x07", "\u200b", "\x08", "\x7f", "\x1b[5;38;2;1;2;3m", "\x1b]22;wait\x07"),
]


def test_the_check_of_bytes_would_see_each_kind_of_attack() -> None:
    for attack in ATTACKS:
        sent = b"\x1b[1;38;2;1;2;3mtext " + attack.encode() + b" text\x1b[0m\x1b[2;3H"
        assert unsafe_bytes(sent, may_ring=True), ascii(attack)
        assert unsafe_bytes(sent.replace(attack.encode(), b""), may_ring=False) == []


# --- files ----------------------------------------------------------------------------------------


def written(payload: str, folder: Path) -> dict[str, str]:
    """The report's files by name, of a session in which every text begins with the payload."""
    folder.mkdir()
    told = story(payload)
    session = told.session()
    with Scene(folder).begin() as desk:
        place = desk.folder
    facts = replace(poisoned(session.facts, payload), route=told.route, instrument=told.instrument)
    survey = fold(told.route, told.instrument, told.events)
    files = write_report(Disk(), replace(session, facts=facts, survey=survey, folder=place), folder).files
    return {path.name: path.read_bytes().decode("utf-8-sig") for path in files}


class Tags(html.parser.HTMLParser):
    """What a browser would take for elements and attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.attributes: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.attributes += [(name, value or "") for name, value in attrs]


@pytest.mark.parametrize("payload", [CONTROLS, MARKUP, *FORMULAS], ids=ascii)
def test_reports_of_hostile_texts_are_harmless(payload: str, tmp_path: Path) -> None:
    files = written(payload, tmp_path / "report")
    for name, text in files.items():
        assert MARK in text, f"{name} does not hold the text: nothing is proved"
        assert all(is_clean(line) for line in re.split(r"\r\n|\n", text)), name
    for cells in csv.reader(io.StringIO(files["results.csv"], newline=""), strict=True):
        for cell in cells:
            assert cell[:1] not in ("=", "+", "-", "@", "\t", "＝", "＋", "－", "＠"), cell
    for name, text in files.items():
        if name.endswith(".html"):
            assert_no_markup(text, written("EVIL ", tmp_path / "plain")[name])


def assert_no_markup(page: str, plain: str) -> None:
    """The page has the elements that it has with harmless texts, and no others; nothing runs or loads."""
    found, wanted = Tags(), Tags()
    found.feed(page)
    wanted.feed(plain)
    assert found.names == wanted.names
    assert "script" not in found.names
    for name, value in found.attributes:
        assert not name.startswith("on"), name
        assert not (name in ("href", "src") and not value.startswith("#")), value


@pytest.mark.parametrize("payload", [CONTROLS, MARKUP, *FORMULAS], ids=ascii)
def test_capture_sheets_of_hostile_texts_are_harmless(payload: str, tmp_path: Path) -> None:
    sheets = {}
    for name, text in (("evil", payload), ("plain", "EVIL ")):
        (tmp_path / name).mkdir()
        # Ids stand as they are in a sheet: none is taken from a file that could act.
        points = [
            replace(poisoned(each, text), id=each.id, section=each.section) for each in route_of().points
        ]
        route = replace(poisoned(route_of(), text), name="r", points=tuple(points))
        meter = poisoned(METER, text)
        sheet = make_sheet(route, poisoned(tables_of(), text), meter)
        files = write_capture_sheet(Disk(), sheet, tmp_path / name, force=False)
        sheets[name] = {path.suffix: path.read_bytes().decode("utf-8-sig") for path in files}
    for suffix, text in sheets["evil"].items():
        assert MARK in text or suffix == ".csv", f"{suffix} does not hold the text: nothing is proved"
        assert all(is_clean(line) for line in re.split(r"\r\n|\n", text)), suffix
    for cells in csv.reader(io.StringIO(sheets["evil"][".csv"], newline=""), strict=True):
        assert not any(cell[:1] in tuple("=+-@\t＝＋－＠") for cell in cells if cell), cells
    assert_no_markup(sheets["evil"][".html"], sheets["plain"][".html"])


@pytest.mark.parametrize("payload", [CONTROLS, MARKUP], ids=ascii)
def test_what_is_said_of_several_sessions_is_harmless(payload: str) -> None:
    """What ``compare``, ``coverage`` and ``trend`` print, as text and as JSON."""
    told = story(payload)
    session = told.session()
    facts = replace(poisoned(session.facts, payload), route=told.route, instrument=told.instrument)
    evil = replace(session, facts=facts)
    another = replace(evil, facts=replace(facts, id=f"{facts.id}2", first_link="1" * 32))
    compared, merged = compare_sessions(evil, another), merge_sessions([evil, another])
    texts = {
        "compare": format_comparison(compared),
        "coverage": format_coverage(merged),
        "compare --json": json.dumps(comparison_as_json(compared), indent=1),
        "coverage --json": json.dumps(coverage_as_json(merged), indent=1),
    }
    for name, text in texts.items():
        assert MARK in text, name
        assert all(is_clean(line) for line in text.split("\n")), name


@pytest.mark.parametrize("payload", [MARKUP, FORMULAS[0]], ids=ascii)
def test_no_label_is_altered_in_a_text(payload: str, tmp_path: Path) -> None:
    files = written(payload, tmp_path / "report")
    assert payload in " ".join(files["summary.txt"].split())  # which is folded at 80 columns
    cells = [cell for row in csv.reader(io.StringIO(files["results.csv"], newline="")) for cell in row]
    assert any(cell.removeprefix("'").startswith(payload) for cell in cells)
