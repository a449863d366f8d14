"""``trend --fleet``: worst points first, as text and JSON; hostile names shown as they are."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest

from fieldtui.core.trail import events as ev
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
    answer = ask("trend", str(archive), "--fleet")
    assert answer.code == 0
    assert all(len(line) <= 80 for line in answer.out.splitlines())
    assert "Fleet: 5 sessions along 1 route" in answer.out
    assert part(answer.out, "Failed in more than one survey: 1").startswith(
        "- -P02 Jumper -P02 [ZX-41, wing]"
    )
    assert "failed in 3 of 5 surveys; 1.00 mΩ 2022-01-05 to 2.90 mΩ fail 2024-01-03" in " ".join(
        answer.out.split()
    )
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
    answer = ask("trend", str(archive), "--fleet", "--json")
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
    text = ask("trend", str(archive), "--fleet", "--most", "1").out
    assert "and 3 more" in text
    assert len(ask("trend", str(archive), "--fleet", "--most", "2", "--json").json["nearest_to_limit"]) == 2


def test_one_point_alone(ask: Ask, archive: Path) -> None:
    answer = ask("trend", str(archive), "--fleet", "--point", "P03", "--json")
    assert [each["point"] for route in answer.json["routes"] for each in route["points"]] == ["P03"]
    assert ask("trend", str(archive), "--fleet", "--point", "P99").code == 2


def test_bad_sessions_are_named_and_the_rest_is_told(ask: Ask, archive: Path) -> None:
    bad = archive / "bad [bold]x\u202e"
    bad.mkdir()
    (bad / "trail.csv").write_bytes(b"\x1b[2J")
    answer = ask("trend", str(archive), "--fleet")
    assert "Left out: 1" in answer.out
    assert "bad [bold]x\\u{202e}" in " ".join(answer.out.split())
    assert "Failed in more than one survey: 1" in answer.out
    asked = ask("trend", str(archive), "--fleet", "--json")
    assert "\\u{202e}" in asked.json["left_out"][0]


def test_sessions_read_one_by_one_are_counted_with_why(ask: Ask, tmp_path: Path) -> None:
    make_fleet(tmp_path / "a", 1, assets=2, surveys=2, odds=NOTHING, is_repeated=True)
    text = " ".join(ask("trend", str(tmp_path / "a"), "--fleet").out.split())
    assert "Read one by one, not by query: 2" in text
    assert "2 sessions: several readings make one value" in text


def test_without_the_extra_it_says_how_to_get_it(
    ask: Ask, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    answer = ask("trend", str(archive), "--fleet")
    assert answer.code == 2
    assert "pip install '.[fleet]'" in answer.err
    assert ask("trend", str(archive / "deep")).code == 0  # and needs it for nothing else


def test_the_queries_are_printed_whole(ask: Ask) -> None:
    answer = ask("trend", "--queries")
    assert answer.code == 0
    for name in QUERIES:
        assert f"-- {name}.sql" in answer.out
        assert query(name).strip().removesuffix(";") in answer.out


def test_no_session_named_is_wrong_use(ask: Ask) -> None:
    assert ask("trend").code == 2
    assert "No session is named" in ask("trend", "--fleet").err


def test_json_is_plain_numbers_and_texts(ask: Ask, archive: Path) -> None:
    text = ask("trend", str(archive), "--fleet", "--json").out
    assert json.loads(text, parse_constant=pytest.fail)["ok"] is True
