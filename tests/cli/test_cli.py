"""The command line: exit codes, JSON shapes, and nonsense of every kind answered in words."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import unicodedata
from pathlib import Path
from typing import Any

import pytest

from fieldtui import __version__, cli
from fieldtui.cli import main
from fieldtui.files.sheet import COLUMNS
from tests.desk.scenes import ROUTE, Scene, record

SHEET = "\n".join(
    [
        ",".join(COLUMNS),
        "run,,,,,1",
        "reading,SW-01,1,1.380,mohm,1",
        "reading,SW-02,2,3.5,mohm,2",
        "skip,SW-03,,,,,paint",
        "reading,SW-01,3,1.39,mohm,5",
        "",
    ]
)
BAD_SHEET = ",".join(COLUMNS) + "\nreading,SW-1,1,1..1\n\nskip,HU-01,,,,,\x1b[2J\nvoid,,7\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workspace as the working folder, with a route, a good and a bad sheet, and a session."""
    scene = Scene(tmp_path)
    (tmp_path / "sheet.csv").write_text(SHEET, encoding="utf-8")
    (tmp_path / "bad.csv").write_text(BAD_SHEET, encoding="utf-8")
    with scene.begin() as desk:
        record(desk, "1.380", "9.9")
        desk.skip("paint")
    desk.folder.rename(tmp_path / "sessions" / "wing_01")
    monkeypatch.chdir(tmp_path)
    return tmp_path


class Answer:
    """What a command answered; both streams are free of anything that could drive a terminal."""

    def __init__(self, code: int, out: str, err: str) -> None:
        for text in (out, err):
            assert "Traceback" not in text
            wild = [
                c for c in text if c != "\n" and unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")
            ]
            assert not wild, wild
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> dict[str, Any]:
        return dict(json.loads(self.out))


