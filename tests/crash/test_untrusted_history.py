"""Hostile text in what is said over many sessions, in remarks, errors and problems: as text, page, JSON.

Every text of a real answer is replaced by a hostile one, past the readers that would refuse it.
"""

from __future__ import annotations

import io
import json
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli import main
from fieldtui.cli.answers import print_error, print_json, print_problems
from fieldtui.core.remarks import Place
from fieldtui.core.text import is_clean
from fieldtui.desk.comparing import Followed, compare_sessions, follow_sessions, merge_sessions
from fieldtui.desk.fleet import Fleet, follow_fleet
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.remarks import RemarkDesk, Remarks
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, Problem, SessionInUseError
from fieldtui.files.disk import Disk
from fieldtui.report.between.comparison_text import format_comparison
from fieldtui.report.between.coverage_text import format_coverage
from fieldtui.report.between.fleet_json import fleet_as_json
from fieldtui.report.between.fleet_text import format_fleet, format_point
from fieldtui.report.between.history_json import comparison_as_json, coverage_as_json, trends_as_json
from fieldtui.report.between.trend_text import format_trends
from fieldtui.report.html import format_html
from fieldtui.report.text_summary import format_summary
from tests.crash.poison import CONTROLS, FORMULAS, MARK, MARKUP, poisoned
from tests.crash.test_untrusted_text import assert_no_markup
from tests.desk.fleet_maker import Chances, make_fleet
from tests.desk.scenes import SetClock

