"""``trend FOLDER``: worst points first, as text and JSON, by query; hostile names shown as they are."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.files.fleet.engine import FleetTables
from fieldtui.files.fleet.queries import QUERIES, query
from tests.cli.conftest import Ask
from tests.desk.fleet_maker import METER, Chances, Walk, make_fleet, route_file, write_session

START = datetime(2022, 1, 5, 8, tzinfo=UTC)
NOTHING = Chances(0, 0, 0, 0, 0, 0, 0, 0, 0)


def survey(root: Path, number: int, values: dict[str, float], asset: str = "ZX-41") -> None:
    """A survey of one route, half a year after the one before."""
    route = route_file("wing", asset, len(values))
    start = START + timedelta(days=182 * number)
    walk = Walk(route, METER, start, Random(1))
    walk.tell(ev.Started, ref="0" * 64)
    for point, value in values.items():
        walk.read(point, value)
    name = f"{start.date().isoformat()}_s_{number:02d}"
    write_session(root / name, route, walk, METER, start, name=name)


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """P01 steady, -P02 fails three times, P03 rises by a fifth of its limit a year, P04 is at its limit."""
    for number in range(5):
        failing = 2.9 if number > 1 else 1.0
        wobble = 0.01 * (number % 2)
        survey(
            tmp_path / "archive" / "deep",
            number,
            {"P01": 1.0 + wobble, "-P02": failing, "P03": 1.0 + 0.25 * number + wobble, "P04": 2.49},
        )
    return tmp_path / "archive"


def part(text: str, title: str) -> str:
    """What stands under a heading, on one line."""
    found = re.search(rf"^{title}[^\n]*\n-+\n(.*?)\n\n", text, re.DOTALL | re.MULTILINE)
    assert found is not None, title
    return " ".join(found[1].split())


def test_the_worst_points_come_first(ask: Ask, archive: Path) -> None:
    answer = ask("trend", str(archive))
    assert answer.code == 0
    assert all(len(line) <= 80 for line in answer.out.splitlines())
    assert "Fleet: 5 sessions along 1 route" in answer.out
    assert part(answer.out, "Failed in more than one survey: 1").startswith(
        "- -P02 Jumper -P02 [ZX-41, wing]"
    )
    told = "failed in 3 of 5 surveys, limit <= 2.5 mΩ; 1.00 mΩ 2022-01-05 to 2.90 mΩ fail 2024-01-03"
    assert told in " ".join(answer.out.split())
    near = part(answer.out, "Nearest to the limit, by the last value: 4")
    assert near.index("-P02") < near.index("P04") < near.index("P03") < near.index("P01")
    assert "99.6 % of <= 2.5 mΩ; 2.49 mΩ" in near
    moving = part(answer.out, "Moving towards the limit, fastest first")
    assert "- P03 Jumper P03" in moving
    assert "LIMIT reached about" in moving
    assert "P01" not in moving
    assert "P04" not in moving


def test_the_slope_is_that_of_the_fitted_line(ask: Ask, archive: Path) -> None:
    """0.25 mohm in half a year, with a known wobble: the line by hand."""
    answer = ask("trend", str(archive), "--json")
    assert answer.code == 0
    (route,) = answer.json["routes"]
    points = {each["point"]: each for each in route["points"]}
    days = [182.0 * number for number in range(5)]
    values = [1.0, 1.26, 1.5, 1.76, 2.0]
    mean_day, mean = sum(days) / 5, sum(values) / 5
    top = sum((day - mean_day) * (value - mean) for day, value in zip(days, values, strict=True))
    slope = top / sum((day - mean_day) ** 2 for day in days)
    assert points["P03"]["least_squares_ohm_per_day"] * 1000 == pytest.approx(slope, rel=1e-3)
    assert points["P03"]["share_of_limit_a_year"] == pytest.approx(slope * 365.25 / 2.5, rel=1e-3)
    assert (points["-P02"]["surveys"], points["-P02"]["failed"]) == (5, 3)
    assert points["P04"]["first"]["value"] == "2.49" or points["P04"]["first"]["value"] == "2490"
    assert [each["point"] for each in answer.json["failed_again"]] == ["-P02"]
    assert answer.json["moving_to_limit"][0]["point"] in ("-P02", "P03")
    assert answer.json["left_out"] == []


def test_lists_are_as_long_as_wanted_and_say_what_is_left(ask: Ask, archive: Path) -> None:
    text = ask("trend", str(archive), "--most", "1").out
    assert "and 3 more" in text
    assert len(ask("trend", str(archive), "--most", "2", "--json").json["nearest_to_limit"]) == 2


def test_one_point_alone(ask: Ask, archive: Path) -> None:
    answer = ask("trend", str(archive), "--point", "P03", "--json")
    assert [each["point"] for route in answer.json["routes"] for each in route["points"]] == ["P03"]
    assert ask("trend", str(archive), "--point", "P99").code == 2


def test_one_point_of_a_folder_is_told_in_full(ask: Ask, archive: Path) -> None:
    """The point's own lines, as of named sessions, and beneath them what was not done by query."""
    named = ask("trend", *sessions_in(archive), "--point", "P03").out
    assert "P03  Jumper P03  5 surveys" in named and "Nearest to the limit" not in named
    assert ask("trend", str(archive), "--point", "P03").out == named
    make_fleet(archive, 1, assets=2, surveys=2, odds=NOTHING, is_repeated=True)
    text = ask("trend", str(archive), "--point", "P03").out
    assert "2 sessions: several readings make one value" in text