@pytest.fixture
def run(here: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    def answer(*arguments: str) -> Answer:
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return Answer(code, out, err)

    return answer


# --- route check ---------------------------------------------------------------------------------


def test_a_good_route_is_good(run: Any) -> None:
    answer = run("route", "check", "wing")
    assert answer.code == 0
    assert answer.out == "1 route checked: 0 errors, 0 warnings\n"
    assert run("route", "check", "wing", "routes/wing.toml", "--json").json == {
        "ok": True, "files": ["wing", "routes/wing.toml"], "problems": [],
    }  # fmt: skip


BAD_ROUTE = ROUTE.replace('id = "SW-02"', 'id = "SW-01"').replace("repeats = 3", "repeets = 3")


def test_every_problem_of_a_route_is_told_with_its_place(run: Any, here: Path) -> None:
    (here / "routes" / "bad.toml").write_text(BAD_ROUTE, encoding="utf-8")
    answer = run("route", "check", "routes/bad.toml")
    assert answer.code == 1
    lines = answer.out.splitlines()
    assert any(line.startswith("routes/bad.toml:") and "SW-01" in line for line in lines)
    assert any("repeets" in line for line in lines)
    assert any("repeats" in line for line in lines)  # the nearest known key
    assert lines[-1] == "1 route checked: 2 errors, 0 warnings"
    answer = run("route", "check", "routes/bad.toml", "--json")
    assert (answer.code, answer.json["ok"], len(answer.json["problems"])) == (1, False, 2)
    assert set(answer.json["problems"][0]) == {"file", "line", "field", "severity", "what", "remedy"}


def test_a_route_that_is_missing_does_not_hide_the_problems_of_the_others(run: Any, here: Path) -> None:
    (here / "routes" / "bad.toml").write_text(BAD_ROUTE, encoding="utf-8")
    answer = run("route", "check", "nowhere", "bad", "wing")
    assert answer.code == 2
    assert "There is no route nowhere" in answer.out + answer.err
    assert "repeets" in answer.out
    answer = run("route", "check", "nowhere", "bad", "--json")
    assert (answer.code, answer.json["ok"], len(answer.json["problems"])) == (2, False, 3)


def test_a_warning_alone_is_no_finding(run: Any, here: Path) -> None:
    route = (
        ROUTE.replace("check_every = 4", "check_every = 4", 1)
        + 'conductor = { awg = "18", length_mm = 304.8 }\n'
    )
    route = route.replace("limit = { record_only = true }", 'limit = { max = 2.5, unit = "mohm", cmp = "<" }')
    (here / "routes" / "thin.toml").write_text(route, encoding="utf-8")
    answer = run("route", "check", "thin", "--json")
    severities = [problem["severity"] for problem in answer.json["problems"]]
    assert severities  # AWG 18 of 12 inches has 6.6 milliohms (computed) and can never meet 2.5
    assert answer.code == (1 if "error" in severities else 0)


# --- transcribe ----------------------------------------------------------------------------------


def test_a_sheet_becomes_a_session(run: Any, here: Path) -> None:
    answer = run("transcribe", "wing", "sheet.csv", "--json", "--recorder", "Ana")
    assert (answer.code, answer.err) == (0, "")
    assert set(answer.json) == {
        "session", "readings", "points", "alarms", "suspects", "paths", "unverified", "has_times", "lacking",
        "ok", "in_doubt", "times", "numbers_counted_on",
    }  # fmt: skip
    assert [each["kind"] for each in answer.json["lacking"]] == ["meter not named"]
    assert answer.json["readings"] == 3
    assert answer.json["points"] == {
        "open": 2, "passed": 1, "failed": 1, "skipped": 1, "waived": 0, "inaccessible": 0, "recorded": 0,
    }  # fmt: skip
    assert isinstance(answer.json["alarms"], list)
    assert {suspect["record"] for suspect in answer.json["suspects"]} == {3}
    assert set(answer.json["suspects"][0]) >= {"record", "why"}
    folder = Path(answer.json["session"])
    assert folder.parent == here / "sessions"
    assert run("verify", str(folder)).code == 0


def test_temperatures_of_a_sheet_a_path_and_a_limit_from_memory_are_in_the_answer(
    run: Any, here: Path
) -> None:
    limit = 'limit = { max = 2.5, cmp = "<" }'
    text = ROUTE.replace("check_every = 4", "check_every = 4\ncorrect_to_20 = true", 1)
    text = text.replace(limit, 'criterion = "guess"', 1)
    path = '\n[[paths]]\nid = "E-1"\ntitle = "stud to stud"\npoints = ["SW-01"]\nlimit = { max = 2.4 }\n'
    (here / "routes" / "warm.toml").write_text(text + path, encoding="utf-8")
    (here / "shared").mkdir(exist_ok=True)
    (here / "shared" / "criteria.toml").write_text(
        'format = 1\n[criteria.guess]\ntitle = "Guess"\nmax = 2.5\ncmp = "<"\nunit = "mohm"\n'
        'source = "some standard"\nstatus = "unverified"\n',
        encoding="utf-8",
    )
    sheet = here / "warm.csv"
    sheet.write_text("action,point,value\nreading,SW-01,2.600\n", encoding="utf-8")
    answer = run("transcribe", "warm", "warm.csv", "--conductor", "35", "--ambient", "12.5", "--json")
    assert answer.code == 0
    assert answer.json["points"]["passed"] == 1  # 2.455 at 20 C
    assert answer.json["unverified"] == {"guess (< 2.5 mΩ)": ["SW-01"]}
    assert answer.json["paths"] == {"E-1": "2.45526 mΩ, fail against <= 2.4 mΩ"}
    facts = (Path(answer.json["session"]) / "session.toml").read_text(encoding="utf-8")
    assert "ambient_c = 12.5" in facts and "conductor_c = 35" in facts
    plain = run("transcribe", "warm", "warm.csv", "--conductor", "35")
    assert "limit UNVERIFIED: guess (< 2.5 mΩ) is from memory and judged 1 point" in plain.out
    assert "path     E-1: 2.45526 mΩ, fail against <= 2.4 mΩ" in plain.out
    assert run("transcribe", "warm", "warm.csv", "--conductor", "35 C").code == 2


def test_a_sheet_becomes_a_session_elsewhere(run: Any, here: Path) -> None:
    answer = run("transcribe", "wing", "sheet.csv", "--out", "stick")
    assert answer.code == 0
    (folder,) = (here / "stick").iterdir()
    first, second, third, *suspects = answer.out.splitlines()
    assert first == f"session  {Path('stick') / folder.name}"
    assert second == "readings 3"
    assert third == "points   2 open, 1 passed, 1 failed, 1 skipped"
    assert any("record 3" in line for line in suspects)


def test_a_bad_sheet_names_every_bad_line_and_writes_nothing(run: Any, here: Path) -> None:
    before = sorted(here.rglob("*"))
    answer = run("transcribe", "wing", "bad.csv")
    assert (answer.code, answer.out) == (2, "")
    for piece in (
        "bad.csv:2, point",
        "bad.csv:2, value",
        "bad.csv:4, reason",
        r"\u{1b}",
        "bad.csv:5, record",
    ):
        assert piece in answer.err, piece
    answer = run("transcribe", "wing", "bad.csv", "--json")
    assert answer.code == 2
    assert answer.json["ok"] is False
    assert [problem["line"] for problem in answer.json["problems"]] == [2, 2, 4, 5]
    assert sorted(here.rglob("*")) == before


# --- verify and report -----------------------------------------------------------------------------


def test_a_whole_session_verifies(run: Any) -> None:
    answer = run("verify", "wing_01")
    assert answer.code == 0
    first, second = answer.out.splitlines()
    assert first == "intact: 10 rows, 2 readings"
    assert second.startswith("seal ")
    found = run("verify", "sessions/wing_01", "--json").json
    assert (found["ok"], found["rows"], found["readings"], found["problems"]) == (True, 10, 2, [])
    assert second == f"seal {found['seal']}"


def test_a_changed_session_is_a_finding(run: Any, here: Path) -> None:
    trail = here / "sessions" / "wing_01" / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b",1.380,", b",1.38\x1b,"))
    answer = run("verify", "wing_01")
    assert answer.code == 1
    assert "NOT intact" in answer.out
    assert "trail.csv:9" in answer.out
    answer = run("verify", "wing_01", "--json")
    assert (answer.code, answer.json["ok"]) == (1, False)
    assert set(answer.json) == {
        "ok", "rows", "readings", "rows_found", "readings_found", "seal", "problems",
    }  # fmt: skip