PAYLOADS = pytest.mark.parametrize("payload", [CONTROLS, MARKUP, FORMULAS[0]], ids=ascii)
SEEN = {CONTROLS: "\\u{1b}]0;EVIL\\u{7}", MARKUP: MARKUP, FORMULAS[0]: FORMULAS[0]}


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sessions of two assets with failures, moved readings and points put in on the way."""
    root = tmp_path_factory.mktemp("fleet")
    make_fleet(root, 11, assets=2, surveys=4, points=5, odds=Chances(moved=0.1, insert=0.1))
    (root / "broken").mkdir()
    (root / "broken" / "session.toml").write_bytes(b"\xff")
    return root


@pytest.fixture(scope="module")
def fleet(root: Path) -> Fleet:
    return follow_fleet(Disk(), [root])


@pytest.fixture(scope="module")
def followed(root: Path) -> Followed:
    return follow_sessions(Workspace(root, Disk()), [str(root)])


@pytest.fixture(scope="module")
def sessions(root: Path) -> list[ReadSession]:
    return [read_session(Disk(), path.parent) for path in sorted(root.glob("2*/session.toml"))]


def assert_harmless(text: str, payload: str) -> None:
    """Every line can be sent to a terminal, and the hostile text stands there as it is."""
    assert all(is_clean(line) for line in text.split("\n"))
    assert MARK in text, "the hostile text never came: nothing is proved"
    folded = re.sub(r"\s+", "", text)
    assert re.sub(r"\s+", "", SEEN[payload]) in folded, "a label was altered"


def assert_harmless_json(answer: object, payload: str, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    print_json(answer)
    text = capsys.readouterr().out
    assert all(is_clean(line) for line in text.split("\n"))
    assert json.loads(text) == json.loads(json.dumps(answer))
    told = "\n".join(texts_in(answer))
    assert payload in told or SEEN[payload] in told, "a label was altered"


def texts_in(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [text for each in inner for text in texts_in(each)]


@PAYLOADS
def test_trends_over_a_fleet(fleet: Fleet, payload: str, capsys: pytest.CaptureFixture[str]) -> None:
    evil = poisoned(fleet, payload)
    routes = []
    for route, sound in zip(evil.routes, fleet.routes, strict=True):  # figures of the queries are texts
        counts = [
            replace(
                each.counts,
                **{name: payload + getattr(each.counts, name) for name in ("asset", "route", "point")},
            )
            for each in sound.points
        ]
        points = [replace(each, counts=count) for each, count in zip(route.points, counts, strict=True)]
        routes.append(replace(route, points=tuple(points)))
    evil = replace(evil, routes=tuple(routes))
    assert len(evil.left_out) == 1
    assert_harmless(format_fleet(evil, 20), payload)
    assert_harmless(format_point(evil), payload)
    assert_harmless_json(fleet_as_json(evil, 20), payload, capsys)


@PAYLOADS
def test_trends_over_named_sessions(
    followed: Followed, payload: str, capsys: pytest.CaptureFixture[str]
) -> None:
    evil = poisoned(followed, payload)
    assert_harmless(format_trends(evil), payload)
    assert_harmless_json(trends_as_json(evil), payload, capsys)


@PAYLOADS
def test_two_sessions_held_against_each_other(
    sessions: list[ReadSession], payload: str, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second, *_ = (each for each in sessions if each.facts.route.name == "route-0")
    compared = poisoned(compare_sessions(first, second), payload)
    merged = poisoned(merge_sessions([first, second]), payload)
    assert_harmless(format_comparison(compared), payload)
    assert_harmless(format_coverage(merged), payload)
    assert_harmless_json(comparison_as_json(compared), payload, capsys)
    assert_harmless_json(coverage_as_json(merged), payload, capsys)


def remarks_of(session: ReadSession) -> Remarks:
    """Remarks on a point, on the whole, one withdrawn, and a file that could not be read."""
    desk = RemarkDesk(Disk(), session, SetClock())
    desk.add("Ivo", "look again", Place(point=session.survey.order.ids[0], record=1, row=3))
    desk.add("Ana", "fine")
    (hers,) = (entry for entry in desk.read().entries if entry.remark.by == "Ana")
    desk.withdraw(hers, "Ana", "another page")
    problem = Problem("what", "remedy", "review-ivo.toml", 3, "text")
    return replace(desk.read(), problems=(problem,))


@PAYLOADS
def test_remarks_in_the_summary_and_on_the_page(root: Path, payload: str) -> None:
    folder = sorted(root.glob("2*"))[0]
    session = read_session(Disk(), folder)
    remarks = remarks_of(session)
    for path in folder.glob("*review-*"):
        path.unlink()
    evil = poisoned(remarks, payload)
    assert_harmless(format_summary(session, evil), payload)
    page = format_html(session, evil)
    assert all(is_clean(line) for line in page.split("\n"))
    assert MARK in page
    assert_no_markup(page, format_html(session, poisoned(remarks, "EVIL ")))


@PAYLOADS
@pytest.mark.parametrize("make", [BadInputError, SessionInUseError])
def test_errors_and_problems_on_the_command_line(
    payload: str, make: Callable[..., Any], capsys: pytest.CaptureFixture[str]
) -> None:
    problem = Problem(f"{payload}what", f"{payload}remedy", f"{payload}file", 3, f"{payload}field")
    given = {"where": f"{payload}where", "remedy": f"{payload}do"}
    if make is BadInputError:
        given["problems"] = [problem, problem]  # type: ignore[assignment]
    print_error(make(f"{payload}what", **given), as_json=True)
    captured = capsys.readouterr()
    assert_harmless(captured.err, payload)
    assert all(is_clean(line) for line in captured.out.split("\n"))
    assert json.loads(captured.out)["error"] == f"{payload}what"
    stream = io.StringIO()
    print_problems([problem, replace(problem, remedy="")], stream)
    assert_harmless(stream.getvalue(), payload)
    assert_harmless_json(problem.as_json(), payload, capsys)


COMMANDS = (
    ["trend", "{}"], ["trend", "{}", "--json"], ["trend", "{}", "--point", "{}"], ["compare", "{}", "{}"],
    ["compare", "--merge", "{}"], ["compare", "--merge", "{}", "--json"], ["verify", "{}"],
    ["verify", "{}", "--json"], ["report", "{}"], ["reopen", "{}", "--reason", "{}"], ["walk", "{}"],
    ["resume", "{}"], ["review", "{}"], ["route", "check", "{}"], ["route", "check", "{}", "--json"],
    ["route", "export", "{}"], ["route", "sheet", "{}"], ["route", "import", "{}"],
    ["route", "import", "{}", "--json"], ["transcribe", "{}", "{}"], ["reconcile", "{}", "{}"],
    ["new", "{}/x/y"], ["{}"], ["trend", "--{}"], ["verify", "{}", "--seal", "{}", "--rows", "{}"],
)  # fmt: skip
NAMES = ("\x1b]0;EVIL\x07\x9b5n\u202eEVIL\x7f\udc9b", "[b]EVIL[/b]", "EVIL\n\rEVIL")


@pytest.mark.parametrize("name", NAMES, ids=ascii)
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_hostile_words_on_the_command_line_are_answered_harmlessly(
    command: list[str],
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sessions").mkdir()
    try:
        code = main([word.replace("{}", name) for word in command])
    except SystemExit as ended:
        code = int(ended.code or 0)
    captured = capsys.readouterr()
    assert code != 0
    for text in (captured.out, captured.err):
        assert "Traceback" not in text
        assert all(is_clean(line) for line in text.split("\n")), ascii(text)


@pytest.mark.skipif(sys.platform == "win32", reason="there no file can have such a name")
@pytest.mark.parametrize("name", [name.replace("/", "") for name in NAMES], ids=ascii)
def test_hostile_names_of_files_that_are_there(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What lies in a folder under a hostile name is listed, checked and refused in harmless words."""
    monkeypatch.chdir(tmp_path)
    for folder in ("sessions", "routes", f"sessions/{name}"):
        (tmp_path / folder).mkdir()
    (tmp_path / "sessions" / name / "session.toml").write_bytes(b"format = 1\n")
    (tmp_path / "routes" / f"{name}.toml").write_bytes(b"format = 2\n")
    (tmp_path / f"{name}.csv").write_bytes(b"id,title,max\nA,Strap,abc\n")
    for command in (
        ["route", "check", f"routes/{name}.toml"],
        ["route", "check", f"routes/{name}.toml", "--json"],
        ["route", "import", f"{name}.csv"],
        ["route", "import", f"{name}.csv", "--json"],
        ["verify", f"sessions/{name}"],
        ["verify", f"sessions/{name}", "--json"],
        ["trend", "sessions"],
        ["trend", "sessions", "--singly"],
        ["compare", "--merge", "sessions"],
    ):
        code = main(command)
        assert code != 0 or command[0] == "trend", command
        captured = capsys.readouterr()
        for text in (captured.out, captured.err):
            assert all(is_clean(line) for line in text.split("\n")), (command, ascii(text))
        assert "EVIL" in captured.out + captured.err or "is no" in captured.err, command