# --- which way of reading -------------------------------------------------------------------------


def sessions_in(folder: Path) -> list[str]:
    return [str(path.parent) for path in sorted(folder.rglob("session.toml"))]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The queries that the engine was given, in their order."""
    given: list[str] = []
    run = FleetTables._run

    def noting(tables: FleetTables, statement: str, **parameters: object) -> list[tuple[Any, ...]]:
        given.append(statement)
        return run(tables, statement, **parameters)

    monkeypatch.setattr(FleetTables, "_run", noting)
    return given


def test_a_folder_is_answered_by_the_published_queries(ask: Ask, archive: Path, asked: list[str]) -> None:
    """Straight on trail.csv and results.csv: every published query that reads or answers is run."""
    (archive / "2021-01-05_zx-41_wing_01").mkdir()
    (archive / "2021-01-05_zx-41_wing_01" / "results.csv").write_text(
        "point,limit,as_left,as_left_record,unit,verdict,time\n"
        "P01,<= 2.5 mohm,1.00,1,mohm,pass,2021-01-05T08:00:00.000Z\n",
        encoding="utf-8",
    )
    answer = ask("trend", str(archive), "--json")
    assert answer.code == 0, answer.err
    assert (answer.json["sessions"], answer.json["left_out"]) == (6, [])
    assert [name for name in QUERIES if not any(query(name) in each for each in asked)] == []


def test_named_sessions_are_read_singly_and_want_no_engine(
    ask: Ask, archive: Path, asked: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    names = sessions_in(archive)
    answer = ask("trend", *names)
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.count("surveys, 2022-01-05 to 2024-01-03\n") == 4  # every point's own lines
    assert len(ask("trend", *names, "--json").json["routes"][0]["sessions"]) == 5
    assert asked == []


def test_singly_reads_a_folder_without_the_engine(
    ask: Ask, archive: Path, asked: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    answer = ask("trend", "--singly", str(archive / "deep"))
    assert answer.code == 0
    assert answer.out == ask("trend", *sessions_in(archive)).out
    assert asked == []


def test_a_session_named_beside_a_folder_counts_once(ask: Ask, archive: Path) -> None:
    first, *_ = sessions_in(archive)
    answer = ask("trend", first, str(archive), "--json")
    assert (answer.json["sessions"], answer.json["left_out"]) == (5, [])


def test_a_bad_session_that_is_named_is_an_error_beside_a_folder_too(ask: Ask, archive: Path) -> None:
    (archive / "bad").mkdir()
    (archive / "bad" / "session.toml").write_text("format = 2\n", encoding="utf-8")
    assert ask("trend", str(archive)).code == 0  # met in a folder, it is left out and told
    answer = ask("trend", str(archive / "bad"), str(archive / "deep"))
    assert answer.code == 2
    assert "bad" in answer.err
    assert ask("trend", str(archive / "nowhere"), str(archive)).code == 2


def test_a_folder_is_found_by_its_name_in_the_workspace(ask: Ask, archive: Path, tmp_path: Path) -> None:
    archive.rename(tmp_path / "sessions")
    assert ask("trend", "deep", "--json").json["sessions"] == 5


def test_what_named_sessions_answer_a_folder_answers_too(ask: Ask, archive: Path) -> None:
    """JSON under the same names, with the same values; the folder's has more."""
    one, all_of_them = (
        ask("trend", *names, "--json").json for names in (sessions_in(archive), [str(archive)])
    )
    assert holds(all_of_them, one)
    assert all_of_them.keys() - one.keys() == {
        *("sessions", "failed_again", "nearest_to_limit", "moving_to_limit", "read_singly"),
    }