def test_the_words_on_a_changed_session_toml_do_not_contradict_each_other(run: Any, here: Path) -> None:
    facts = here / "sessions" / "wing_01" / "session.toml"
    seal = run("verify", "wing_01", "--json").json["seal"]
    facts.write_bytes(facts.read_bytes() + b"# a remark\n")
    said = run("verify", "wing_01").out.splitlines()
    assert said[-2:] == [
        "NOT intact: 0 of 10 rows proven, with 0 of 2 readings",
        f"trail.csv by itself, which proves nothing: last link that holds, row 10: {seal}",
    ]
    facts.write_bytes(b"format = \n")
    unread = "NOT intact: without its session.toml no row of its trail.csv is proven"
    assert run("verify", "wing_01").out.splitlines()[-1] == unread
    facts.unlink()
    answer = run("verify", "wing_01")
    assert (answer.code, answer.out.splitlines()[-1]) == (1, unread)


@pytest.mark.parametrize("rows", ["0", "-1"])
def test_a_number_of_rows_that_no_paper_has_is_refused(run: Any, here: Path, rows: str) -> None:
    answer = run("verify", "wing_01", "--rows", rows)
    assert (answer.code, answer.out) == (2, "")
    assert f"This is no number of rows: {rows}" in answer.err
    assert run("verify", "wing_01", "--rows", "1").code == 1  # an older copy may have one


def test_a_report_of_a_broken_trail_is_written_and_is_a_finding(run: Any, here: Path) -> None:
    trail = here / "sessions" / "wing_01" / "trail.csv"
    good = run("report", "wing_01", "--json").json
    assert (good["ok"], good["problems"]) == (True, [])
    trail.write_bytes(trail.read_bytes().replace(b",1.380,", b",1.390,"))
    answer = run("report", "wing_01", "--out", "paper")
    assert answer.code == 1
    assert "fieldtui verify says which" in answer.out
    assert (here / "paper" / "results.csv").is_file()
    told = run("report", "wing_01", "--json")
    assert (told.code, told.json["ok"]) == (1, False)
    assert told.json["problems"] == run("verify", "wing_01", "--json").json["problems"]
    assert told.json["problems"][0]["line"] == 9


def test_a_report_is_written_beside_the_session_or_elsewhere(run: Any, here: Path) -> None:
    answer = run("report", "wing_01", "--json")
    assert answer.code == 0
    assert {Path(file).name for file in answer.json["files"]} >= {"results.csv"}
    assert all((here / file).is_file() for file in answer.json["files"])
    answer = run("report", "wing_01", "--out", "paper")
    assert answer.code == 0
    header, *rows = (here / "paper" / "results.csv").read_text(encoding="utf-8").splitlines()
    assert header == (
        "point,section,title,where,a,b,limit,as_found,as_found_record,as_left,as_left_record,unit,verdict,state,"
        "reason,run,number,time,by,judged,celsius,probed_by,meter,in_doubt,decision,guard,expanded_u,judged_u"
    )
    assert len(rows) == 5
    assert run("verify", "wing_01").code == 0


def test_resume_without_an_open_session_says_how_to_start_one(run: Any, here: Path) -> None:
    (here / "sessions" / "wing_01" / "session.toml").unlink()
    answer = run("resume")
    assert answer.code == 2
    assert "No session is open here" in answer.err


# --- nonsense ----------------------------------------------------------------------------------------

COMMANDS = [
    ["route", "check", "?"],
    ["verify", "?"],
    ["report", "?"],
    ["review", "?"],
    ["resume", "?"],
    ["walk", "?"],
    ["transcribe", "?", "sheet.csv"],
    ["transcribe", "wing", "?"],
]


def nonsense(here: Path) -> dict[str, str]:
    """Arguments that lead nowhere good, by what they are."""
    (here / "a folder").mkdir()
    (here / "empty").write_bytes(b"")
    (here / "binary").write_bytes(bytes(range(256)) * 40)
    (here / "text.toml").write_text("hello", encoding="utf-8")
    (here / "loop").symlink_to("loop")
    (here / "hostile\x1b]0;x\x07.toml").write_bytes(b"format = 1\n\x1b[2J = 1\n")
    os.mkfifo(here / "pipe")
    return {
        "missing": "nowhere/at/all",
        "folder": "a folder",
        "empty": "empty",
        "binary": "binary",
        "text": "text.toml",
        "pipe": "pipe",
        "loop": "loop",
        "device": "/dev/null",
        "blank": "",
        "dot": ".",
        "root": "/",
        "long": "x" * 300,
        "longer": "x/" * 3000,
        "escape": "a\x1b]0;gone\x07b",
        "override": "a\u202eb",
        "surrogate": "a\udcffb",
        "hostile file": "hostile\x1b]0;x\x07.toml",
        "up": "../../../../etc/passwd",
    }


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_nonsense_is_answered_in_words(command: list[str], run: Any, here: Path) -> None:
    for kind, argument in nonsense(here).items():
        for extra in ([], ["--json"]):
            if extra and command[0] in ("review", "resume", "walk"):
                continue
            answer = run(*(argument if part == "?" else part for part in command), *extra)
            assert "did not expect" not in answer.err, (kind, answer.err)
            if command[0] == "route":  # a file that can be read is a finding, listed with the others
                assert answer.code in (1, 2), (kind, answer.code)
                assert "error" in answer.out, (kind, answer.out)
            else:
                assert answer.code == 2, (kind, answer.code, answer.out, answer.err)
                assert answer.err.startswith(("fieldtui: ", "usage: ")), (kind, answer.err)
            if extra:
                assert answer.json["ok"] is False, kind