def holds(more: Any, less: Any) -> bool:
    if isinstance(less, dict):
        return all(name in more and holds(more[name], value) for name, value in less.items())
    if isinstance(less, list):
        return len(more) == len(less) and all(map(holds, more, less))
    return bool(more == less)


@pytest.mark.parametrize("most", ["0", "-1", "x", "1.5", "\u0661"])
def test_a_list_cannot_be_shorter_than_one_point(ask: Ask, archive: Path, most: str) -> None:
    answer = ask("trend", str(archive), f"--most={most}")
    assert (answer.code, answer.out) == (2, "")
    assert "is not a whole number from 1 on" in answer.err


def test_bad_sessions_are_named_and_the_rest_is_told(ask: Ask, archive: Path) -> None:
    bad = archive / "bad [bold]x\u202e"
    bad.mkdir()
    (bad / "trail.csv").write_bytes(b"\x1b[2J")
    answer = ask("trend", str(archive))
    assert "Left out: 1" in answer.out
    assert "bad [bold]x\\u{202e}" in " ".join(answer.out.split())
    assert "Failed in more than one survey: 1" in answer.out
    asked = ask("trend", str(archive), "--json")
    assert "\\u{202e}" in asked.json["left_out"][0]


def test_sessions_read_one_by_one_are_counted_with_why(ask: Ask, tmp_path: Path) -> None:
    make_fleet(tmp_path / "a", 1, assets=2, surveys=2, odds=NOTHING, is_repeated=True)
    text = " ".join(ask("trend", str(tmp_path / "a")).out.split())
    assert "Read one by one, not by query: 2" in text
    assert "2 sessions: several readings make one value" in text


def test_without_the_extra_it_says_how_to_get_it(
    ask: Ask, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    answer = ask("trend", str(archive))
    assert answer.code == 2
    assert "pip install '.[fleet]'" in answer.err
    assert "name each session, or add --singly" in answer.err
    assert ask("trend", str(archive), "--json").json["ok"] is False


def test_the_queries_are_printed_whole(ask: Ask) -> None:
    answer = ask("trend", "--queries")
    assert answer.code == 0
    for name in QUERIES:
        assert f"-- {name}.sql" in answer.out
        assert query(name).strip().removesuffix(";") in answer.out


def test_no_session_named_is_wrong_use(ask: Ask) -> None:
    answer = ask("trend")
    assert answer.code == 2
    assert "No session is named" in answer.err


def test_json_is_plain_numbers_and_texts(ask: Ask, archive: Path) -> None:
    text = ask("trend", str(archive), "--json").out
    assert json.loads(text, parse_constant=pytest.fail)["ok"] is True


def results(root: Path, number: int, limit: str, value: str, verdict: str) -> None:
    """A results.csv alone."""
    day = (START + timedelta(days=182 * number)).date().isoformat()
    folder = root / f"{day}_zx-41_tail_01"
    folder.mkdir(parents=True)
    (folder / "results.csv").write_text(
        "point,limit,as_left,as_left_record,unit,verdict,time\n"
        f'P01,"{limit}",{value},1,mohm,{verdict},{day}T08:00:00.000Z\n',
        encoding="utf-8",
    )


@pytest.mark.parametrize("criterion", ["UNVERIFIED", "enclosure, UNVERIFIED"])
def test_a_limit_from_memory_says_so_in_every_list(ask: Ask, tmp_path: Path, criterion: str) -> None:
    for number, value in enumerate(["2.60", "2.71", "2.80", "2.91", "3.00"]):
        results(tmp_path / "a", number, f"<= 2.5 mohm ({criterion})", value, "fail")
    answer = ask("trend", str(tmp_path / "a"))
    for title in ("Failed in more than one survey", "Nearest to the limit", "Moving towards the limit"):
        assert "<= 2.5 mΩ, UNVERIFIED" in part(answer.out, title), title
    assert "UNVERIFIED" in ask("trend", str(tmp_path / "a"), "--point", "P01").out
    (route,) = ask("trend", str(tmp_path / "a"), "--json").json["routes"]
    assert route["points"][0]["limit_status"] == "unverified"


def test_a_limit_that_was_seen_does_not(ask: Ask, tmp_path: Path) -> None:
    for number in range(2):
        results(tmp_path / "a", number, "<= 2.5 mohm (unverified-looking)", "2.60", "fail")
    answer = ask("trend", str(tmp_path / "a"))
    assert "limit <= 2.5 mΩ;" in part(answer.out, "Failed in more than one survey")
    assert "UNVERIFIED" not in answer.out