@pytest.mark.parametrize(
    "arguments",
    [["nonsense"], ["route"], ["route", "nonsense"], ["verify"], ["verify", "a", "b"], ["--nonsense"],
     ["transcribe", "wing"], ["verify", "--\x1b[2J"], ["\x1b]0;x\x07"], ["route", "check"],
     ["verify", "a", "\u202e"]],
)  # fmt: skip
def test_wrong_use_says_how_to_use_it(arguments: list[str], run: Any) -> None:
    answer = run(*arguments)
    assert answer.code == 2
    assert "usage: fieldtui" in answer.err or "--help lists the commands" in answer.err


def test_help_and_version(run: Any) -> None:
    answer = run("--help")
    assert answer.code == 0
    for command in ("walk", "resume", "review", "practice", "route", "transcribe", "verify", "report"):
        assert command in answer.out
    assert (run("--version").out, run("--version").code) == (f"fieldtui {__version__}\n", 0)


# --- when all else fails -----------------------------------------------------------------------------


def test_the_unexpected_is_told_in_words_and_in_full_on_request(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("x")

    monkeypatch.setattr(cli.record, "session_folder", broken)
    monkeypatch.delenv("FIELDTUI_TRACEBACK", raising=False)
    answer = run("verify", "wing_01")
    assert answer.code == 2
    assert "did not expect: ZeroDivisionError" in answer.err
    monkeypatch.setenv("FIELDTUI_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        main(["verify", "wing_01"])


def test_an_interrupt_ends_quietly(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli.record, "session_folder", interrupted)
    assert run("verify", "wing_01").code == 130


def fieldtui(
    here: Path, *arguments: str, stdout: int = subprocess.PIPE, **environment: str
) -> subprocess.CompletedProcess[bytes]:
    root = Path(cli.__file__).parents[2]
    return subprocess.run(
        [sys.executable, "-m", "fieldtui", *arguments],
        cwd=here,
        env={**os.environ, "PYTHONPATH": str(root), **environment},
        stdout=stdout,
        stderr=subprocess.PIPE,
        timeout=60,
        check=False,
    )


def test_the_program_itself_ends_with_the_exit_code(here: Path) -> None:
    done = fieldtui(here, "verify", "wing_01")
    assert (done.returncode, done.stderr) == (0, b"")
    done = fieldtui(here, "verify", "nowhere")
    assert done.returncode == 2
    assert done.stdout == b""


def test_a_console_that_cannot_show_a_letter_shows_its_code(here: Path) -> None:
    (here / "routes" / "umlaut.toml").write_text(
        ROUTE.replace("title = ", 'tïtle = "Ω"\ntitle = ', 1), encoding="utf-8"
    )
    done = fieldtui(here, "route", "check", "umlaut", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 1
    assert done.stdout.isascii()
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize(
    "arguments", [["--help"], ["verify", "wing_01"], ["verify", "nowhere"]], ids=" ".join
)
def test_a_reader_that_goes_away_is_no_error(here: Path, arguments: list[str]) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = fieldtui(here, *arguments, stdout=writer)
    finally:
        os.close(writer)
    assert b"Error" not in done.stderr
    assert done.returncode in (0, 2)


@pytest.mark.parametrize("out", ["sheet.csv", "/dev/null", "a/b/c", "/proc/none", "x" * 300])
@pytest.mark.parametrize(
    "command", [["transcribe", "wing", "sheet.csv"], ["report", "wing_01"]], ids=" ".join
)
def test_a_place_that_cannot_be_written_to_is_told(
    command: list[str], out: str, run: Any, here: Path
) -> None:
    before = sorted(here.rglob("*"))
    answer = run(*command, "--out", out)
    assert answer.code in (1, 2)
    assert answer.err.startswith("fieldtui: ")
    assert "did not expect" not in answer.err
    assert sorted(here.rglob("*")) == before
